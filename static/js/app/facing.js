/** Two neighbours as they should hang: the gap at either end and the step; on a slope each panel is turned about itself. */

import { hungRows, isStacked, panelNames } from "../core/hung.js";
import { seatShifts } from "../core/survey.js";

/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("./live.js").Live} Live */

/** @type {(math: State, where: string) => { first: number, second: number, step: number }} */
export function plannedFacing({ problem }, where) {
  const gap = plannedGap(problem, where);
  const shifts = seatShifts(problem.frame);
  const moved = [...shifts.map(([right]) => right), ...shifts.map(([, up]) => up)];
  const rows = hungRows(problem);
  const [first, second, step] = ["gap first", "gap second", "step"].map((kind) =>
    (rows.get(`${kind} ${where}`) ?? []).reduce((sum, by, at) => sum + by * moved[at], 0));
  return { first: gap + first, second: gap + second, step };
}

/** As the layout has it. @type {(problem: State["problem"], where: string) => number} */
function plannedGap(problem, where) {
  const [p, q] = where.split("|").map((name) => problem.frame.panels[panelNames(problem).indexOf(name)]);
  return isStacked(problem, where)
    ? p.centre_mm[1] - p.height_mm / 2 - (q.centre_mm[1] + q.height_mm / 2)
    : q.centre_mm[0] - q.width_mm / 2 - (p.centre_mm[0] + p.width_mm / 2);
}

/** @type {(math: State, what: string, where: string) => Live | null} */
export function facingValue(math, what, where) {
  const { first, second, step } = plannedFacing(math, where);
  switch (what) {
    case "facing-first": return { mm: first };
    case "facing-second": return { mm: second };
    case "facing-middle": return { mm: (first + second) / 2 };
    case "facing-step": return { mm: step };
    default: return null;
  }
}

/** @type {(math: State, where: string) => string} */
export function seenFacing(math, where) {
  const { first, second } = plannedFacing(math, where);
  return `${first.toFixed(2)} ${second.toFixed(2)} as_planned 0.00 0.00 none`;
}
