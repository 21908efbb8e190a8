/** Something is in the way of a seat: which answers there are. */

import { isDrilled } from "../core/problem.js";
import { intoWanted } from "../core/wall.js";
import { slot } from "./frame.js";
import { panelOfSeat } from "../core/problem.js";
import { made } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("../core/problem.js").State} State */

/** The other fasteners listed for this place, and whether something can be given up. @type {(app: App, main: HTMLElement, seat: string) => void} */
export function wayAnswers(app, main, seat) {
  const { math } = app.step;
  const now = math.now[seat];
  const fitting = app.job.fasteners.filter(({ name, into }) => into === intoWanted(now) && name !== now.fastener?.name);
  const others = slot(main, "others");
  const hint = others?.querySelector(".hint");
  if (hint instanceof HTMLElement) hint.hidden = fitting.length > 0;
  const none = others?.querySelector(".button-stop");
  if (none && fitting.length) none.querySelector("span")?.firstChild?.replaceWith("None of these will hold");
  none?.before(...fitting.map(({ value, name, note }) => {
    const button = made("button", "button", made("span", "", `Use ${name}`, ...(note ? [made("small", "", note)] : [])));
    Object.assign(button, { type: "submit", name: "what", value });
    return button;
  }));
  if (!isDrilled(math, seat)) for (const name of ["kept", "given_up", "hole"]) slot(main, name)?.remove();
  /** @type {Record<string, boolean>} */
  const has = { hole: true, fastener: seat in math.holes, reading: seat in math.set };
  for (const button of main.querySelectorAll("[data-needs]")) {
    if (!has[button.getAttribute("data-needs") ?? ""]) button.remove();
  }
  slot(main, "swap")?.setAttribute("href", `${app.base}/swap/${encodeURIComponent(panelOfSeat(seat))}`);
}
