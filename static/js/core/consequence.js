/** What an event changed: which marks move, by how much, why, and where it finishes. */

import { bearingMm } from "./planning.js";
import { picked } from "./problem.js";
import { finishMm, fixedFrom, residualsMm } from "./solver.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Places} Places */
/** @typedef {import("./solver.js").Form} Form */
/**
 * @typedef {{ kind: string, where: string, valueMm: number, toleranceMm: number, share: number,
 *   isInside: boolean }} Residual
 */
/**
 * One mark that moves: from the hole given before to the one given now. isMarked: it stands on the
 * wall already and must be rubbed out.
 * @typedef {{ seat: string, rightMm: number, upMm: number, holeMm: Point, isMarked: boolean,
 *   fastenerBefore: string | null, fastenerAfter: string | null }} Move
 */
/**
 * kept: the worst residual if nothing moved; finish: the worst of each kind now; worst: the worst
 * of them; offMm: how far the seat is from the mark given, right and up.
 * @typedef {{ seat: string | null, offMm: Point | null, moves: Move[], kept: Residual,
 *   finish: Record<string, Residual>, worst: Residual, isInside: boolean }} Consequence
 */

const SMALLEST_MM = 0.05;
const NOISE = 1e-9;

/**
 * Deviations with set seats as their panels bear and the others on the given marks.
 * @type {(state: State, marksMm: Places) => Float64Array}
 */
export function deviationMm(state, marksMm) {
  const deviation = new Float64Array(state.form.plannedMm.length);
  const fixed = fixedFrom(state.form, { ...marksMm, ...bearingMm(state) });
  fixed.forEach((value, at) => (deviation[at] = value));
  return deviation;
}

/**
 * The residual of each kind that lies nearest to, or farthest outside, its tolerance.
 * @type {(form: Form, deviation: Float64Array) => Record<string, Residual>}
 */
export function worstOfEach(form, deviation) {
  /** @type {Record<string, Residual>} */
  const worst = {};
  residualsMm(form, deviation).forEach((valueMm, i) => {
    const { kind, label: where, toleranceMm } = form.rows[i];
    const share = Math.abs(valueMm) / toleranceMm;
    if (kind in worst && share <= worst[kind].share) return;
    worst[kind] = { kind, where, valueMm, toleranceMm, share, isInside: share <= 1 + NOISE };
  });
  const inOrder = Object.keys(finishMm(form, deviation));
  return Object.fromEntries(inOrder.map((kind) => [kind, worst[kind]]));
}

/** @type {(finish: Record<string, Residual>) => Residual} */
const worstOf = (finish) => Object.values(finish).reduce((a, b) => (b.share > a.share ? b : a));

/**
 * Compare the states on both sides of an event about a seat.
 * @type {(before: State, after: State, seat: string | null) => Consequence}
 */
export function consequence(before, after, seat) {
  const finish = worstOfEach(after.form, deviationMm(after, after.marksMm));
  const stayed = picked(before.marksMm, (name) => name in after.marksMm);
  const old = { ...after.marksMm, ...stayed };
  const set = seat === null ? undefined : after.set[seat];
  return {
    seat,
    offMm: set
      ? [set.place_mm[0] - set.given_mm[0], set.place_mm[1] - set.given_mm[1]]
      : null,
    moves: movesBetween(before, after),
    kept: worstOf(worstOfEach(after.form, deviationMm(after, old))),
    finish,
    worst: worstOf(finish),
    isInside: Object.values(finish).every(({ isInside }) => isInside),
  };
}

/** @type {(before: State, after: State) => Move[]} */
function movesBetween(before, after) {
  return after.form.seats.flatMap((seat) => {
    if (seat in after.set) return [];
    const [was, now] = [before.now[seat], after.now[seat]];
    const rightMm = now.holeMm[0] - was.holeMm[0];
    const upMm = now.holeMm[1] - was.holeMm[1];
    const fastenerBefore = was.fastener?.name ?? null;
    const fastenerAfter = now.fastener?.name ?? null;
    const isMoved = Math.max(Math.abs(rightMm), Math.abs(upMm)) > SMALLEST_MM;
    if (!isMoved && fastenerBefore === fastenerAfter) return [];
    const isMarked = isMoved && seat in before.marked;
    return [{ seat, rightMm, upMm, holeMm: now.holeMm, isMarked, fastenerBefore, fastenerAfter }];
  });
}
