/**
 * A tap on a task's button: read what stands there, ask what is doubtful, keep it on this phone,
 * go on. Sending is the outbox's business; nothing here waits for the network.
 */

import { ask, settle, signature, wrongAt } from "./asks.js";
import { checkValues } from "./checks.js";
import { kindOf, shownSeat } from "./subject.js";
import { plannedOf, rawOf, typedOver, writeEcho } from "./fields.js";
import { holeFields, readHole } from "./hole.js";
import { lateReady } from "./late.js";
import { TypedError, doubt, readValues } from "./reading.js";
import { FullError } from "./store.js";
import { lastOwn } from "./undo.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./app.js").App} App */

const FULL = "Not saved: this phone's storage is full. It is all still here on the screen.";
const NOT_A_PICTURE = "This file is no picture this phone can read. Take it again with the camera.";

/** @type {(app: App) => void} */
export function listenToForms(app) {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement)) return;
    const button = /** @type {SubmitEvent} */ (event).submitter;
    const value = button?.getAttribute("name") ? [button.getAttribute("name") ?? "", button.getAttribute("value") ?? ""] : ["", ""];
    const isOfPhone = new URL(form.action).pathname.startsWith(`${app.base}/`);
    const take = { "task-form": takeTask, "way-form": takeWay, undo: takeUndo }[form.id] ?? (isOfPhone ? takeOnline : null);
    if (!take) return;
    event.preventDefault();
    if (form.dataset.busy) return;
    void take(app, form, /** @type {[string, string]} */ (value));
  });
  document.addEventListener("input", (event) => {
    const input = event.target;
    const form = input instanceof HTMLElement ? input.closest("form") : null;
    if (input instanceof HTMLInputElement && "length" in input.dataset) writeEcho(input);
    if (form && form.parentElement?.querySelector("[data-ask], [data-wrong]")) settle(form);
  });
}

/** @type {(app: App, form: HTMLFormElement, tapped: [string, string]) => Promise<void>} */
async function takeTask(app, form, [name, outcome]) {
  if (name === "more") return (await lateReady()).moreRows(form);
  const id = form.dataset.task ?? "";
  const task = app.task(id);
  if (!task) return;
  const raw = { ...rawOf(form), outcome };
  const planned = plannedOf(form);
  const isSure = form.dataset.asked === signature(form);
  const measured = task.has_plan ? "measured" : "done";
  if (outcome === "as_planned") {
    const typed = isSure ? undefined : typedOver(form);
    if (typed) return ask(form, "which", `You typed ${typed.value.trim()}, which is not the plan.`, measured);
  } else {
    const fields = app.job.fields[task.kind] ?? [];
    try {
      const values = readValues(fields, raw, app.job.unit);
      const seats = app.job.panels[task.panel ?? ""]?.seats ?? [];
      checkValues(task.kind, task.subject, values, { plannedMm: planned, unit: app.job.unit, seats, math: app.step.math, outcome });
      const doubted = isSure ? null : doubt(fields, values, planned, app.job.unit);
      if (doubted) return ask(form, "sure", doubted, measured);
    } catch (error) {
      if (error instanceof TypedError) return wrongAt(form, error.path, error.message);
      throw error;
    }
  }
  const entry = entryOf(app, form, raw);
  const file = form.querySelector("input[type=file]");
  if (file instanceof HTMLInputElement) {
    if (!file.files?.[0]) return wrongAt(form, file.name, "choose a photo to keep");
    form.dataset.busy = "1";
    try {
      entry.photo = await (await lateReady()).keptPhoto(file.files[0]);
    } catch {
      delete form.dataset.busy;
      return wrongAt(form, file.name, NOT_A_PICTURE); // whatever the decoder disliked, the person can take another
    }
  }
  await keep(app, form, entry, () => app.afterTask(entry));
}

/** @type {(app: App, form: HTMLFormElement, fields: Record<string, string>) => Entry} */
function entryOf(app, form, fields) {
  const id = form.dataset.task ?? "";
  return {
    ...whoAndWhen(app), kind: "task", key: hidden(form, "key"), url: form.getAttribute("action") ?? "",
    task: id, seat: "", title: app.task(id)?.title ?? id, fields,
    seen: hidden(form, "seen"), stands: form.dataset.stands ?? "",
    shown: kindOf(id).startsWith("fasteners.") ? shownSeat(app.step.math, id) : null,
    planned: plannedOf(form),
  };
}

/** @type {(app: App) => Pick<Entry, "as_of" | "tapped" | "person" | "name" | "unit" | "work">} */
const whoAndWhen = ({ job }) => ({
  as_of: String(job.problem.seq), tapped: new Date().toISOString(), person: job.person, name: job.name,
  unit: job.unit, work: job.title,
});

/** @type {(form: HTMLFormElement, name: string) => string} */
function hidden(form, name) {
  const input = form.elements.namedItem(name);
  return input instanceof HTMLInputElement ? input.value : "";
}

/** @type {(app: App, form: HTMLFormElement, tapped: [string, string]) => Promise<void>} */
async function takeWay(app, form, [, what]) {
  const seat = form.dataset.seat ?? "";
  if (!what) return;
  const hole = what === "free:wrong_hole" ? holeFields(rawOf(form)) : {};
  try {
    readHole(hole, app.job.unit);
  } catch (error) {
    if (error instanceof TypedError) return wrongAt(form, error.path, error.message);
    throw error;
  }
  /** @type {Entry} */
  const entry = {
    ...whoAndWhen(app), kind: "way", key: form.dataset.key ?? "", url: form.getAttribute("action") ?? "",
    task: "", seat, title: `${seat}: ${what.startsWith("stop:") ? "stop" : "in the way"}`,
    fields: { what, note: hidden(form, "note"), ...hole }, seen: "", stands: String(app.job.problem.seq),
    shown: shownSeat(app.step.math, `fasteners.mark:${seat}`), planned: {},
  };
  await keep(app, form, entry, () => app.afterWay(entry));
}

/** @type {(app: App, form: HTMLFormElement) => Promise<void>} */
async function takeUndo(app, form) {
  const last = lastOwn(app);
  if (!last) return;
  /** @type {Entry} */
  const entry = {
    ...whoAndWhen(app), kind: "undo", key: form.dataset.key ?? "", url: app.job.urls.undo,
    task: last.task, seat: "", title: `Undo ${last.text}`, fields: last.of ? { of: last.of } : {},
    seen: "", stands: "", shown: null, planned: {}, of_key: last.of_key,
  };
  await keep(app, form, entry, () => app.afterUndo(entry));
}

/** @type {(app: App, form: HTMLFormElement, tapped: [string, string]) => Promise<void>} */
async function takeOnline(app, form, tapped) {
  form.dataset.busy = "1";
  await (await lateReady()).sentOnline(app, form, tapped);
  delete form.dataset.busy;
}

/** On this phone first; with no room there, straight to the server or not at all. @type {(app: App, form: HTMLFormElement, entry: Entry, done: () => void) => Promise<void>} */
async function keep(app, form, entry, done) {
  try {
    app.queue.add(entry);
  } catch (error) {
    if (!(error instanceof FullError)) throw error;
    return keepNowhere(app, form, entry, done);
  }
  app.sender?.kick();
  form.dataset.busy = "1"; // it is kept; a second tap on it is nothing
  await lateReady();
  done();
}

/** @type {(app: App, form: HTMLFormElement, entry: Entry, done: () => void) => Promise<void>} */
async function keepNowhere(app, form, entry, done) {
  form.dataset.busy = "1";
  await lateReady();
  const isStored = await app.sender?.straight(entry);
  delete form.dataset.busy;
  if (isStored) return done();
  const task = form.id === "task-form" ? form : null;
  if (task) ask(task, "full", FULL, "");
  else app.say(FULL);
}
