/** What the readings on hung panels and pairs of marks say, as the server judges them. */

import { isStacked } from "../core/hung.js";
import { readOf } from "../core/hung_events.js";
import { MOST_READINGS, criteriaOf, guardedMm, isNear, likelyFall, likelyOf } from "../core/judging.js";
import { readRise, shownRise } from "./level.js";
import { SAME_MM, pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Values} Values */
/**
 * One criterion as it was read (the mean of all readings), against its tolerance; panel: the one
 * that would be trimmed; isInside: by all that is known; isClear: it asks for no trim.
 * @typedef {{ kind: string, where: string, panel: string, valueMm: number, toleranceMm: number,
 *   isInside: boolean, isClear: boolean }} Verdict
 */
/** A record that stands; flushMm: faces in or out. @typedef {{ task: string, flushMm: number }} Reading */
/** @typedef {import("../core/problem.js").State} State */

/** @type {Record<string, number>} */
const AHEAD = { as_planned: 0, p: 1, q: -1 };

const READ_ON = ["panels.level", "panels.edge", "panels.facing", "close.next_day"];

/** @type {(subject: string) => string[]} */
export const facingPanels = (subject) => subject.split("|");

/** Whether a task reads this hung panel. @type {(task: string, panel: string) => boolean} */
export function isReadingOf(task, panel) {
  const [kind, subject] = [task.split(":", 1)[0], task.slice(task.indexOf(":") + 1)];
  return READ_ON.includes(kind) && facingPanels(subject).includes(panel);
}

/** What asks for a trim of all that was read, and of the lines the whole rows make. @type {(job: Job, math: State, readings: readonly Reading[]) => Verdict[]} */
export function unclear(job, math, readings) {
  const standing = readings.filter(({ task }) => !isSuperseded(readings, task));
  const all = [...standing.flatMap((reading) => verdicts(job, math, reading)), ...lineVerdicts(job, math, readings)];
  return all.filter(({ isClear }) => !isClear);
}

/** The next day's level tells what the work has settled to. @type {(readings: readonly Reading[], task: string) => boolean} */
const isSuperseded = (readings, task) => task.startsWith("panels.level:")
  && readings.some((one) => one.task === task.replace("panels.level", "close.next_day"));

/** @type {(kind: string, where: string, panel: string, valueMm: number, toleranceMm: number, likely: import("../core/judging.js").Likely | undefined) => Verdict} */
function verdict(kind, where, panel, valueMm, toleranceMm, { mm, uMm } = { mm: valueMm, uMm: 0 }) {
  const isWithin = (/** @type {number} */ limitMm) => Math.abs(mm) <= limitMm + 1e-9;
  return {
    kind, where, panel, valueMm, toleranceMm,
    isInside: isWithin(toleranceMm), isClear: isWithin(guardedMm(toleranceMm, uMm)),
  };
}

/** How the outer edges of a whole row or column lie to each other, once all of it is read: the sum of the steps and of every panel's own fall on the way. @type {(job: Job, math: State, readings: readonly Reading[]) => Verdict[]} */
export function lineVerdicts({ tolerance, panels }, math, readings) {
  /** @type {(task: string) => boolean} */
  const isIn = (task) => readings.some((one) => one.task === task);
  return math.problem.frame.chains.flatMap((chain) => {
    const pairs = chain.slice(1).map((panel, i) => `${chain[i]}|${panel}`);
    const isAll = pairs.every((pair) => isIn(`panels.facing:${pair}`))
      && chain.every((panel) => isIn(`close.next_day:${panel}`) || isIn(`panels.level:${panel}`) || panels[panel].seats.length < 2);
    if (!isAll) return [];
    const share = (/** @type {string} */ panel) =>
      (isStacked(math.problem, pairs[0]) ? panels[panel].height_mm / panels[panel].width_mm : 1);
    const levels = chain.map((panel) => readMm(math, `level ${panel}`));
    const steps = pairs.map((pair) => readMm(math, `step ${pair}`));
    const falls = chain.map((panel, i) => -share(panel) * (levels[i] ?? 0));
    const valueMm = [...falls, ...steps].reduce((/** @type {number} */ sum, by) => sum + (by ?? 0), 0);
    const isRead = steps.every((mm) => mm !== null) && levels.every((mm, i) => mm !== null || panels[chain[i]].seats.length < 2);
    const [panel, likely] = [chain[chain.length - 1], isRead ? likelyFall(math, chain, share) : null];
    return [verdict("line", `${chain[0]}..${panel}`, panel, valueMm, tolerance.line, likely ?? undefined)];
  });
}

/** The mean of what was read, off plan; null where it was only tapped: that says that it is, not by how much. @type {(math: State, key: string) => number | null} */
function readMm(math, key) {
  const [, kind, where] = /** @type {RegExpExecArray} */ (/^(.*) (\S+)$/.exec(key));
  const read = kind === "level" ? readOf(math, "level", where).map((one) => levelOff(math, one))
    : readOf(math, "facing", where).map((one) =>
      (kind === "step" ? one.step_mm : kind === "gap first" ? one.first_mm : one.second_mm));
  return read.length ? read.reduce((sum, mm) => sum + mm, 0) / read.length : null;
}

/** By the check it was read under. @type {(math: State, read: Extract<import("../core/hung.js").Happened, { is: "level" }>) => number} */
const levelOff = ({ problem, levelErrorMmPerM }, { panel, rise_mm: rise, error_mm_per_m: error }) =>
  rise + ((error ?? levelErrorMmPerM) * problem.width_mm[panel]) / 1000 - problem.rise_mm[panel];

/** Whether what a task read leaves its panels too near a tolerance to tell. @type {(job: Job, math: State, task: string) => boolean} */
export function isReadMore({ tolerance }, math, task) {
  const [isLevel, where] = [task.startsWith("panels.level:"), task.slice(task.indexOf(":") + 1)];
  if (!isLevel && !task.startsWith("panels.facing:")) return false;
  const times = (isLevel ? readOf(math, "level", where) : readOf(math, "facing", where)).length;
  return times > 0 && times < MOST_READINGS && [...likelyOf(math, where, isLevel)].some(([kind, likely]) => isNear(likely, tolerance[kind]));
}

/** @type {(values: Values) => number} */
export const stepOff = ({ ahead, by }) => AHEAD[ahead] * (by?.mm ?? 0);

/** @type {(job: Job, math: State, reading: Reading) => Verdict[]} */
export function verdicts({ tolerance }, math, { task, flushMm }) {
  const where = task.slice(task.indexOf(":") + 1);
  const isLevel = !task.startsWith("panels.facing:");
  const panel = facingPanels(where).at(-1) ?? where;
  const read = (/** @type {string} */ key) => readMm(math, key);
  const isRead = read(`${isLevel ? "level" : "step"} ${where}`) !== null;
  const likely = isRead ? likelyOf(math, where, isLevel) : new Map();
  const sum = (/** @type {[number, number][]} */ parts) => parts.reduce((all, [by, mm]) => all + by * mm, 0);
  const found = criteriaOf((key) => read(key) ?? 0, where, isLevel, sum, isStacked(math.problem, where))
    .map(([kind, mm]) => verdict(kind, where, panel, mm, tolerance[kind], likely.get(kind)));
  return isLevel ? found : [...found, verdict("flush", where, panel, flushMm, tolerance.flush, undefined)];
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
 * The records with one more; a later one of the same task takes its place.
 * @type {(readings: readonly Reading[], entry: import("./types.js").Entry, values: Values) => Reading[]}
 */
export const withReading = (readings, { task }, values) =>
  [...readings.filter((one) => one.task !== task), { task, flushMm: values.flush?.mm ?? 0 }];
