/**
 * How thick the shims of a ring should be once its panel's seats were measured: the server's search
 * (``core/shims.py``). Of all whole shims the rings of a panel take together those are laid that
 * leave the least sum of squared criteria of heights, the seats that are not set yet at their best.
 */

import { chainRows, gapRows, taperRows } from "./criteria.js";
import { bearingMm } from "./planning.js";
import { panelNames, seatsOf } from "./hung.js";
import { fixedFrom } from "./solver.js";

/** @typedef {import("./problem.js").State} State */
/** What a criterion of heights takes of every seat, in tolerances. @typedef {Float64Array[]} Columns */

const SWEEPS = 3;
const TOGETHER = 3;
/** Weight of staying near the plan: it only decides ties. */
const TIE = 1e-6;
const RANK_SHARE = 1e-10;

/** Thickness for one ring with those laid before it as they are; null before its panel is set, and once it is lifted. @type {(state: State, seat: string) => number | null} */
export function shimsForMm(state, seat) {
  const { shims, seats } = state.problem;
  const rings = openRings(state, seat);
  const at = seats.indexOf(seat);
  if (!shims || !rings.flat().includes(at)) return null;
  const thick = inRings(state);
  const n = seats.length;
  const heights = new Float64Array(n);
  fixedFrom(state.form, bearingMm(state)).forEach((value, i) => {
    if (i >= n) heights[i - n] = value;
  });
  // looked for from the plan on, so that laying what was said asks for nothing else
  for (const i of rings.flat()) {
    const planned = state.problem.frame.panels[state.problem.seat_panel[i]].shims_mm;
    heights[i] += planned - thick[i];
    thick[i] = planned;
  }
  return laid(columnsOf(state), heights, rings, thick, shims)[at];
}

/** By panel, the rings of set panels on the floor that were not laid before this one. @type {(state: State, seat: string) => number[][]} */
function openRings({ problem, set, lifted, raisedMm }, seat) {
  const names = panelNames(problem);
  const order = Object.keys(raisedMm);
  const before = new Set(seat in raisedMm ? order.slice(0, order.indexOf(seat)) : order);
  return problem.frame.panels.flatMap(({ shims_mm: planned }, k) => {
    const own = seatsOf(problem, k);
    const isOpen = planned > 0 && !lifted.includes(names[k]) && own.every((i) => problem.seats[i] in set);
    const left = own.filter((i) => isOpen && !before.has(problem.seats[i]));
    return left.length ? [left] : [];
  });
}

/** What is in every ring: planned or laid, and what trims changed since. @type {(state: State) => number[]} */
function inRings({ problem, raisedMm, happened }) {
  const now = problem.seats.map((seat, i) => problem.frame.panels[problem.seat_panel[i]].shims_mm + (raisedMm[seat] ?? 0));
  for (const one of happened) {
    if (one.is !== "trim" || one.means !== "shim") continue;
    const at = problem.seats.indexOf(one.seat);
    now[at] = Math.max(0, now[at] + one.by_mm);
  }
  return now;
}

/** The same for every ring of a state. @type {WeakMap<State, Columns>} */
const known = new WeakMap();

/** @type {(state: State) => Columns} */
function columnsOf(state) {
  const columns = known.get(state) ?? columnsFor(state);
  known.set(state, columns);
  return columns;
}

/** @type {(state: State) => Columns} */
function columnsFor({ form, problem, set }) {
  const n = form.seats.length;
  const own = form.rows.filter(({ kind }) => kind !== "gap").map(({ entries, toleranceMm }) => ({ entries, toleranceMm }));
  const rows = [...own, ...gapRows(problem), ...taperRows(problem), ...chainRows(problem)]
    .filter(({ entries }) => entries.every(([at]) => at >= n));
  const columns = Array.from({ length: n }, () => new Float64Array(rows.length));
  rows.forEach(({ entries, toleranceMm }, row) => entries.forEach(([at, by]) => (columns[at - n][row] = by / toleranceMm)));
  const free = columns.filter((_, i) => !(problem.seats[i] in set));
  const basis = orthonormal(free);
  return columns.map((column, i) => (problem.seats[i] in set ? without(column, basis) : new Float64Array(rows.length)));
}

/** @type {(a: Float64Array, b: Float64Array) => number} */
const dot = (a, b) => a.reduce((sum, value, i) => sum + value * b[i], 0);

/** Twice, so that what rounding leaves goes too. @type {(column: Float64Array, basis: Columns) => Float64Array} */
function without(column, basis) {
  const rest = column.slice();
  for (const one of [...basis, ...basis]) {
    const by = dot(rest, one);
    for (let i = 0; i < rest.length; i += 1) rest[i] -= by * one[i];
  }
  return rest;
}

/** @type {(columns: Columns) => Columns} */
function orthonormal(columns) {
  /** @type {Columns} */
  const basis = [];
  for (const column of columns) {
    const rest = without(column, basis);
    const length = Math.sqrt(dot(rest, rest));
    if (length > RANK_SHARE * Math.sqrt(dot(column, column))) basis.push(rest.map((value) => value / length));
  }
  return basis;
}

/** @type {(columns: Columns, heights: Float64Array, rings: number[][], planned: readonly number[], how: { step_mm: number, most_mm: number }) => number[]} */
function laid(columns, heights, rings, planned, { step_mm: step, most_mm: most }) {
  const thick = [...planned];
  const now = new Float64Array(columns[0].length);
  columns.forEach((column, i) => add(now, column, heights[i]));
  const steps = Array.from({ length: Math.floor(most / step + 1e-9) + 1 }, (_, i) => i * step);
  const blocks = rings.flatMap((own) => Array.from({ length: Math.ceil(own.length / TOGETHER) }, (_, i) =>
    own.slice(i * TOGETHER, (i + 1) * TOGETHER)));
  for (let sweep = 0; sweep < (blocks.length > 1 ? SWEEPS : 1); sweep += 1) {
    for (const block of blocks) {
      for (const i of block) add(now, columns[i], -thick[i]);
      const best = bestOf(block.map((i) => columns[i]), now, steps, block.map((i) => planned[i]));
      block.forEach((i, k) => {
        thick[i] = best[k];
        add(now, columns[i], best[k]);
      });
    }
  }
  return thick;
}

/** @type {(to: Float64Array, column: Float64Array, by: number) => void} */
function add(to, column, by) {
  for (let i = 0; i < to.length; i += 1) to[i] += by * column[i];
}

/** @type {(effect: Columns, bare: Float64Array, steps: readonly number[], planned: readonly number[]) => number[]} */
function bestOf(effect, bare, steps, planned) {
  const slope = effect.map((column, i) => 2 * (dot(column, bare) - TIE * planned[i]));
  const curve = effect.map((one, i) => effect.map((other, j) => dot(one, other) + (i === j ? TIE : 0)));
  let [best, least] = [/** @type {number[]} */ ([]), Infinity];
  const every = effect.reduce((/** @type {number[][]} */ all) => all.flatMap((some) => steps.map((one) => [...some, one])), [[]]);
  for (const set of every) {
    const costs = set.reduce((sum, s, i) => sum + s * (slope[i] + set.reduce((part, t, j) => part + curve[i][j] * t, 0)), 0);
    if (costs < least) [best, least] = [set, costs];
  }
  return best;
}
