/**
 * What every reading on hung panels says about the deviations their seats would need for the panels
 * to hang as they do: the server's rows (``core/hung.py``).
 */

import { panelOfSeat } from "./problem.js";
import { plus, posesOf, stepRow } from "./quality.js";

/** @typedef {import("./quality.js").Pose} Pose */
/** @typedef {import("./problem.js").Frame} Frame */
/** @typedef {import("./problem.js").Problem} Problem */
/**
 * What was read or done on hung panels, in its order: the right end over the left as read by level;
 * a panel's left edge off plan; the ends of a gap and the step at it (p's edge beyond q's) off plan; one touch of a trim
 * (isPlanned: a hanger moved, and the plan has it where it is now).
 * @typedef {{ is: "level", panel: string, rise_mm: number, error_mm_per_m: number | null }
 *   | { is: "edge", panel: string, off_mm: number }
 *   | { is: "facing", where: string, first_mm: number, second_mm: number, step_mm: number }
 *   | { is: "trim", panel: string, seat: string, means: string, by_mm: number, is_planned: boolean }} Happened
 */

/** The panels' names, in their order. @type {(problem: Problem) => string[]} */
export const panelNames = ({ frame, seats, seat_panel: of }) =>
  frame.panels.map((_, k) => panelOfSeat(seats[of.indexOf(k)]));

/** Two neighbours, "p|q", that stand above each other: their gap is one of heights only. @type {(problem: Problem, where: string) => boolean} */
export function isStacked(problem, where) {
  const [first, second] = where.split("|").map((name) => panelNames(problem).indexOf(name));
  return problem.frame.neighbours.some(([p, q, how]) => p === first && q === second && how === "above");
}

/** The seats of a panel, by their index. @type {(problem: Problem, panel: number) => number[]} */
export const seatsOf = ({ seats, seat_panel: of }, panel) => seats.flatMap((_, i) => (of[i] === panel ? [i] : []));

/** Rows over all deviations, by what is read: "edge A", "level A", "gap first A|B", "gap second A|B", "step A|B". @type {(problem: Problem) => Map<string, number[]>} */
export function hungRows(problem) {
  const { frame: { panels, neighbours }, seats } = problem;
  const [poses, names] = [posesOf(panels, seats.length), panelNames(problem)];
  /** @type {Map<string, number[]>} */
  const rows = new Map();
  panels.forEach(({ width_mm: width, hangers_mm: hangers }, k) => {
    rows.set(`edge ${names[k]}`, poses[k].a);
    if (hangers.length > 1) rows.set(`level ${names[k]}`, poses[k].t.map((by) => width * by));
  });
  for (const [p, q, how] of neighbours) {
    const where = `${names[p]}|${names[q]}`;
    const [first, second] = gapEnds(panels[p], panels[q], how);
    rows.set(`gap first ${where}`, gapRow(panels[p], panels[q], poses[p], poses[q], how, first));
    rows.set(`gap second ${where}`, gapRow(panels[p], panels[q], poses[p], poses[q], how, second));
    rows.set(`step ${where}`, stepRow(panels[p], panels[q], poses[p], poses[q], how));
  }
  return rows;
}

/** Top and bottom of what two facing edges share, or left and right. @type {(p: Frame["panels"][number], q: Frame["panels"][number], how: string) => [number, number]} */
export function gapEnds({ centre_mm: p, ...one }, { centre_mm: q, ...other }, how) {
  if (how === "beside") return shared(p[1], one.height_mm, q[1], other.height_mm);
  const [right, left] = shared(p[0], one.width_mm, q[0], other.width_mm);
  return [left, right];
}

/** Upper and lower end; both their middle where they share nothing. @type {(atP: number, sizeP: number, atQ: number, sizeQ: number) => [number, number]} */
function shared(atP, sizeP, atQ, sizeQ) {
  const upper = Math.min(atP + sizeP / 2, atQ + sizeQ / 2);
  const lower = Math.max(atP - sizeP / 2, atQ - sizeQ / 2);
  const middle = (upper + lower) / 2;
  return upper < lower ? [middle, middle] : [upper, lower];
}

/** @type {(p: Frame["panels"][number], q: Frame["panels"][number], atP: Pose, atQ: Pose, how: string, at: number) => number[]} */
function gapRow({ centre_mm: p }, { centre_mm: q }, atP, atQ, how, at) {
  if (how === "beside") return plus(plus(atQ.a, -(at - q[1]), atQ.t), -1, plus(atP.a, -(at - p[1]), atP.t));
  return plus(plus(atP.b, at - p[0], atP.t), -1, plus(atQ.b, at - q[0], atQ.t));
}
