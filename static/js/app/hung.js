/** What the readings on hung panels and pairs of marks say, as the server judges them. */

import { SAME_MM, pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {Readonly<Record<string, number>>} PlannedMm */
/**
 * One reading against its tolerance; panel: the one that would be trimmed.
 * @typedef {{ kind: string, where: string, panel: string, valueMm: number, toleranceMm: number,
 *   isInside: boolean }} Verdict
 */
/** A reading that stands. @typedef {{ task: string, values: Values, plannedMm: PlannedMm }} Reading */

/** @type {Record<string, number>} */
const LOW = { level: 0, left: 1, right: -1 };
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

/** @type {(job: Job, reading: Reading) => Verdict[]} */
export function verdicts({ tolerance }, { task, values, plannedMm }) {
  const subject = task.slice(task.indexOf(":") + 1);
  /** @type {(kind: string, panel: string, valueMm: number) => Verdict} */
  const verdict = (kind, panel, valueMm) => ({
    kind, where: subject, panel, valueMm, toleranceMm: tolerance[kind],
    isInside: Math.abs(valueMm) <= tolerance[kind] + 1e-9,
  });
  const by = values.by?.mm ?? 0;
  if (!task.startsWith("panels.facing")) return [verdict("level", subject, LOW[values.low] * by)];
  const panel = facingPanels(subject)[1];
  const [first, second] = [values.first.mm, values.second.mm];
  return [
    verdict("gap", panel, (first + second) / 2 - plannedMm.first),
    verdict("taper", panel, first - second),
    verdict("step", panel, AHEAD[values.ahead] * by),
    verdict("flush", panel, values.flush?.mm ?? 0),
  ];
}

/**
 * Whether two marks' check agrees with the plan.
 * @type {(values: Values, planned: { apart: number, higher: string, by: number }) => boolean}
 */
export function pairIsTrue(values, planned) {
  const PAIR_MM = 1;
  return Math.abs(values.spacing.mm - planned.apart) <= PAIR_MM
    && Math.abs(signedBy(values) - signedBy({ higher: planned.higher, by: { mm: planned.by } })) <= PAIR_MM;
}

/** Right minus left. @type {(values: Values) => number} */
export function signedBy(values) {
  const size = values.by?.mm ?? 0;
  return values.higher === "right" ? size : values.higher === "left" ? -size : 0;
}

/**
 * Two marks (or, not isHoles, two set seats) against each other, as planned now; a seat that is set
 * is read where the ring bears, beside a mark too.
 * @type {(state: import("../core/problem.js").State, subject: string, isHoles: boolean) =>
 *   { apart: number, higher: string, by: number }}
 */
export function plannedApart(state, subject, isHoles) {
  const [from, to] = pairSeats(subject).map((seat) =>
    state.now[seat][isHoles && !(seat in state.set) ? "holeMm" : "place"]);
  const rise = to[1] - from[1];
  const higher = Math.abs(rise) < SAME_MM ? "level" : rise > 0 ? "right" : "left";
  const across = to[0] - from[0];
  return { apart: isHoles ? across : Math.hypot(across, rise), higher, by: Math.abs(rise) };
}

/**
 * The readings with one more; a later one of the same task takes its place.
 * @type {(readings: readonly Reading[], entry: import("./types.js").Entry, values: Values) => Reading[]}
 */
export function withReading(readings, { task, fields, planned }, values) {
  const isPlanned = fields.outcome === "as_planned";
  const reading = { task, values: isPlanned ? asPlanned(planned) : values, plannedMm: planned };
  return [...readings.filter((one) => one.task !== task), reading];
}

/** What "As planned" reads on a hung panel. @type {(planned: PlannedMm) => Values} */
const asPlanned = ({ first = 0 }) => ({
  low: "level", ahead: "as_planned", by: { mm: 0 }, flush: { mm: 0 },
  first: { mm: first }, second: { mm: first },
});
