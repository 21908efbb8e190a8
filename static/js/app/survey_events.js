/** What is measured on the work and the wall otherwise than planned, as events for ``core/events.js``. */

import { stored } from "../core/reference.js";
import { kindOf, subjectOf } from "./subject.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("../core/events.js").Event} Event */
/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/problem.js").Problem} Problem */

/** @type {(state: State, entry: Entry, values: Values) => Event | null} */
export function surveyEvent({ problem }, { task, fields }, values) {
  const [kind, subject] = [kindOf(task), subjectOf(task)];
  if (kind === "reference.ends") return { type: "ends", ends_mm: [endMm(values.left, -1), endMm(values.right, 1)] };
  if (fields.outcome !== "measured") return null;
  switch (kind) {
    case "work.hanger": return hangerEvent(problem, subject, values);
    case "work.wire": return { type: "carried", panel: subject, down_mm: stored(values.down.mm) - stored(values.rise.mm) };
    case "work.rail": return { type: "carried", panel: subject, down_mm: stored((values.left.mm + values.right.mm) / 2) };
    case "reference.mark": return {
      type: "reference", read: { meaning: values.meaning, height_of: values.height_of, height_mm: stored(values.height.mm) },
    };
    case "behind.studs": return studsEvent(problem, values.studs ?? []);
    case "behind.wall": return { type: "lining", behind: values.behind };
    default: return null;
  }
}

/** @type {(read: { mm: number } | undefined, side: number) => number | null} */
const endMm = (read, side) => (read ? side * stored(read.mm) : null);

/** @type {(problem: Problem, seat: string, values: Values) => Event | null} */
function hangerEvent(problem, seat, values) {
  if (!problem.seats.includes(seat)) return null;
  // measured down to the hole of a sample fastener: what bears lies by its drop lower
  const drop = problem.fasteners.find(({ name }) => name === values.to)?.drop_mm ?? 0;
  return { type: "hanger", seat, read: { edge: values.edge, in_mm: stored(values.in.mm), down_mm: stored(values.down.mm) + drop } };
}

/** @type {(problem: Problem, found: readonly Values[]) => Event} */
const studsEvent = ({ wall }, found) => ({
  type: "studs",
  studs: found.map(({ x, width, material }) =>
    ({ x_mm: stored(x.mm), width_mm: stored(width?.mm ?? wall.stud_width_mm), material })),
});
