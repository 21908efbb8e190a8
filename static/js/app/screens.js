/** Task screens from the page's templates, with what this phone knows written into them. */

import { loadNotChecked } from "./board.js";
import { newKey } from "./keys.js";
import { againLink, copied, fill, linkTo, nextLink, secureLinks, slot, writeBar, writeMore } from "./frame.js";
import { writeLive } from "./live.js";
import { valuesOf } from "./effects.js";
import { writeOldMark } from "./old_mark.js";
import { SENT, keptWords, whereWords } from "./where.js";
import { lockedSeats, stopOf } from "./stops.js";
import { made, momentWords, pairSeats } from "./words.js";
import { refill } from "./refill.js";
import { numbersOf, valueWords, writeCrew } from "./said.js";

const NO_ADVICE = "No advice yet: the server works it out, and it comes when this phone is connected.";
/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./app.js").App} App */

/** @type {(task: Task) => string | null} */
const seatOf = ({ stage, kind, subject }) => (stage === "fasteners" && kind !== "fasteners.stick" ? pairSeats(subject)[0] : null);

/** @type {(app: App, task: Task) => string | null} */
const wayAt = (app, task) =>
  seatOf(task) ?? (["panels", "secure"].includes(task.stage) && task.panel ? app.job.panels[task.panel]?.seats[0] ?? null : null);

/** The screen a task's status asks for; null when only the server can show it. @type {(app: App, task: Task, place: Extract<import("./place.js").Place, { screen: "task" }>) => HTMLElement | null} */
export function taskScreen(app, task, place) {
  if (task.status === "stopped") return stopScreen(app, task);
  if (task.status === "waiting" || (task.lead_only && !app.job.is_lead)) return waitingScreen(app, task);
  if (task.status === "done" && !place.again) return doneScreen(app, task);
  return formScreen(app, task, place);
}

/** @type {(app: App, task: Task, place: Extract<import("./place.js").Place, { screen: "task" }>) => HTMLElement | null} */
function formScreen(app, task, { edge, again, kept, what, saved }) {
  const name = `[data-task="${CSS.escape(task.id)}"]`;
  const main = (edge ? copied(`${name}[data-edge="${CSS.escape(edge)}"]`) : null) ?? copied(name);
  const form = main?.querySelector("form#task-form");
  if (!main || !(form instanceof HTMLFormElement)) return null;
  if (app.isAhead) writeLive(main, app.step.math, app.job.unit);
  if (app.isAhead && task.kind === "fasteners.mark") writeOldMark(main, app.step.math, task.subject, app.job.unit);
  writeCrew(app, main);
  main.dataset.screen = "form";
  set(form, "key", newKey());
  form.dataset.stands = app.step.records.get(task.id) ?? "0";
  if (again) refill(app, form, task);
  main.dataset.task = task.id;
  writeBar(main, app, app.tasks, task.stage);
  const thumb = main.querySelector(".thumb");
  if (task.kind === "panels.trim" && app.step.isHungHere) unadvised(app, main, task);
  if (thumb) writeMore(app, main, thumb, wayAt(app, task), task.id);
  if (kept && what) main.querySelector(".ask-row, .ask")?.before(keptLine(app, kept, what), ...secureLinks(app, saved ?? ""));
  return main;
}

/** A trim nobody has advised yet cannot be "done as advised"; there is enough to do until it is. @type {(app: App, main: HTMLElement, task: Task) => void} */
function unadvised(app, main, task) {
  main.querySelector('button[value="as_planned"]')?.remove();
  main.querySelector('.thumb button[value="measured"]')?.classList.add("button-main");
  // nor are there numbers to read out
  for (const old of main.querySelectorAll(".task-line, .numbers, .fold, .ask-row .button")) old.remove();
  const next = app.next(task.id);
  const isOther = next !== null && next.id !== task.id;
  const words = `Until then ${isOther ? `go on (next: ${next.title}), or ` : ""}trim by hand and type in below what you did.`;
  const notice = made("div", "notice notice-warn", made("strong", "", NO_ADVICE), made("p", "", words));
  notice.dataset.unadvised = "";
  main.querySelector("form")?.before(notice);
  if (isOther) main.querySelector(".thumb")?.append(linkTo(app, { screen: "task", task: next.id }, "Do what is ready"));
}

/** @type {(form: HTMLFormElement, name: string, text: string) => void} */
function set(form, name, text) {
  const input = form.elements.namedItem(name);
  if (input instanceof HTMLInputElement) input.value = text;
}

/** "Mark A1: saved", or that it is only here. @type {(app: App, key: string, what: string) => HTMLElement} */
export function keptLine(app, key, what) {
  const line = made("p", "kept");
  line.setAttribute("role", "status");
  line.dataset.kept = key;
  line.dataset.what = what;
  keptWords(app.queue, line);
  return line;
}

/** @type {(app: App, task: Task) => HTMLElement | null} */
export function waitingScreen(app, task) {
  const main = copied('[data-screen="waiting"]');
  if (!main) return null;
  const isHold = task.status !== "waiting";
  fill(main, "heading", task.title);
  fill(main, "what", isHold ? "The lead's hold point" : "This waits");
  fill(main, "why", isHold ? `${task.ask} Only a lead, signed in, lets it go on.`
    : `${task.why[0]?.toUpperCase() ?? ""}${task.why.slice(1)}.`);
  const seat = seatOf(task);
  if (seat && loadNotChecked(app.job, app.step.math, seat)) slot(main, "what")?.closest(".notice")?.classList.add("notice-stop");
  const next = app.next(task.id);
  const meanwhile = slot(main, "meanwhile");
  const isOther = next !== null && next.id !== task.id;
  if (meanwhile && isOther) {
    meanwhile.hidden = false;
    meanwhile.querySelector("strong")?.append(next.title);
  }
  const thumb = slot(main, "thumb");
  thumb?.append(
    isOther ? nextLink(app, task.id, "Do what is ready") : againLink(app, { screen: "task", task: task.id }),
    linkTo(app, { screen: "all" }, "All tasks"),
  );
  if (thumb) writeMore(app, main, thumb, wayAt(app, task), task.id);
  main.dataset.task = task.id;
  writeBar(main, app, app.tasks, task.stage);
  return main;
}

/** What stands recorded; looking changes nothing. @type {(app: App, task: Task) => HTMLElement | null} */
function doneScreen(app, task) {
  const main = copied('[data-screen="done"]');
  const entry = app.step.local.get(task.id);
  const known = entry ? { outcome: entry.fields.outcome, values: valuesOf(app.job, entry) } : task;
  if (!main || (!entry && !task.outcome)) return null;
  fill(main, "heading", task.title);
  fill(main, "how", { as_planned: "As planned", measured: "Measured" }[known.outcome ?? ""] ?? "Done");
  fill(main, "who", entry ? `${entry.name}, ${momentWords(entry.tapped)}: ${whereWords(app.queue, entry.key)}`
    : `${task.who ?? ""}, ${momentWords(task.when ?? "")}`);
  for (const field of app.job.fields[task.kind] ?? []) {
    const words = valueWords(field, known.values?.[field.name], app.job.unit);
    if (words) slot(main, "said")?.append(made("dt", "", field.label), made("dd", "", words));
  }
  const thumb = slot(main, "thumb");
  thumb?.append(nextLink(app, task.id), linkTo(app, { screen: "task", task: task.id, again: true }, "Record again"));
  if (thumb) writeMore(app, main, thumb, wayAt(app, task), task.id);
  main.dataset.task = task.id;
  writeBar(main, app, app.tasks, task.stage);
  return main;
}

/** @type {(app: App, task: Task) => HTMLElement | null} */
export function stopScreen(app, task) {
  const stop = stopOf(app.step, app.job, task);
  const main = copied('[data-screen="stop"]');
  if (!main || !stop) return null;
  const known = app.job.stops.find(({ seq }) => seq === stop.seq && seq);
  const entry = app.queue.ahead().find(({ key }) => key === stop.key);
  const what = { cable: "Cable suspected", pipe: "Pipe suspected", load: "Load", "will not hold": "Crumbling, or will not hold" }[stop.what] ?? "Danger";
  const note = known?.note || entry?.fields.note;
  const locked = lockedSeats(stop, app.step.math).filter((seat) => seat !== stop.seat);
  fill(main, "heading", `Stop at ${stop.seat}`);
  fill(main, "what", note ? `${what}: ${note}` : what);
  fill(main, "who", known ? `${known.who}, ${momentWords(known.when)}` : entry ? `${entry.name}, ${momentWords(entry.tapped)}` : "");
  const said = slot(main, "only-here");
  if (said && stop.key) {
    Object.assign(said.dataset, { kept: stop.key, stop: "" });
    said.hidden = false;
    keptWords(app.queue, said);
  } else if (known?.who === app.job.name) fill(main, "only-here", SENT);
  fill(main, "locked", `Nobody drills at ${stop.seat} or within 300\u00a0mm of it${locked.length ? `: ${locked.join(", ")}` : ""}.`);
  slot(main, "thumb")?.append(nextLink(app, null, "Do what is ready"), linkTo(app, { screen: "all" }, "All tasks"));
  writeBar(main, app, app.tasks, "fasteners");
  return main;
}

/** One number as large as the screen. @type {(app: App, task: Task, n: number) => HTMLElement | null} */
export function readoutScreen(app, task, n) {
  const main = copied('[data-screen="readout"]');
  const form = copied(`[data-task="${CSS.escape(task.id)}"]`);
  if (!main || !form) return null;
  if (app.isAhead) writeLive(form, app.step.math, app.job.unit);
  const numbers = numbersOf(app, task, form);
  const number = numbers[n % (numbers.length || 1)];
  if (!number) return null;
  fill(main, "heading", task.title);
  fill(main, "what", number.where ? `${number.what}, ${number.where}` : number.what);
  const shown = slot(main, "number");
  shown?.replaceChildren(...number.value);
  shown?.classList.toggle("readout-long", (shown.textContent?.length ?? 0) > 8 && !shown.querySelector(".frac"));
  const next = slot(main, "next");
  const place = /** @type {const} */ ({ screen: "readout", task: task.id, n: (n + 1) % numbers.length });
  if (next) {
    next.hidden = numbers.length < 2;
    next.textContent = `Next number (${place.n + 1} of ${numbers.length})`;
    next.setAttribute("href", app.url(task.id, `?look=readout&n=${place.n}`));
  }
  slot(main, "back")?.setAttribute("href", app.url(task.id));
  return main;
}
