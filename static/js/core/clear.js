/**
 * Where a hole goes that must keep its distance from the holes there are, as the server does it: of
 * all holes on the graduation that keep off every other, the one that costs the criterion least; or
 * a pilot of the same seat once more, if that costs less.
 */

import { Course } from "./marks.js";
import { plannedPlace } from "./solver.js";

/** @typedef {import("./solver.js").Form} Form */
/** @typedef {import("./solver.js").Point} Point */
/** @typedef {Readonly<Record<string, Point>>} Places */
/** How far another hole must be from this one, and whether this very one may be used again. */
/** @typedef {{ atMm: Point, apartMm: number, isUsable: boolean }} OldHole */
/** @typedef {[[number, number], [number, number]]} Triangle */

/** Two holes nearer than this are one. */
export const SAME_MM = 1e-6;
const MARGIN = 2;
const LEAST_MM = 1;
const MOST = 240;
const TIE_MM2 = 1e-6;

/** @type {(a: Point, b: Point) => number} */
export const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Whether a hole keeps off all others, or is one that may be used again. @type {(hole: Point, holes: readonly OldHole[]) => boolean} */
export const isClear = (hole, holes) => holes.every(({ atMm, apartMm, isUsable }) => {
  const off = apart(hole, atMm);
  return off >= apartMm - SAME_MM || (isUsable && off < SAME_MM);
});

/**
 * Best place of a seat whose hole keeps its distance.
 * @param {Form} form
 * @param {Places} setMm places of the seats held, without this one
 * @param {string} seat
 * @param {{ holes: readonly OldHole[], dropMm: number, graduationMm: number,
 *   fits: (hole: Point) => boolean }} given
 * @returns {Point}
 */
export function clearPlaceMm(form, setMm, seat, { holes, dropMm, graduationMm, fits }) {
  const order = [seat, ...form.seats.filter((name) => name !== seat && !(name in setMm))];
  const course = new Course(form, setMm, order);
  const [dx, dy] = course.nextBest();
  const [x, y] = plannedPlace(form, seat);
  /** @type {Point} */
  const best = [x + dx, y + dy + dropMm];
  const triangle = shared(course.nextTriangle());
  const made = newHoles(best, triangle, holes, graduationMm);
  const again = holes.filter(({ atMm, isUsable }) => isUsable && isClear(atMm, holes)).map(({ atMm }) => atMm);
  const found = [...again, made.find(fits) ?? made[0]];
  const costs = found.map((hole) => cost(hole, best, triangle));
  const hole = found[costs.indexOf(Math.min(...costs))];
  return [hole[0], hole[1] - dropMm];
}

/** In parts of its largest. @type {(triangle: Triangle) => Triangle} */
function shared([[a, b], [c, d]]) {
  const largest = Math.max(...[a, b, c, d].map(Math.abs));
  return [[a / largest, b / largest], [c / largest, d / largest]];
}

/** What a hole off the best one costs, in ties. @type {(hole: Point, best: Point, triangle: Triangle) => number} */
function cost([x, y], best, [[a, b], [, d]]) {
  const [dx, dy] = [x - best[0], y - best[1]];
  return Math.round(((a * dx + b * dy) ** 2 + (d * dy) ** 2) / TIE_MM2);
}

/** Holes on the graduation that are clear of all others, the cheapest first. @type {(best: Point, triangle: Triangle, holes: readonly OldHole[], graduationMm: number) => Point[]} */
function newHoles(best, triangle, holes, graduationMm) {
  const [across, up] = windowOf(best, holes, graduationMm);
  const widest = Math.max(across[1] - across[0], up[1] - up[0]);
  const step = graduationMm * Math.max(1, Math.ceil(widest / (MOST * graduationMm)));
  /** @type {{ hole: Point, of: number }[]} */
  const found = [];
  for (const x of places(across, step)) {
    for (const y of places(up, step)) {
      /** @type {Point} */
      const hole = [x, y];
      const isOpen = holes.every(({ atMm, apartMm }) => apart(hole, atMm) >= apartMm - SAME_MM);
      if (isOpen) found.push({ hole, of: cost(hole, best, triangle) });
    }
  }
  return found.sort((a, b) => a.of - b.of).map(({ hole }) => hole);
}

/** @type {(side: readonly [number, number], step: number) => number[]} */
function places([low, high], step) {
  const first = Math.floor(low / step);
  const count = Math.ceil(high / step) + 1 - first;
  return Array.from({ length: count }, (_, i) => (first + i) * step);
}

/** Around the best place and every hole that keeps others off there, or off the next one. @type {(best: Point, holes: readonly OldHole[], graduationMm: number) => [[number, number], [number, number]]} */
function windowOf(best, holes, graduationMm) {
  const margin = Math.max(MARGIN * graduationMm, LEAST_MM);
  /** @type {[[number, number], [number, number]]} */
  const sides = [[best[0] - margin, best[0] + margin], [best[1] - margin, best[1] + margin]];
  let left = [...holes];
  for (;;) {
    const near = left.filter(({ atMm, apartMm }) => sides.every(([low, high], i) =>
      low <= atMm[i] + apartMm + margin && atMm[i] - apartMm - margin <= high));
    if (!near.length) return sides;
    left = left.filter((hole) => !near.includes(hole));
    for (const { atMm, apartMm } of near) {
      sides.forEach((side, i) => {
        side[0] = Math.min(side[0], atMm[i] - apartMm - margin);
        side[1] = Math.max(side[1], atMm[i] + apartMm + margin);
      });
    }
  }
}
