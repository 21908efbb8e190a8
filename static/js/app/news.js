/** The job as others made it meanwhile: into the page's templates, and onto the screen. */

import { kindOf } from "./subject.js";
import { writeBar } from "./frame.js";
import { lengthInputs, rawOf, writeEcho } from "./fields.js";
import { put } from "./refill.js";
import { made } from "./words.js";
import { screenOf } from "./screenof.js";

/** @typedef {import("./app.js").App} App */

/** @type {(app: App, news: import("./sync.js").News) => void} */
export function takeNews(app, { job, templates, gone }) {
  if (job.seq < app.job.seq) return; // an answer that was overtaken
  const pack = document.getElementById("pack");
  for (const id of gone) for (const old of templatesOf(pack, id)) old.remove();
  for (const [id, html] of Object.entries(templates)) {
    for (const old of templatesOf(pack, id)) old.remove();
    pack?.insertAdjacentHTML("beforeend", html);
  }
  const before = app.tasks;
  app.takeJob(job);
  app.sender?.kick();
  onScreen(app, before, new Set([...Object.keys(templates), ...gone]));
  app.bar.write();
}

/** @type {(pack: HTMLElement | null, id: string) => Iterable<Element>} */
const templatesOf = (pack, id) => pack?.querySelectorAll(`template[data-task="${CSS.escape(id)}"]`) ?? [];

/** What stands changed without news: an entry of this phone was refused. @type {(app: App) => void} */
export function seeAnew(app) {
  const main = document.getElementById("main");
  const form = main?.querySelector("form#task-form");
  if (!main) return;
  if (app.place.screen === "task" && form instanceof HTMLFormElement) renumbered(app, form);
  else if (app.place.screen === "all" || app.place.screen === "task") refreshed(app, main);
  app.bar.write();
}

/** What somebody looks at follows; what they typed stays, and nothing changes silently. @type {(app: App, before: readonly import("./types.js").Task[], changed: ReadonlySet<string>) => void} */
function onScreen(app, before, changed) {
  const { place } = app;
  const main = document.getElementById("main");
  if (!main) return;
  if (place.screen === "all") return refreshed(app, main);
  // how much is left, and a stop somebody called, stand on every screen
  writeBar(main, app, app.tasks, app.task(main.dataset.task ?? "")?.stage ?? null);
  if (place.screen !== "task") return;
  const was = before.find(({ id }) => id === place.task);
  const now = app.task(place.task);
  if (!now || !was) return;
  const form = main.querySelector("form#task-form");
  if (!(form instanceof HTMLFormElement)) {
    if (now.status !== was.status || now.why !== was.why) refreshed(app, main);
    return;
  }
  if (now.stands !== was.stands && now.status === "done") {
    return notice(form, `${now.who ?? "Somebody"} recorded this meanwhile. Yours would be refused: look at what stands first.`);
  }
  if (now.status !== was.status && now.status !== "done") return refreshed(app, main);
  if (changed.has(place.task) && kindOf(place.task).startsWith("fasteners.")) renumbered(app, form);
}

/** The same place once more, where nothing is typed. @type {(app: App, main: HTMLElement) => void} */
function refreshed(app, main) {
  const fresh = screenOf(app, app.place);
  if (!fresh) return;
  for (const fold of main.querySelectorAll("details[id]")) {
    const same = fresh.querySelector(`#${CSS.escape(fold.id)}`);
    if (same instanceof HTMLDetailsElement) same.open = /** @type {HTMLDetailsElement} */ (fold).open;
  }
  main.replaceWith(fresh);
  app.adopt(fresh);
}

/** The numbers of the form in hand moved: say so, and keep what was typed. @type {(app: App, form: HTMLFormElement) => void} */
function renumbered(app, form) {
  const typed = rawOf(form);
  const first = lengthInputs(form).filter((input) => input.value !== input.defaultValue).map(({ name }) => name);
  const main = screenOf(app, app.place);
  const fresh = main?.querySelector("form#task-form");
  if (!main || !(fresh instanceof HTMLFormElement)) return;
  const isSame = numbersIn(main) === numbersIn(form.closest("main")) && !isSeenOther(form, fresh);
  if (isSame) return;
  for (const [name, text] of Object.entries(typed)) {
    const isLength = lengthInputs(fresh).some((input) => input.name === name);
    if (!isLength || first.includes(name)) put(fresh, name, text);
  }
  const y = scrollY;
  app.put(main);
  scrollTo(0, y);
  for (const input of lengthInputs(fresh)) writeEcho(input);
  notice(fresh, "The numbers of this task changed: somebody recorded something meanwhile. Look at them again.");
}

/** The numbers and words that a recompute can move; drawings show the same ones. @type {(root: Element | null) => string} */
const numbersIn = (root) => [...(root?.querySelectorAll("[data-live]") ?? [])]
  .filter((one) => !one.closest("svg")).map(({ textContent }) => textContent).join("|");

/** @type {(a: HTMLFormElement, b: HTMLFormElement) => boolean} */
function isSeenOther(a, b) {
  const [one, other] = [a, b].map((form) => form.elements.namedItem("seen"));
  return one instanceof HTMLInputElement && other instanceof HTMLInputElement && one.value !== other.value;
}

/** @type {(form: HTMLFormElement, words: string) => void} */
function notice(form, words) {
  form.parentElement?.querySelector("[data-news]")?.remove();
  const line = made("p", "notice notice-warn", words);
  line.dataset.news = "";
  line.setAttribute("role", "alert");
  form.before(line);
}
