/**
 * Where the hung panels really hang, as the server works it out: what was read of their seats, then
 * every reading and touch on the panels in the order they were made. A reading is one more
 * observation (P: covariance, A: its rows, U: its variances)
 *
 *   K = P A' (A P A' + U)^-1,  d + K (read - A d),  P - K A P
 *
 * and a touch moves what it touches. A reading too far from what was known for chance says that its
 * panel hangs elsewhere: then what was known of it counts for next to nothing.
 */

import { estimateCovariance } from "./estimates.js";
import { hungRows, panelNames, seatsOf } from "./hung.js";
import { leastSquares } from "./matrix.js";
import { fixedFrom, placesMm } from "./solver.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Places} Places */
/** @typedef {import("./hung.js").Happened} Happened */
/** Seat deviations by which the panels hang. @typedef {{ d: Float64Array, p: Float64Array[] }} Hang */
/** A row over all deviations, what was read of it, and its standard uncertainty. @typedef {{ row: number[], readMm: number, uMm: number }} Observed */

// standard uncertainties of a rule at a gap, of a shim's or screw's step, of a slide; and when a panel is said to have slipped: as on the server
const RULE_U_MM = 0.3;
const TRIM_U_MM = 0.1;
const SLIDE_U_MM = 0.2;
const SLIP_U = 4;
const SLIP_MM = 3;

/** The panels something is about. @type {(one: Happened) => string[]} */
export const panelsOf = (one) => (one.is === "facing" ? one.where.split("|") : [one.panel]);

/** Panels whose hangers all sit on their fasteners. @type {(state: State) => string[]} */
export function hungPanels({ problem, set, engaged }) {
  const isSet = (/** @type {number} */ k) => problem.seats.every((seat, i) => problem.seat_panel[i] !== k || seat in set);
  return panelNames(problem).filter((name, k) => engaged.includes(name) && isSet(k));
}

/** Set seats as their panels bear on them by their own readings, with the shims in their rings. @type {(state: State) => Record<string, Point>} */
export function raisedPlaces({ estimateMm, raisedMm }) {
  return Object.fromEntries(Object.entries(estimateMm).map(([name, [x, y]]) => [name, [x, y + (raisedMm[name] ?? 0)]]));
}

/** @type {WeakMap<State, { hang: Hang | null }>} */
const found = new WeakMap();

/** Where the panels hang, as seat deviations; null while nothing was read or touched on them. @type {(state: State) => Hang | null} */
export function hangOf(state) {
  const kept = found.get(state) ?? { hang: hanging(state) };
  found.set(state, kept);
  return kept.hang;
}

/** @type {(state: State) => Hang | null} */
function hanging(state) {
  const hung = hungPanels(state);
  const known = state.happened.filter((one) => panelsOf(one).every((name) => hung.includes(name)));
  if (!known.length) return null;
  const beside = new Set(known.flatMap((one) => (one.is === "facing" || one.is === "edge" ? panelsOf(one) : [])));
  const rows = hungRows(state.problem);
  const hang = onSeats(state, known, hung.filter((name) => beside.has(name)));
  for (const one of known) {
    if (one.is === "trim") touch(state, hang, one, beside.has(one.panel));
    else {
      const seen = observations(state, one, rows);
      slip(state, hang, seen);
      read(hang, seen);
    }
  }
  return hang;
}

/** Seats of the hung panels as readings and touches on them say; none while there were none. @type {(state: State) => Places} */
export function hungPlaces(state) {
  const hang = hangOf(state);
  if (!hang) return {};
  const places = placesMm(state.form, hang.d);
  const { seats, seat_panel: of } = state.problem;
  const [names, hung] = [panelNames(state.problem), hungPanels(state)];
  return Object.fromEntries(seats.flatMap((seat, i) => (hung.includes(names[of[i]]) ? [[seat, places[seat]]] : [])));
}

/** By their seats alone; beside: panels read against others, which lie anywhere in their play. @type {(state: State, known: readonly Happened[], beside: readonly string[]) => Hang} */
function onSeats(state, known, beside) {
  const n = state.form.seats.length;
  const d = new Float64Array(2 * n);
  fixedFrom(state.form, raisedPlaces(state)).forEach((value, at) => (d[at] = value));
  const p = Array.from(d, () => new Float64Array(2 * n));
  const at = Object.keys(state.set).map((seat) => state.problem.seats.indexOf(seat));
  const both = [...at, ...at.map((i) => n + i)];
  estimateCovariance(state).forEach((row, i) => row.forEach((value, j) => (p[both[i]][both[j]] = value)));
  for (const seat of Object.keys(state.raisedMm)) {
    const i = n + state.problem.seats.indexOf(seat);
    if (seat in state.set) p[i][i] += TRIM_U_MM ** 2;
  }
  for (const one of known) {
    // the plan has the hanger where it is now: begin with where it was
    if (one.is === "trim" && one.is_planned) d[n + state.problem.seats.indexOf(one.seat)] -= one.by_mm;
  }
  for (const panel of beside) blur(p, columnsOf(state, panel), state.problem.play_mm ** 2 / 3);
  return { d, p };
}

/** @type {(state: State, panel: string) => number[]} */
const columnsOf = ({ problem }, panel) => seatsOf(problem, panelNames(problem).indexOf(panel));

/** One more common error of these. @type {(p: Float64Array[], columns: readonly number[], variance: number) => void} */
function blur(p, columns, variance) {
  for (const i of columns) for (const j of columns) p[i][j] += variance;
}

/** @type {(state: State, one: Exclude<Happened, { is: "trim" }>, rows: Map<string, number[]>) => Observed[]} */
function observations({ problem }, one, rows) {
  /** @type {[string, number, number][]} */
  let read;
  if (one.is === "level") {
    const { level, level_per_m: perM } = problem.uncertainty_mm;
    const metres = problem.width_mm[one.panel] / 1000;
    const off = one.rise_mm + (one.error_mm_per_m ?? 0) * metres - problem.rise_mm[one.panel];
    read = [[`level ${one.panel}`, off, Math.hypot(level, perM * metres)]];
  } else if (one.is === "edge") read = [[`edge ${one.panel}`, one.off_mm, problem.uncertainty_mm.tape]];
  else {
    const { where, first_mm: first, second_mm: second, step_mm: step } = one;
    read = [[`gap first ${where}`, first, RULE_U_MM], [`gap second ${where}`, second, RULE_U_MM], [`step ${where}`, step, RULE_U_MM]];
  }
  return read.flatMap(([key, readMm, uMm]) => {
    const row = rows.get(key);
    return row ? [{ row, readMm, uMm }] : [];
  });
}

/** @type {(row: ArrayLike<number>, other: ArrayLike<number>) => number} */
export function times(row, other) {
  let sum = 0;
  for (let i = 0; i < row.length; i += 1) sum += row[i] * other[i];
  return sum;
}

/** Of panels that hang elsewhere than was known next to nothing is: of the two a reading is between, the one known less well. @type {(state: State, hang: Hang, seen: readonly Observed[]) => void} */
function slip(state, { d, p }, seen) {
  const isOdd = seen.map(({ row, readMm, uMm }) =>
    Math.abs(readMm - times(row, d)) > SLIP_U * Math.sqrt(variance(p, row) + uMm ** 2));
  const panels = panelNames(state.problem).map((panel) => bothOf(state, panel));
  seen.filter((_, i) => isOdd[i]).forEach(({ row }) => {
    const known = panels.map((own) => variance(p, row.map((by, at) => (own.includes(at) ? by : 0))));
    // of two known alike, whatever rounding says, the later one
    const least = panels[known.findLastIndex((one) => one >= Math.max(...known) * (1 - 1e-6))];
    for (const at of least) p[at][at] += SLIP_MM ** 2;
  });
}

/** Of a sum over the deviations. @type {(p: readonly ArrayLike<number>[], row: readonly number[]) => number} */
export const variance = (p, row) => row.reduce((sum, by, i) => (by ? sum + by * times(row, p[i]) : sum), 0);

/** Columns sideways, then up. @type {(state: State, panel: string) => number[]} */
function bothOf(state, panel) {
  const across = columnsOf(state, panel);
  return [...across, ...across.map((i) => state.form.seats.length + i)];
}

/** Taken into account. @type {(hang: Hang, seen: readonly Observed[]) => void} */
function read({ d, p }, seen) {
  const carried = p.map((row) => seen.map((one) => times(one.row, row)));
  const sums = seen.map(({ row, uMm }, i) =>
    Float64Array.from(seen, (_, j) => times(row, carried.map((one) => one[j])) + (i === j ? uMm ** 2 : 0)));
  const inverse = seen.map((_, j) =>
    leastSquares(sums.map((row) => row.slice()), Float64Array.from(seen, (_, i) => (i === j ? 1 : 0)), seen.length));
  const misses = seen.map(({ row, readMm }) => readMm - times(row, d));
  const gain = carried.map((one) => inverse.map((column) => times(column, one)));
  gain.forEach((by, i) => {
    d[i] += times(by, misses);
    if (by.some((value) => value !== 0)) carried.forEach((one, j) => (p[i][j] -= times(by, one)));
  });
}

/** @type {(state: State, hang: Hang, one: Extract<Happened, { is: "trim" }>, isLoose: boolean) => void} */
function touch(state, { d, p }, { panel, seat, means, by_mm: by }, isLoose) {
  const across = columnsOf(state, panel);
  const isSlide = means === "slide";
  const at = state.problem.seats.indexOf(seat);
  if (!isSlide && at < 0) return;
  const moved = isSlide ? across : [state.form.seats.length + at];
  for (const i of moved) d[i] += by;
  if (by === 0) return;
  blur(p, moved, (isSlide ? SLIDE_U_MM : TRIM_U_MM) ** 2);
  // off the wall and on again, a panel may come to lie anywhere in its play
  if (!isSlide && isLoose) blur(p, across, state.problem.play_mm ** 2 / 3);
}
