/** The job as others made it meanwhile: into the page's templates, and onto the screen. */

import { kindOf } from "./subject.js";
import { writeBar } from "./frame.js";
import { lengthInputs, rawOf, writeEcho } from "./fields.js";
import { put } from "./refill.js";
import { made } from "./words.js";
import { screenOf } from "./screenof.js";

/** @typedef {import("./app.js").App} App */

/** Numbers are shown to 0.01 mm, rounded on either side. */
const ROUNDED_MM = 0.02;
/** What stands around a task's own words, or is put into its screen later. */
const AROUND = ".kept, .bar, .bar-stop, .thumb, [data-news], [data-ask], .echo-box, svg, [data-drawing] > *, .taps-panel, [aria-controls=taps]";

/** @type {(app: App, news: import("./sync.js").News) => void} */
export function takeNews(app, { job, templates, gone, others }) {
  if (job.seq < app.job.seq) return; // an answer that was overtaken
  const pack = document.getElementById("pack");
  for (const id of gone) for (const old of templatesOf(pack, id)) old.remove();
  for (const [id, html] of Object.entries(templates)) {
    for (const old of templatesOf(pack, id)) old.remove();
    pack?.insertAdjacentHTML("beforeend", html);
  }
  const before = { tasks: app.tasks, stops: app.job.stops };
  app.takeJob(job);
  app.sender?.kick();
  onScreen(app, before, { changed: new Set([...Object.keys(templates), ...gone]), others });
  app.bar.write();
}

/** @type {(pack: HTMLElement | null, id: string) => Iterable<Element>} */
const templatesOf = (pack, id) => pack?.querySelectorAll(`template[data-task="${CSS.escape(id)}"]`) ?? [];

/** What stands changed without news: an entry of this phone was refused. @type {(app: App) => void} */
export function seeAnew(app) {
  const main = document.getElementById("main");
  const form = main?.querySelector("form#task-form");
  if (!main) return;
  if (app.place.screen === "task" && form instanceof HTMLFormElement) renumbered(app, form, [], ", since an entry of yours was refused");
  else if (app.place.screen === "all" || app.place.screen === "task") refreshed(app, main);
  app.bar.write();
}

/** @typedef {{ tasks: readonly import("./types.js").Task[], stops: readonly import("./types.js").Stop[] }} Before */
/** changed: tasks whose screens are new; others: who else wrote. @typedef {{ changed: ReadonlySet<string>, others: readonly string[] }} Since */

/** What somebody looks at follows; what they typed stays, and nothing changes silently. @type {(app: App, before: Before, since: Since) => void} */
function onScreen(app, before, { changed, others }) {
  const { place } = app;
  const main = document.getElementById("main");
  if (!main) return;
  if (place.screen === "all") return refreshed(app, main);
  if (place.screen === "stop" || isClearedNow(app, before)) return stopFollows(app, main);
  // how much is left, and a stop somebody called, stand on every screen
  writeBar(main, app, app.tasks, app.task(main.dataset.task ?? "")?.stage ?? null);
  if (place.screen !== "task") return;
  const was = before.tasks.find(({ id }) => id === place.task);
  const now = app.task(place.task);
  if (!now || !was) return;
  const form = main.querySelector("form#task-form");
  if (!(form instanceof HTMLFormElement)) {
    if (now.status !== was.status || now.why !== was.why) refreshed(app, main);
    return;
  }
  if (now.stands !== was.stands && now.status === "done" && others.includes(now.who ?? "")) {
    return notice(form, `${now.who} recorded this meanwhile. Yours would be refused: look at what stands first.`);
  }
  if (now.status !== was.status && now.status !== "done") return refreshed(app, main);
  if (!changed.has(place.task)) return;
  // advice that was waited for comes by itself
  const isAdvised = !app.step.isHungHere && main.querySelector("[data-unadvised]") !== null;
  if (isAdvised || kindOf(place.task).startsWith("fasteners.")) renumbered(app, form, others);
  else heeded(app, main);
}

/** What must be read before the task in hand, as it is said now. @type {(app: App, main: HTMLElement) => void} */
function heeded(app, main) {
  for (const old of main.querySelectorAll(".heed")) old.remove();
  main.querySelector(".ask-row")?.before(...screenOf(app, app.place)?.querySelectorAll(".heed") ?? []);
}

/** The server's page of a stop is on the screen, and the stop is not open any more. @type {(app: App, before: Before) => boolean} */
function isClearedNow({ place, job }, { stops }) {
  if (place.screen !== "server") return false;
  const shown = stops.find(({ seq }) => `${job.urls.stop}${seq}` === place.url);
  return shown !== undefined && !job.stops.some(({ seq }) => seq === shown.seq);
}

/** A stop's page: as it stands; once it is cleared, on to its seat, where the lead's words stand. @type {(app: App, main: HTMLElement) => void} */
function stopFollows(app, main) {
  const { place } = app;
  if (place.screen !== "stop") return void app.showFromServer(place);
  if (app.step.stops.some(({ seat }) => seat === place.seat)) return refreshed(app, main);
  const mark = `fasteners.mark:${place.seat}`;
  const task = app.task(mark)?.status === "done" ? app.next(mark)?.id ?? mark : mark;
  app.go({ screen: "task", task }, true);
}

/** The same place once more, where nothing is typed. @type {(app: App, main: HTMLElement) => void} */
function refreshed(app, main) {
  const fresh = screenOf(app, app.place);
  if (!fresh) return;
  for (const fold of main.querySelectorAll("details[id]")) {
    const same = fresh.querySelector(`#${CSS.escape(fold.id)}`);
    if (same instanceof HTMLDetailsElement) same.open = /** @type {HTMLDetailsElement} */ (fold).open;
  }
  const on = main.contains(document.activeElement) && document.activeElement;
  main.replaceWith(fresh);
  app.adopt(fresh);
  if (on) focusLike(app, on, fresh);
}

/** Keys go on from where they were, or from the heading. @type {(app: App, on: Element, fresh: HTMLElement) => void} */
function focusLike(app, { tagName, textContent }, fresh) {
  const same = [...fresh.querySelectorAll(tagName)].find((one) => one.textContent === textContent);
  if (same instanceof HTMLElement && tagName !== "H1") same.focus({ preventScroll: true });
  else app.toHeading(fresh);
}

/** The numbers of the form in hand moved: say so, and keep what was typed. @type {(app: App, form: HTMLFormElement, others: readonly string[], own?: string) => void} */
function renumbered(app, form, others, own = " by what you recorded") {
  const typed = rawOf(form);
  const first = lengthInputs(form).filter((input) => input.value !== input.defaultValue).map(({ name }) => name);
  const main = screenOf(app, app.place);
  const fresh = main?.querySelector("form#task-form");
  if (!main || !(fresh instanceof HTMLFormElement)) return;
  const isMoved = isSeenOther(form, fresh);
  const isOther = isMoved || wordsOf(main) !== wordsOf(document.getElementById("main"));
  if (!isOther) return;
  for (const [name, text] of Object.entries(typed)) {
    const isLength = lengthInputs(fresh).some((input) => input.name === name);
    if (!isLength || first.includes(name)) put(fresh, name, text);
  }
  const y = scrollY;
  app.put(main);
  scrollTo(0, y);
  for (const input of lengthInputs(fresh)) writeEcho(input);
  const who = others.join(" and ");
  if (isMoved) notice(fresh, `The numbers of this task changed${who ? `: ${who} recorded something meanwhile` : own}. Look at them again.`);
  else if (who) notice(fresh, `${who} recorded something meanwhile. Look at this task again.`);
}

/** What a task says, without what stands around it on every screen. @type {(main: HTMLElement | null) => string} */
function wordsOf(main) {
  const copy = /** @type {HTMLElement | undefined} */ (main?.cloneNode(true));
  for (const around of copy?.querySelectorAll(AROUND) ?? []) around.remove();
  return copy?.textContent?.replace(/\s+/g, " ") ?? "";
}

/** Whether two forms were made for other numbers; how a sum is rounded is no change. @type {(a: HTMLFormElement, b: HTMLFormElement) => boolean} */
function isSeenOther(a, b) {
  const [one, other] = [a, b].map((form) => {
    const input = form.elements.namedItem("seen");
    return input instanceof HTMLInputElement ? input.value.split(" ") : [];
  });
  return one.length !== other.length
    || one.some((word, i) => word !== other[i] && !(Math.abs(Number(word) - Number(other[i])) <= ROUNDED_MM));
}

/** @type {(form: HTMLFormElement, words: string) => void} */
function notice(form, words) {
  form.parentElement?.querySelector("[data-news]")?.remove();
  const line = made("p", "notice notice-warn", words);
  line.dataset.news = "";
  line.setAttribute("role", "alert");
  form.before(line);
}
