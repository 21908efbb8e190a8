/** Holes in the wall: which there are, and where a seat is aimed so that its new one keeps off them. */

import { apart, clearPlaceMm, isClear } from "./clear.js";
import { isDrilled, without } from "./problem.js";
import { plannedPlace } from "./solver.js";
import { behindAt, isClosedAt, isSameGround } from "./wall.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Hole} Hole */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Places} Places */
/** @typedef {import("./clear.js").OldHole} OldHole */

/** Where a seat's hole really is: at its mark, until its seat was read. @type {(state: State, seat: string) => Point | null} */
export function madeAt(state, seat) {
  const hole = state.holes[seat] ?? state.pilots[seat] ?? null;
  const isRead = seat in state.set && (state.set[seat].is_measured || seat in state.again);
  if (!hole || !isRead) return hole;
  const [x, y] = state.estimateMm[seat];
  return [x, y + (state.now[seat].fastener?.drop_mm ?? 0)];
}

/** The seat's hole, if it has one, is given up; atMm: where it was found to be. @type {(state: State, seat: string, atMm?: Point | null) => State} */
export function givenUp(state, seat, atMm = null) {
  const place = atMm ?? madeAt(state, seat);
  if (!place || !isDrilled(state, seat)) return state;
  const isFull = seat in state.holes;
  const hole = { seat, at_mm: place, is_full: isFull, is_usable: !isFull };
  return {
    ...state,
    holes: without(state.holes, seat),
    pilots: without(state.pilots, seat),
    oldHoles: [...state.oldHoles, hole],
  };
}

/** Every hole there is, but the one the seat has now. @type {(state: State, seat: string) => Hole[]} */
function others(state, seat) {
  const inUse = Object.keys({ ...state.pilots, ...state.holes }).filter((name) => name !== seat);
  return [...state.oldHoles, ...inUse.flatMap((name) => {
    const at = madeAt(state, name);
    return at ? [{ seat: name, at_mm: at, is_full: name in state.holes, is_usable: false }] : [];
  })];
}

/** The holes a new one of this seat keeps off. @type {(state: State, seat: string) => OldHole[]} */
export function toKeepOff(state, seat) {
  const { pilot, full } = state.problem.apart_mm;
  return others(state, seat).map((hole) => {
    const isOwn = hole.seat === seat;
    const least = hole.is_full ? full : pilot;
    // two seats that the plan itself puts nearer to each other keep that
    const planned = isOwn || !state.form.seats.includes(hole.seat) ? least
      : apart(plannedPlace(state.form, seat), plannedPlace(state.form, hole.seat));
    return { atMm: hole.at_mm, apartMm: Math.min(least, planned), isUsable: isOwn && hole.is_usable };
  });
}

/** The same with an aim for the first seat to be driven whose hole would come too near one. @type {(state: State, fixed: Places) => State} */
export function withClearAim(state, fixed) {
  for (const seat of state.problem.order) {
    if (seat in state.set || isDrilled(state, seat)) continue;
    const holes = toKeepOff(state, seat);
    const { holeMm, fastener } = state.now[seat];
    if (isClear(holeMm, holes)) continue;
    const place = clearPlaceMm(state.form, without(fixed, seat), seat, {
      holes, dropMm: fastener?.drop_mm ?? 0, graduationMm: state.problem.graduation_mm, fits: groundAt(state, seat),
    });
    return { ...state, aimsMm: { ...state.aimsMm, [seat]: place } };
  }
  return state;
}

/** Whether a hole there meets what this seat's fastener is meant for, and may go there. @type {(state: State, seat: string) => (hole: Point) => boolean} */
function groundAt(state, seat) {
  const { wall, graduation_mm: graduation } = state.problem;
  const found = state.found[seat];
  const own = state.oldHoles.filter((hole) => hole.seat === seat).at(-1);
  const [column] = madeAt(state, seat) ?? own?.at_mm ?? state.now[seat].place;
  const behind = found ?? behindAt(wall, column);
  return ([x, y]) => {
    // what was found there holds straight above and below
    const isThere = Boolean(found) && Math.abs(x - column) <= graduation / 2 + 1e-9;
    return (isThere || isSameGround(wall, behind, x)) && !isClosedAt(wall, [x, y]);
  };
}

/** What the survey says is behind the seat's hole. @type {(state: State, seat: string) => import("./problem.js").Behind} */
export const knownBehind = (state, seat) =>
  behindAt(state.problem.wall, (madeAt(state, seat) ?? state.now[seat].place)[0]);
