/** The level's own error, taken off what is read by it, as the server does. */

import { pairSeats, small } from "./words.js";

/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("../core/problem.js").State} State */

/** Nobody reads less than this off a level. */
const LEAST_READ_MM = 0.3;
/** @type {Record<string, number>} */
const LOW = { level: 0, left: 1, right: -1 };
/** @type {Record<string, number>} */
const SIGNS = { same: 0, high: 1, low: -1 };

/** The right end over the left as it was read. @type {(values: Values) => number} */
export function readRise({ low, higher, by }) {
  const sign = low === undefined ? -(LOW[higher] ?? 0) : LOW[low];
  return sign * (by?.mm ?? 0);
}

/** How far the right end of a "level" line rises in a metre. @type {(values: Values) => number} */
export function levelErrorMmPerM({ instrument, higher, miss, over }) {
  // a spirit level is turned: half of the miss is its own; a laser's tilt is all of it
  const share = instrument === "laser" ? 1 : 0.5;
  return (SIGNS[higher] * miss.mm * share) / (over.mm / 1000);
}

/** @type {(math: State, spanMm: number) => number} */
const errorMm = ({ levelErrorMmPerM: error }, spanMm) => (error * spanMm) / 1000;

/** What the level shows of a true rise. @type {(math: State, riseMm: number, spanMm: number) => number} */
export const shownRise = (math, riseMm, spanMm) => riseMm - errorMm(math, spanMm);

/** What the level should show on a hung panel. @type {(math: State, panel: string) => { low: string, by: number }} */
export function plannedLevel(math, panel) {
  const shown = shownRise(math, math.problem.rise_mm[panel], math.problem.width_mm[panel]);
  if (Math.abs(shown) < LEAST_READ_MM) return { low: "level", by: 0 };
  return { low: shown > 0 ? "left" : "right", by: Math.abs(shown) };
}

/** By how much the level itself is wrong over a panel, or over two seats; "" where nobody sees it. @type {(math: State, subject: string, unit: string) => string} */
export function takenOff(math, subject, unit) {
  const isPanel = subject in math.problem.width_mm;
  const seats = isPanel ? [] : pairSeats(subject).map((seat) => math.now[seat].place[0]);
  const shown = shownRise(math, 0, isPanel ? math.problem.width_mm[subject] : seats[1] - seats[0]);
  if (Math.abs(shown) < LEAST_READ_MM) return "";
  return `The ${math.levelIsLaser ? "laser" : "spirit level"} itself reads ${small(shown, unit)} low on the `
    + `${shown > 0 ? "left" : "right"} over this ${isPanel ? "width" : "distance"}: taken off.`;
}

/** The same on a task's screen, with how the level is held. @type {(math: State, subject: string, unit: string) => string} */
export function levelSaid(math, subject, unit) {
  const words = takenOff(math, subject, unit);
  return words && !math.levelIsLaser ? `${words} Keep its taped end left.` : words;
}
