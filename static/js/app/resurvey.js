/**
 * A hanger, the studs or the reference mark measured otherwise than planned, without network: the
 * phone plans again by itself where nothing but the marks and level lines to be made changes, and
 * what it cannot judge waits for the server.
 */

import { panelNames, seatsOf } from "../core/hung.js";
import { isClosedAt } from "../core/wall.js";
import { isSameStand } from "./places.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./state.js").Step} Step */
/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/problem.js").Line} Line */

/** So far off plan a hanger may be: the server has checked the loads with them all so far off. */
const NEAR_MM = 12.7;
/** Two hangers of a panel stand apart sideways. */
const APART_MM = 0.01;

/** Whether this phone's own new plan stands, so that work goes on. @type {(job: Job, step: Step, after: State, task: string) => boolean} */
export function isPlannedHere(job, step, after, task) {
  const before = step.math;
  if (task === "reference.mark") return isBareWall(job, step) && isSameServed(before.lines, after.lines);
  if (task === "behind.studs" || task === "behind.wall") return !isDrilledAny(before, before.problem.seats);
  if (!/^(work\.(hanger|wire|rail)|panels\.trim):/.test(task)) return false;
  const subject = task.slice(task.indexOf(":") + 1);
  const { seats, seat_panel: of } = before.problem;
  const isTrim = task.startsWith("panels.trim:");
  const names = panelNames(before.problem);
  const panel = names.includes(subject) ? names.indexOf(subject) : of[seats.indexOf(subject)];
  const { frame } = after.problem;
  if (task.startsWith("work.hanger:") && !frame.panels[panel]?.is_by_hangers) return false;
  const isLate = !isTrim && isDrilledAny(before, seatsOf(before.problem, panel).map((i) => seats[i]));
  const isAgreed = ![...step.done].some((one) => one.startsWith("stand_back.")) || isSameStand(before.problem, after.problem);
  return !isLate && isAgreed && isNear(job, after, panel, task) && isSameLines(before.lines, after.lines);
}

/** @type {(state: State, seats: readonly string[]) => boolean} */
const isDrilledAny = ({ holes, pilots, set }, seats) => seats.some((seat) => seat in holes || seat in pilots || seat in set);

/** Nothing was made or said yes to where the work was, and nothing was found that it may come near now. @type {(job: Job, step: Step) => boolean} */
const isBareWall = ({ heeds, stops }, { math, done, foundHold }) =>
  !isDrilledAny(math, math.problem.seats) && !Object.keys(math.hungMm).length && !math.stickPanels.length
  && ![...done].some((task) => /^(stand_back\.|level\.(line|tape))/.test(task))
  && !heeds.length && !stops.length && !foundHold;

/** From the left still in their order, and none far from where the server has it; what a wire or a rail carries it checks itself. @type {(job: Job, after: State, panel: number, task: string) => boolean} */
function isNear(job, { problem }, panel, task) {
  if (/^work\.(wire|rail):/.test(task)) return true;
  const was = job.problem.frame.panels[panel].hangers_mm;
  const now = problem.frame.panels[panel].hangers_mm;
  return now.every(([u, v], i) => Math.abs(u - was[i][0]) <= NEAR_MM && Math.abs(v - was[i][1]) <= NEAR_MM
    && (i === 0 || u - now[i - 1][0] >= APART_MM));
}

/** No line for other seats. @type {(before: readonly Line[], after: readonly Line[]) => boolean} */
const isSameServed = (before, after) => before.length === after.length && before.every(({ seats }, i) =>
  [...seats].sort().join() === [...after[i].seats].sort().join());

/** Nor one to be drawn elsewhere. @type {(before: readonly Line[], after: readonly Line[]) => boolean} */
const isSameLines = (before, after) =>
  isSameServed(before, after) && before.every((line, i) => line.y_mm === after[i].y_mm);

/** The work as a whole is not where the server has it. @type {(job: Job, math: State) => boolean} */
export function isWorkMoved(job, math) {
  if (math.problem === job.problem) return false;
  const [was, now] = [job.problem, math.problem].map(({ frame }) => frame.panels);
  return now.some(({ centre_mm: [x, y] }, k) => x !== was[k].centre_mm[0] || y !== was[k].centre_mm[1]);
}

/** A hanger of its panel is not where the server has it. @type {(job: Job, math: State, seat: string) => boolean} */
export function isPanelOther(job, math, seat) {
  if (math.problem === job.problem) return false;
  const k = job.problem.seat_panel[job.problem.seats.indexOf(seat)];
  const [was, now] = [job.problem, math.problem].map(({ frame }) => frame.panels[k].hangers_mm);
  return now.some(([u, v], i) => u !== was[i][0] || v !== was[i][1]);
}

/** What is known of the wall is not what the server knows. @type {(job: Job, math: State) => boolean} */
export const isWallOther = (job, math) => math.problem.wall !== job.problem.wall;

/** The seat's hole has moved to where none may go, or none may go there by what was found here. @type {(job: Job, math: State, seat: string) => boolean} */
export function isHoleBarred({ problem }, { now, problem: math }, seat) {
  const [x, y] = now[seat].holeMm;
  const { place_mm: was, hole_y_mm: wasY } = problem.now[seat];
  const isMoved = x !== was[0] || y !== wasY || math.wall !== problem.wall;
  return isMoved && isClosedAt(math.wall, [x, y]);
}
