/** What the readings on hung panels and pairs of marks say, as the server judges them. */

import { isStacked } from "../core/hung.js";
import { readRise, shownRise } from "./level.js";
import { SAME_MM, pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {Readonly<Record<string, number>>} PlannedMm */
/**
 * One reading against its tolerance; panel: the one that would be trimmed.
 * @typedef {{ kind: string, where: string, panel: string, valueMm: number, toleranceMm: number,
 *   isInside: boolean }} Verdict
 */
/**
 * A reading that stands; tapped: as planned, which says that it is, not by how much.
 * @typedef {{ task: string, values: Values, plannedMm: PlannedMm, isTapped: boolean }} Reading
 */
/** @typedef {import("../core/problem.js").State} State */

/** @type {Record<string, number>} */
const AHEAD = { as_planned: 0, p: 1, q: -1 };

const READ_ON = ["panels.level", "panels.facing", "close.next_day"];

/** @type {(subject: string) => string[]} */
export const facingPanels = (subject) => subject.split("|");

/** Whether a task reads this hung panel. @type {(task: string, panel: string) => boolean} */
export function isReadingOf(task, panel) {
  const [kind, subject] = [task.split(":", 1)[0], task.slice(task.indexOf(":") + 1)];
  return READ_ON.includes(kind) && facingPanels(subject).includes(panel);
}

/** What is outside of all that was read, and of the lines the whole rows make. @type {(job: Job, math: State, readings: readonly Reading[]) => Verdict[]} */
export function outside(job, math, readings) {
  const standing = readings.filter(({ task }) => !isSuperseded(readings, task));
  const all = [...standing.flatMap((reading) => verdicts(job, math, reading)), ...lineVerdicts(job, math, readings)];
  return all.filter(({ isInside }) => !isInside);
}

/** The next day's level tells what the work has settled to. @type {(readings: readonly Reading[], task: string) => boolean} */
const isSuperseded = (readings, task) => task.startsWith("panels.level:")
  && readings.some((one) => one.task === task.replace("panels.level", "close.next_day"));

/** How the outer edges of a whole row or column lie to each other, once all of it is read: the sum of the steps and of every panel's own fall on the way. @type {(job: Job, math: State, readings: readonly Reading[]) => Verdict[]} */
export function lineVerdicts({ tolerance, panels }, math, readings) {
  /** @type {(task: string) => Reading | undefined} */
  const of = (task) => readings.find((one) => one.task === task);
  return math.problem.frame.chains.flatMap((chain) => {
    const levels = chain.map((panel) => of(`close.next_day:${panel}`) ?? of(`panels.level:${panel}`));
    const pairs = chain.slice(1).map((panel, i) => `${chain[i]}|${panel}`);
    const steps = pairs.map((pair) => of(`panels.facing:${pair}`));
    if (![...levels, ...steps].every(Boolean)) return [];
    const falls = chain.map((panel, i) => {
      const share = isStacked(math.problem, pairs[0]) ? panels[panel].height_mm / panels[panel].width_mm : 1;
      return -share * levelOff(math, panel, /** @type {Reading} */ (levels[i]));
    });
    const valueMm = [...falls, ...steps.map((one) => stepOff(/** @type {Reading} */ (one).values))].reduce((sum, by) => sum + by, 0);
    const panel = chain[chain.length - 1];
    const where = `${chain[0]}..${panel}`;
    return [{ kind: "line", where, panel, valueMm, toleranceMm: tolerance.line, isInside: Math.abs(valueMm) <= tolerance.line + 1e-9 }];
  });
}

/** What was tapped says that it is as planned, not by how much; a level is off by the check it was read under. @type {(math: State, panel: string, reading: Reading) => number} */
function levelOff(math, panel, { values, isTapped }) {
  const [width, rise] = [math.problem.width_mm[panel], readRise(values)];
  const read = math.happened.filter((one) => one.is === "level" && one.panel === panel && one.rise_mm === rise).at(-1);
  const error = (read?.is === "level" ? read.error_mm_per_m : null) ?? math.levelErrorMmPerM;
  return isTapped ? 0 : rise + (error * width) / 1000 - math.problem.rise_mm[panel];
}

/** @type {(values: Values) => number} */
export const stepOff = ({ ahead, by }) => AHEAD[ahead] * (by?.mm ?? 0);

/** @type {(job: Job, math: State, reading: Reading) => Verdict[]} */
export function verdicts({ tolerance }, math, reading) {
  const { task, values, plannedMm } = reading;
  const subject = task.slice(task.indexOf(":") + 1);
  /** @type {(kind: string, panel: string, valueMm: number) => Verdict} */
  const verdict = (kind, panel, valueMm) => ({
    kind, where: subject, panel, valueMm, toleranceMm: tolerance[kind],
    isInside: Math.abs(valueMm) <= tolerance[kind] + 1e-9,
  });
  if (!task.startsWith("panels.facing")) return [verdict("level", subject, levelOff(math, subject, reading))];
  const panel = facingPanels(subject)[1];
  const [first, second] = [values.first.mm - plannedMm.first, values.second.mm - plannedMm.second];
  // turned left, the first panel opens the top of a gap beside it, the right of one below it
  const taper = isStacked(math.problem, subject) ? second - first : first - second;
  return [
    verdict("gap", panel, (first + second) / 2),
    verdict("taper", panel, taper),
    verdict("step", panel, stepOff(values)),
    verdict("flush", panel, values.flush?.mm ?? 0),
  ];
}

/**
 * How far two marks are off plan against each other: too far apart, the right one too high.
 * @type {(values: Values, planned: ReturnType<typeof plannedApart>) => [number, number]}
 */
export const pairOff = (values, planned) =>
  [values.spacing.mm - planned.apart, readRise(values) - planned.shownMm];

/**
 * Whether two marks' check agrees with the plan.
 * @type {(values: Values, planned: ReturnType<typeof plannedApart>) => boolean}
 */
export function pairIsTrue(values, planned) {
  const PAIR_MM = 1;
  return pairOff(values, planned).every((off) => Math.abs(off) <= PAIR_MM);
}

/**
 * Two marks (or, not isHoles, two set seats) against each other as they should be read now: by the
 * level at hand, its own error and all. A seat that is set is read where the ring bears.
 * @type {(state: State, subject: string, isHoles: boolean) =>
 *   { apart: number, higher: string, by: number, shownMm: number }}
 */
export function plannedApart(state, subject, isHoles) {
  const [from, to] = pairSeats(subject).map((seat) =>
    (isHoles && !(seat in state.set) ? state.now[seat].holeMm : state.now[seat].place));
  const [across, rise] = [to[0] - from[0], to[1] - from[1]];
  const shownMm = shownRise(state, rise, across);
  const higher = Math.abs(shownMm) < SAME_MM ? "level" : shownMm > 0 ? "right" : "left";
  return { apart: isHoles ? across : Math.hypot(across, rise), higher, by: Math.abs(shownMm), shownMm };
}

/**
 * The readings with one more; a later one of the same task takes its place.
 * @type {(readings: readonly Reading[], entry: import("./types.js").Entry, values: Values) => Reading[]}
 */
export function withReading(readings, { task, fields, planned }, values) {
  const isTapped = fields.outcome === "as_planned";
  const reading = { task, values: isTapped ? asPlanned(planned) : values, plannedMm: planned, isTapped };
  return [...readings.filter((one) => one.task !== task), reading];
}

/** What "As planned" reads on a hung panel. @type {(planned: PlannedMm) => Values} */
const asPlanned = ({ first = 0, second = 0 }) => ({
  low: "level", ahead: "as_planned", by: { mm: 0 }, flush: { mm: 0 },
  first: { mm: first }, second: { mm: second },
});
