/** Criteria the form does not minimise, or has otherwise than they are read: the server's rows (``core/criteria.py``). */

import { gapEnds, hungRows, isStacked, panelNames } from "./hung.js";
import { plus, posesOf } from "./quality.js";

/** @typedef {import("./problem.js").Problem} Problem */
/** @typedef {{ entries: [number, number][], toleranceMm: number }} Criterion */

/** @type {(row: readonly number[], toleranceMm: number) => Criterion} */
const criterion = (row, toleranceMm) =>
  ({ toleranceMm, entries: row.flatMap((by, at) => (by ? [/** @type {[number, number]} */ ([at, by])] : [])) });

/** Gaps in the middle of what the edges share, where they are read. @type {(problem: Problem) => Criterion[]} */
export function gapRows(problem) {
  const rows = hungRows(problem);
  return problem.rows.filter(([kind]) => kind === "gap").map(([, where, toleranceMm]) => {
    const [first, second] = ["first", "second"].map((end) => rows.get(`gap ${end} ${where}`) ?? []);
    return criterion(first.map((by, at) => (by + second[at]) / 2), toleranceMm);
  });
}

/** @type {(problem: Problem) => Criterion[]} */
export function taperRows({ frame: { panels, neighbours }, seats, shims }) {
  const poses = posesOf(panels, seats.length);
  return neighbours.flatMap(([p, q, how]) => {
    if (!shims || (panels[p].hangers_mm.length < 2 && panels[q].hangers_mm.length < 2)) return [];
    const [first, second] = gapEnds(panels[p], panels[q], how);
    const shared = Math.abs(first - second);
    return [criterion(plus(poses[p].t, -1, poses[q].t).map((by) => shared * by), shims.taper_mm)];
  });
}

/** Outer edge against outer edge of rows; of columns it is no matter of heights. @type {(problem: Problem) => Criterion[]} */
export function chainRows(problem) {
  const { frame: { panels, chains }, seats, shims } = problem;
  const poses = posesOf(panels, seats.length);
  return chains.flatMap((names) => {
    if (!shims || isStacked(problem, `${names[0]}|${names[1]}`)) return [];
    const [first, last] = [names[0], names[names.length - 1]].map((name) => panelNames(problem).indexOf(name));
    const from = plus(poses[first].b, -panels[first].width_mm / 2, poses[first].t);
    return [criterion(plus(from, -1, plus(poses[last].b, panels[last].width_mm / 2, poses[last].t)), shims.line_mm)];
  });
}
