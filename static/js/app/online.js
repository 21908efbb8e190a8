/**
 * Buttons that need the server: a choice after a deviation, a stop cleared by the lead. They are
 * not kept for later, since what they answer is worked out by the server, now.
 */

import { isOurs } from "./ours.js";

/** @typedef {import("./app.js").App} App */

const PATIENCE_MS = 8_000;
const NO_ANSWER = "No answer from the server: nothing was changed. It is all still here; try again";

/** @type {(app: App, form: HTMLFormElement, tapped: [string, string]) => Promise<void>} */
export async function sentOnline(app, form, [name, value]) {
  const body = new FormData(form);
  if (name) body.set(name, value);
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const headers = { "HX-Request": "true", "X-CSRF": app.job.csrf };
    const response = await fetch(form.action, { method: "POST", body, headers, signal, redirect: "error" });
    const away = response.headers.get("HX-Redirect");
    if (away) return location.assign(away);
    const main = isOurs(response) && new DOMParser().parseFromString(await response.text(), "text/html").getElementById("main");
    if (!main) return app.say(`${NO_ANSWER} (${response.status})`);
    const url = response.headers.get("HX-Push-Url") ?? location.pathname + location.search;
    app.place = { screen: "server", url };
    if (response.ok) history.pushState({ place: app.place }, "", url);
    app.put(document.importNode(main, true));
  } catch {
    app.say(NO_ANSWER); // the network's doing; the form is still on the screen
  }
}
