/**
 * The quadratic form of a job, and where the seats that are not set should go now.
 *
 * Deviations from plan are one vector d: dx of every seat, then dy of every seat [mm]. Each row of
 * the form gives one residual in mm. Recompute takes, of all deviations of the unset seats, those
 * that minimise the sum of squared residuals, each divided by its tolerance, with the set ones
 * fixed; and of those the smallest.
 */

import { fixedFrom, plannedPlace, readForm, seatIndex } from "./form.js";
import { leastSquares } from "./matrix.js";

/** @typedef {import("./form.js").Point} Point */
/** @typedef {import("./form.js").Row} Row */
/** @typedef {import("./form.js").Form} Form */
/** @typedef {import("./form.js").FormDocument} FormDocument */

export { fixedFrom, plannedPlace, readForm, seatIndex };

const KINDS = ["level", "slack", "bearing", "gap", "step", "centre", "height"];

/**
 * The rows for some columns, in tolerances per mm, and what the fixed deviations leave to make up.
 * @param {Form} form
 * @param {ReadonlyMap<number, number>} fixed
 * @param {readonly number[]} columns indexes into d, in the order wanted
 * @returns {{ rows: Float64Array[], rhs: Float64Array }}
 */
export function system(form, fixed, columns) {
  const place = new Map(columns.map((at, j) => [at, j]));
  const rhs = new Float64Array(form.rows.length);
  const rows = form.rows.map(({ entries, toleranceMm }, i) => {
    const row = new Float64Array(columns.length);
    for (const [at, by] of entries) {
      const j = place.get(at);
      if (j !== undefined) row[j] = by / toleranceMm;
      else rhs[i] -= (by / toleranceMm) * (fixed.get(at) ?? 0);
    }
    return row;
  });
  return { rows, rhs };
}

/**
 * Deviations of all seats that minimise the form with some fixed.
 * @type {(form: Form, fixed: ReadonlyMap<number, number>) => Float64Array}
 */
export function bestDeviationMm(form, fixed) {
  const deviation = new Float64Array(form.plannedMm.length);
  fixed.forEach((value, at) => (deviation[at] = value));
  const free = Array.from(deviation.keys()).filter((at) => !fixed.has(at));
  if (fixed.size === 0 || free.length === 0) return deviation;
  const { rows, rhs } = system(form, fixed, free);
  leastSquares(rows, rhs, free.length).forEach((value, j) => (deviation[free[j]] = value));
  return deviation;
}

/**
 * Plan plus deviation, per seat.
 * @type {(form: Form, deviation: Float64Array) => Record<string, Point>}
 */
export function placesMm(form, deviation) {
  const n = form.seats.length;
  /** @type {(name: string, i: number) => [string, Point]} */
  const place = (name, i) => [
    name,
    [form.plannedMm[i] + deviation[i], form.plannedMm[n + i] + deviation[n + i]],
  ];
  return Object.fromEntries(form.seats.map(place));
}

/**
 * Place of every seat: set ones as given, the others at the optimum, not rounded.
 * @type {(form: Form, setMm: Readonly<Record<string, Point>>) => Record<string, Point>}
 */
export function recomputeMm(form, setMm) {
  return placesMm(form, bestDeviationMm(form, fixedFrom(form, setMm)));
}

/** Every residual [mm]. @type {(form: Form, deviation: Float64Array) => number[]} */
export function residualsMm(form, deviation) {
  return form.rows.map(({ entries }) => {
    let sum = 0;
    for (const [at, by] of entries) sum += by * deviation[at];
    return sum;
  });
}

/**
 * Largest |residual| / tolerance: 1 is just inside.
 * @type {(form: Form, deviation: Float64Array) => number}
 */
export function worstShare(form, deviation) {
  const values = residualsMm(form, deviation);
  return values.reduce(
    (worst, value, i) => Math.max(worst, Math.abs(value) / form.rows[i].toleranceMm), 0,
  );
}

/**
 * Largest |residual| of each kind that exists in this job.
 * @type {(form: Form, deviation: Float64Array) => Record<string, number>}
 */
export function finishMm(form, deviation) {
  /** @type {Map<string, number>} */
  const worst = new Map();
  residualsMm(form, deviation).forEach((value, i) => {
    const { kind } = form.rows[i];
    worst.set(kind, Math.max(worst.get(kind) ?? 0, Math.abs(value)));
  });
  return Object.fromEntries(KINDS.flatMap((kind) => {
    const value = worst.get(kind);
    return value === undefined ? [] : [[kind, value]];
  }));
}
