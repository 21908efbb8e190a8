/** What is recorded of rings and hung panels, as events for ``core/events.js``. */

import { isReadMore, stepOff } from "./hung.js";
import { readRise } from "./level.js";
import { kindOf, subjectOf } from "./subject.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("../core/events.js").Event} Event */
/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/hung_events.js").Touch} Touch */

const WHOLE_PANEL = ["slide", "bumper"];
const MINUS = ["down", "left", "in"];

/** @type {(job: Job, state: State, entry: Entry, values: Values) => Event | null} */
export function hungEvent(job, state, { task, fields, planned }, values) {
  const subject = subjectOf(task);
  const isRead = fields.outcome === "measured";
  switch (kindOf(task)) {
    case "panels.lift": return { type: "lifted", panel: subject };
    case "panels.engaged": return { type: "engaged", panel: subject };
    case "panels.level": case "close.next_day":
      return { type: "levelled", panel: subject, rise_mm: isRead ? readRise(values) : null, is_more: isReadMore(job, state, task) };
    case "panels.edge":
      return { type: "edged", panel: subject, off_mm: isRead ? values.across.mm - planned.across : null };
    case "panels.facing":
      return { type: "faced", where: subject, off: isRead ? facingOff(values, planned) : null, is_more: isReadMore(job, state, task) };
    case "panels.trim": return { type: "trimmed", panel: subject, touches: touchesOf(job, task, isRead, values) };
    case "panels.shim": return { type: "shimmed", seat: subject, thick_mm: isRead ? values.thick.mm : planned.thick };
    default: return null;
  }
}

/** The two ends of a gap and the step at it, off plan. @type {(values: Values, planned: Readonly<Record<string, number>>) => { first_mm: number, second_mm: number, step_mm: number }} */
const facingOff = (values, planned) => ({
  first_mm: values.first.mm - planned.first, second_mm: values.second.mm - planned.second, step_mm: stepOff(values),
});

/** As advised, or the one that was made by hand. @type {(job: Job, task: string, isRead: boolean, values: Values) => Touch[]} */
function touchesOf(job, task, isRead, values) {
  if (!isRead) return (job.tasks.find(({ id }) => id === task)?.touches ?? []).map(touchOf);
  return values.means === "none" ? [] : [touchOf(values)];
}

/** @type {(values: Values) => Touch} */
const touchOf = ({ means, seat, way, by }) => ({
  means, seat: WHOLE_PANEL.includes(means) ? "" : seat || "", by_mm: MINUS.includes(way) ? -by.mm : by.mm,
});
