/**
 * Where the set seats really are: one estimate from all readings, as on the server.
 *
 * Every reading is one observation with its instrument's standard uncertainty. A coordinate read
 * directly is known by readings alone; one that is not, and that the other readings leave less
 * certain than a fastener placed on its mark, also has its mark as an observation; a seat set "as
 * planned" is its mark. The tape between two seats is taken as linear about the current estimate
 * and repeated until it settles (Gauss-Newton).
 */

import { backSubstitute, leastSquares, triangularise } from "./matrix.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Crossed} Crossed */
/**
 * One observation: its value at a place and its derivatives by the coordinates there, as entries
 * [index, derivative], and what was read, in the same terms.
 * @typedef {{ uMm: number, at: (place: Float64Array) => { entries: [number, number][],
 *   valueMm: number, readMm: number } }} Observation
 */

const VAGUE_MM = 1e4;
const SETTLED_MM = 1e-7;
const MAX_STEPS = 50;

/**
 * The set seats' places from everything that was read.
 * @type {(state: State) => Record<string, Point>}
 */
export function estimatePlaces(state) {
  const { observations, meant } = observed(state);
  const [seats, place] = [Object.keys(state.set), settled(observations, meant)];
  return Object.fromEntries(seats.map((name, i) => [name, [place[i], place[seats.length + i]]]));
}

/**
 * Covariance of the set seats' places [mm2]: x of all of them in their order, then y.
 * @type {(state: State) => Float64Array[]}
 */
export function estimateCovariance(state) {
  const places = Object.keys(state.set).map((name) => state.estimateMm[name]);
  const place = Float64Array.from([...places.map(([x]) => x), ...places.map(([, y]) => y)]);
  const size = place.length;
  const rows = observed(state).observations.map((one) => whitened(one, place, size).row);
  triangularise(rows, new Float64Array(rows.length), size);
  // columns of the inverse of the triangle R: the covariance is that times itself, turned over
  const columns = Array.from(place, (_, j) => backSubstitute(rows, place.map((_, i) => (i === j ? 1 : 0)), size));
  const inverse = Array.from(place, (_, i) => columns.map((column) => column[i]));
  return inverse.map((one) => Float64Array.from(inverse, (other) => one.reduce((sum, by, j) => sum + by * other[j], 0)));
}

/** Everything that was read of the set seats, and the marks that count; and where they were meant to be. @type {(state: State) => { observations: Observation[], meant: Float64Array }} */
function observed(state) {
  const seats = Object.keys(state.set);
  const known = Object.values(state.set);
  const meant = Float64Array.from([
    ...known.map(({ given_mm }) => given_mm[0]), ...known.map(({ given_mm }) => given_mm[1]),
  ]);
  const [{ direct, observations }, placing] = [readings(state, seats), placings(state, seats)];
  for (const i of leaning(observations, direct, placing, meant)) {
    observations.push(coordinate(i, meant[i], placing[i % seats.length]));
  }
  return { observations, meant };
}

/**
 * Standard uncertainty of placing each seat's fastener.
 * @type {(state: State, seats: string[]) => number[]}
 */
function placings(state, seats) {
  const { placing } = state.problem.uncertainty_mm;
  return seats.map((name) => state.now[name].fastener?.placing_u_mm ?? placing);
}

/**
 * @type {(state: State, seats: string[]) => { direct: Set<number>, observations: Observation[] }}
 */
function readings(state, seats) {
  const index = new Map(seats.map((name, i) => [name, i]));
  const n = seats.length;
  const { tape } = state.problem.uncertainty_mm;
  const direct = new Set();
  /** @type {Observation[]} */
  const observations = [];
  seats.forEach((name, i) => {
    const { place_mm: [x, y], is_measured: isMeasured } = state.set[name];
    if (!isMeasured) return;
    direct.add(i).add(n + i);
    observations.push(coordinate(i, x, tape), coordinate(n + i, y, tape));
  });
  for (const [name, [x, above]] of Object.entries(state.again)) {
    const i = index.get(name);
    if (i === undefined) continue;
    direct.add(i).add(n + i);
    observations.push(coordinate(i, x, tape), coordinate(n + i, state.set[name].line_mm + above, tape));
  }
  for (const crossed of state.crossed) {
    const [a, b] = [index.get(crossed.a), index.get(crossed.b)];
    if (a !== undefined && b !== undefined) observations.push(...between(state, crossed, a, b, n));
  }
  return { direct, observations };
}

/** @type {(i: number, readMm: number, uMm: number) => Observation} */
const coordinate = (i, readMm, uMm) => ({
  uMm, at: (place) => ({ entries: [[i, 1]], valueMm: place[i], readMm }),
});

/**
 * What was read of two seats against each other.
 * @type {(state: State, crossed: Crossed, a: number, b: number, n: number) => Observation[]}
 */
function between(state, crossed, a, b, n) {
  const { a: from, b: to, distance_mm: distance, rise_mm: rise, error_mm_per_m: error } = crossed;
  const { tape, level, level_per_m: perM } = state.problem.uncertainty_mm;
  /** @type {Observation[]} */
  const found = [];
  if (distance !== null) {
    found.push({ uMm: tape, at: (place) => {
      const [dx, dy] = [place[b] - place[a], place[n + b] - place[n + a]];
      const valueMm = Math.hypot(dx, dy);
      if (valueMm === 0) throw new RangeError(`${from} and ${to} cannot be at one place`);
      const [right, up] = [dx / valueMm, dy / valueMm];
      return {
        entries: [[b, right], [a, -right], [n + b, up], [n + a, -up]], valueMm, readMm: distance,
      };
    } });
  }
  if (rise !== null) {
    const spanMm = state.set[to].place_mm[0] - state.set[from].place_mm[0];
    found.push({ uMm: Math.hypot(level, (perM * spanMm) / 1000), at: (place) => {
      return {
        entries: [[n + b, 1], [n + a, -1]],
        valueMm: place[n + b] - place[n + a],
        readMm: rise + ((error ?? 0) * (place[b] - place[a])) / 1000,
      };
    } });
  }
  return found;
}

/**
 * Coordinates that also have their mark as an observation.
 * @type {(observations: Observation[], direct: ReadonlySet<number>, placing: number[],
 *   meant: Float64Array)
 *   => number[]}
 */
function leaning(observations, direct, placing, meant) {
  const size = meant.length;
  const rows = observations.map((one) => whitened(one, meant, size).row);
  for (let i = 0; i < size; i += 1) {
    const row = new Float64Array(size);
    row[i] = 1 / VAGUE_MM;
    rows.push(row);
  }
  triangularise(rows, new Float64Array(rows.length), size);
  return Array.from(meant.keys()).filter((i) => {
    if (direct.has(i)) return false;
    // variance of coordinate i: |R'^-1 e_i|^2, by forward substitution
    let variance = 0;
    const column = new Float64Array(size);
    for (let k = i; k < size; k += 1) {
      let rest = k === i ? 1 : 0;
      for (let j = i; j < k; j += 1) rest -= rows[j][k] * column[j];
      column[k] = rest / rows[k][k];
      variance += column[k] * column[k];
    }
    return Math.sqrt(variance) > placing[i % placing.length];
  });
}

/**
 * @type {(one: Observation, place: Float64Array, size: number)
 *   => { row: Float64Array, miss: number }}
 */
function whitened({ uMm, at }, place, size) {
  const { entries, valueMm, readMm } = at(place);
  const row = new Float64Array(size);
  for (const [i, by] of entries) row[i] += by / uMm;
  return { row, miss: (readMm - valueMm) / uMm };
}

/** @type {(observations: Observation[], meant: Float64Array) => Float64Array} */
function settled(observations, meant) {
  const size = meant.length;
  let place = meant;
  for (let step = 0; step < MAX_STEPS && size > 0; step += 1) {
    const white = observations.map((one) => whitened(one, place, size));
    const misses = Float64Array.from(white, ({ miss }) => miss);
    const by = leastSquares(white.map(({ row }) => row), misses, size);
    place = place.map((value, i) => value + by[i]);
    if (by.every((value) => Math.abs(value) < SETTLED_MM)) return place;
  }
  if (size === 0) return place;
  throw new RangeError("the readings contradict each other: take them again");
}
