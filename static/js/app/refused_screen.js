/** An entry the server did not take: both readings, whose the other one is, and where this one went. */

import { copied, fill, linkTo, nextLink, slot, writeBar } from "./frame.js";
import { saidIn } from "./outbox.js";
import { TypedError, readValues } from "./reading.js";
import { seen, told } from "./refused.js";
import { valueWords } from "./said.js";
import { kindOf } from "./subject.js";
import { clock } from "./times.js";
import { made } from "./words.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("./app.js").App} App */

/** @type {(app: App, key: string) => HTMLElement | null} null: it is not refused, or was seen */
export function refusedScreen(app, key) {
  const { queue } = app;
  const withLead = told(queue.store).find((entry) => entry.key === key);
  const entry = withLead ?? queue.parked().find((one) => one.key === key);
  const main = entry ? copied('[data-screen="waiting"]') : null;
  if (!entry || !main) return null;
  const task = app.task(entry.task);
  const other = task && isOthers(entry, task) ? task : null;
  fill(main, "heading", `Not taken: ${entry.title}`);
  fill(main, "what", withLead ? "Refused: it is on the lead's list" : "Refused: for the lead, only on this phone yet");
  fill(main, "why", other ? `${other.who} recorded it meanwhile: theirs stands. Look at the wall; record it again if theirs is wrong.`
    : entry.refused ?? "");
  slot(main, "what")?.closest(".notice")?.setAttribute("role", "status");
  slot(main, "meanwhile")?.before(readings(app, entry, other));
  main.dataset.screen = "refused";
  main.dataset.task = entry.task;
  writeThumb(app, main, entry, task);
  writeBar(main, app, app.tasks, task?.stage ?? "fasteners");
  return main;
}

/** Somebody else's record stands, made since this phone's screen was shown. @type {(entry: Entry, task: Task) => boolean} */
const isOthers = ({ stands }, task) => task.status === "done" && task.stands > 0 && String(task.stands) !== stands;

/** @type {(app: App, entry: Entry, other: Task | null) => HTMLElement} */
function readings(app, entry, other) {
  const list = made("dl", "facts",
    made("dt", "", `Yours, ${clock(entry.tapped)}`), made("dd", "", mine(app, entry)));
  if (other) {
    list.append(
      made("dt", "", `${other.who}, ${clock(other.when ?? "")}`),
      made("dd", "", inWords(app, other.kind, other.outcome, other.values ?? {})),
    );
  }
  return list;
}

/** @type {(app: App, entry: Entry) => string} */
function mine(app, entry) {
  const fields = app.job.fields[kindOf(entry.task)];
  if (!fields || entry.kind !== "task") return saidIn(entry);
  const isPlanned = entry.fields.outcome === "as_planned";
  try {
    const values = isPlanned ? {} : readValues(fields, entry.fields, entry.unit);
    return inWords(app, kindOf(entry.task), entry.fields.outcome, values);
  } catch (error) {
    if (error instanceof TypedError) return saidIn(entry); // what it was refused for
    throw error;
  }
}

/** @type {(app: App, kind: string, outcome: string | undefined, values: Values) => string} */
function inWords({ job }, kind, outcome, values) {
  const said = (job.fields[kind] ?? []).flatMap((field) => {
    const words = valueWords(field, values[field.name], job.unit);
    return words ? [`${field.label[0].toLowerCase()}${field.label.slice(1)} ${words}`] : [];
  }).join(", ");
  if (outcome !== "as_planned") return said || "done";
  return said ? `as planned (${said})` : "as planned";
}

/** @type {(app: App, main: HTMLElement, entry: Entry, task: Task | undefined) => void} */
function writeThumb(app, main, entry, task) {
  const thumb = slot(main, "thumb");
  const next = nextLink(app, task?.id ?? null, "Seen, go on");
  // on the lead's list it need not be said again
  if (entry.parked) next.addEventListener("click", () => seen(app.queue.store, entry.key));
  else next.textContent = "Go on";
  thumb?.append(next);
  if (task) thumb?.append(linkTo(app, { screen: "task", task: task.id }, task.title));
}
