/**
 * The marks an installer is shown: on the tape's graduation, and calm. The same rules as on the
 * server, to the same decisions:
 *
 * - in driving order each mark is rounded (its hole's x and height together), treated as set, and
 *   the rest recomputed, so that roundings cancel instead of adding;
 * - while no seat of a panel is set, its later marks follow its first one by the planned height
 *   difference, to the nearest graduation: level comes first;
 * - a mark already given stays unless the new one differs by at least half a graduation and keeping
 *   it would raise the worst |residual| it bears on by more than a tenth of a tolerance.
 */

import { backSubstitute, triangularise } from "./matrix.js";
import { fixedFrom, plannedPlace, residualsMm, seatIndex, system } from "./solver.js";

/** @typedef {import("./solver.js").Form} Form */
/** @typedef {import("./solver.js").Point} Point */
/** @typedef {Readonly<Record<string, Point>>} Places */

const MOVE_SHARE = 0.5;
const KEEP_RISE = 0.1;
/** [1/mm] Weight of the minimum-norm rows: it only decides what the residuals leave open. */
const RIDGE = 1e-7;

/**
 * The nearest whole number, halves to the even one, as the server rounds.
 * @type {(value: number) => number}
 */
export function roundHalfEven(value) {
  const below = Math.floor(value);
  const rest = value - below; // exact: both are near each other
  const isUp = rest > 0.5 || (rest === 0.5 && below % 2 !== 0);
  return (isUp ? below + 1 : below) + 0;
}

/** The least-squares problem of the seats still to drive, solvable mark by mark. */
export class Course {
  /**
   * @param {Form} form
   * @param {Places} setMm
   * @param {string[]} order the unset seats, first first
   */
  constructor(form, setMm, order) {
    this.form = form;
    const n = form.seats.length;
    const fixed = fixedFrom(form, setMm);
    this.deviation = new Float64Array(2 * n);
    fixed.forEach((value, at) => (this.deviation[at] = value));
    // the next one to drive comes last, so that fixing it leaves the others' triangle as it is
    this.columns = [...order].reverse().flatMap((name) => {
      const at = seatIndex(form, name);
      return [at, n + at];
    });
    const size = this.columns.length;
    const { rows, rhs } = system(form, fixed, this.columns);
    for (let j = 0; j < size; j += 1) {
      const row = new Float64Array(size);
      row[j] = RIDGE;
      rows.push(row);
    }
    this.rows = rows;
    this.rhs = new Float64Array(rows.length);
    this.rhs.set(rhs);
    triangularise(this.rows, this.rhs, size);
    /** Fixed values so far, by column. */
    this.values = new Float64Array(size);
    /** Columns not yet fixed: the first of them. */
    this.open = size;
  }

  /**
   * Right hand side of a row, less what the columns from ``from`` on take.
   * @type {(i: number, from: number, values: Float64Array) => number}
   */
  left(i, from, values) {
    let rest = this.rhs[i];
    for (let j = from; j < values.length; j += 1) rest -= this.rows[i][j] * values[j];
    return rest;
  }

  /** Optimum deviation of the next seat, given all that is fixed. @returns {Point} */
  nextBest() {
    const [a, b] = [this.open - 2, this.open - 1];
    const dy = this.left(b, this.open, this.values) / this.rows[b][b];
    const dx = (this.left(a, this.open, this.values) - this.rows[a][b] * dy) / this.rows[a][a];
    return [dx, dy];
  }

  /** T: off its best place by d the next seat costs |T d| squared, all else best. @returns {[[number, number], [number, number]]} */
  nextTriangle() {
    const [a, b] = [this.open - 2, this.open - 1];
    return [[this.rows[a][a], this.rows[a][b]], [0, this.rows[b][b]]];
  }

  /**
   * Every |residual| [tolerances] with the next seat there and the rest at the optimum.
   * @type {(deviation: Point) => number[]}
   */
  sharesWith([dx, dy]) {
    const values = this.values.slice();
    const free = this.open - 2;
    values[free] = dx;
    values[free + 1] = dy;
    const rest = values.slice(0, free).map((_, i) => this.left(i, free, values));
    values.set(backSubstitute(this.rows, rest, free));
    const whole = this.deviation.slice();
    this.columns.forEach((at, j) => (whole[at] = values[j]));
    const { rows } = this.form;
    return Array.from(residualsMm(this.form, whole), (r, i) => Math.abs(r) / rows[i].toleranceMm);
  }

  /** @type {(deviation: Point) => void} */
  fixNext([dx, dy]) {
    this.open -= 2;
    this.values[this.open] = dx;
    this.values[this.open + 1] = dy;
  }
}

/**
 * Whether keeping a mark raises the worst of the residuals it bears on by more than KEEP_RISE.
 * Residuals it hardly changes are left out: one that no mark can mend must not hide the others.
 * @type {(keeping: number[], moving: number[]) => boolean}
 */
function isWorthMoving(keeping, moving) {
  const touched = keeping.map((_, i) => i).filter(
    (i) => Math.abs(keeping[i] - moving[i]) > KEEP_RISE,
  );
  const worst = (/** @type {number[]} */ shares) => Math.max(...touched.map((i) => shares[i]));
  return touched.length > 0 && worst(keeping) > worst(moving) + KEEP_RISE;
}

/**
 * Seats to aim for, each with its hole on the graduation; marks already given stay if they can.
 * @param {Form} form
 * @param {object} given
 * @param {Places} given.setMm
 * @param {string[]} given.order all seats in driving order; set ones are passed over
 * @param {Readonly<Record<string, number>>} given.dropMm
 * @param {number} given.graduationMm
 * @param {Places} given.givenMm marks given before; leave out a seat whose drop changed
 * @returns {Record<string, Point>} unset seats in driving order
 */
export function giveMarks(form, { setMm, order, dropMm, graduationMm, givenMm }) {
  const toDrive = order.filter((name) => !(name in setMm));
  const course = new Course(form, setMm, toDrive);
  const begun = new Set(Object.keys(setMm).map((name) => form.seatPanel[seatIndex(form, name)]));
  /** @type {Map<number, number>} */
  const firstRise = new Map();
  /** @type {Record<string, Point>} */
  const marks = {};
  for (const name of toDrive) {
    const panel = form.seatPanel[seatIndex(form, name)];
    const planned = plannedPlace(form, name);
    const best = course.nextBest();
    // a free panel keeps its planned height differences: its marks rise together
    const rise = begun.has(panel) ? best[1] : firstRise.get(panel) ?? best[1];
    /** @type {Point} */
    const wanted = [planned[0] + best[0], planned[1] + rise];
    let place = onGraduation(wanted, dropMm[name] ?? 0, graduationMm);
    if (name in givenMm) {
      const mustFollow = firstRise.has(panel) && !begun.has(panel);
      place = calm(course, planned, givenMm[name], wanted, place, graduationMm, mustFollow);
    }
    course.fixNext([place[0] - planned[0], place[1] - planned[1]]);
    if (!firstRise.has(panel)) firstRise.set(panel, place[1] - planned[1]);
    marks[name] = place;
  }
  return marks;
}

/** @type {(place: Point, dropMm: number, graduationMm: number) => Point} */
function onGraduation([x, y], dropMm, graduationMm) {
  const hole = roundHalfEven((y + dropMm) / graduationMm) * graduationMm;
  return [roundHalfEven(x / graduationMm) * graduationMm, hole - dropMm];
}

/**
 * The given mark, the new one, or the new one with the coordinate that need not move kept.
 *
 * mustFollow: its height follows the panel's first mark; half a graduation off is too far.
 * @type {(course: Course, planned: Point, given: Point, wanted: Point, rounded: Point,
 *   graduationMm: number, mustFollow: boolean) => Point}
 */
function calm(course, planned, given, wanted, rounded, graduationMm, mustFollow) {
  const half = MOVE_SHARE * graduationMm - 1e-9;
  const x = Math.abs(wanted[0] - given[0]) < half ? given[0] : rounded[0];
  const y = Math.abs(wanted[1] - given[1]) < half ? given[1] : rounded[1];
  if (x === given[0] && y === given[1]) return given;
  const keeping = course.sharesWith([given[0] - planned[0], given[1] - planned[1]]);
  const moving = course.sharesWith([x - planned[0], y - planned[1]]);
  if (isWorthMoving(keeping, moving)) return [x, y];
  return mustFollow ? [given[0], y] : given;
}
