/**
 * Giving the marks again: set seats are fixed, seats with a pilot or a hole stay where they were
 * marked, the others go to the graduation nearest the new optimum.
 */

import { SAME_MM, apart } from "./clear.js";
import { estimatePlaces } from "./estimates.js";
import { hungPlaces, raisedPlaces } from "./hanging.js";
import { givenUp, withClearAim } from "./holes.js";
import { giveMarks } from "./marks.js";
import { isDrilled, mapped, picked, without } from "./problem.js";
import { recomputeMm } from "./solver.js";
import { behindAt, fastenerFor } from "./wall.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Now} Now */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Places} Places */
/** @typedef {import("./problem.js").Behind} Behind */

/**
 * Plan the seat's fastener again; another one asks for its mark to be made again, unless it goes
 * best into the pilot there is.
 * @type {(state: State, seat: string, found: Readonly<Record<string, Behind>>,
 *   chosen: Readonly<Record<string, string>>)
 *   => State}
 */
export function withBacking(state, seat, found, chosen) {
  const before = state.now[seat].fastener;
  const next = { ...state, found, chosen };
  const after = seatsNow(next, { ...next.marksMm, ...next.estimateMm })[seat].fastener;
  const isOther = before?.name !== after?.name;
  if (!isOther || seat in state.set) return remarked(next);
  const given = remarked(toDoAgain(givenUp(next, seat), seat));
  return isDrilled(state, seat) ? inItsPilot(given, seat) : given;
}

/** The same with the pilot just given up in use again, if that is where the hole goes now. @type {(state: State, seat: string) => State} */
function inItsPilot(state, seat) {
  const { at_mm: at, is_full: isFull } = state.oldHoles[state.oldHoles.length - 1];
  const { place, holeMm, fastener } = state.now[seat];
  if (isFull || apart(at, holeMm) > SAME_MM) return state;
  const mark = { seat_mm: place, hole_y_mm: holeMm[1], fastener: fastener?.name ?? null };
  return {
    ...state,
    oldHoles: state.oldHoles.slice(0, -1),
    pilots: { ...state.pilots, [seat]: at },
    marked: { ...state.marked, [seat]: mark },
    aimsMm: without(state.aimsMm, seat),
  };
}

/** The seat's fastener tasks are to do again. @type {(state: State, seat: string) => State} */
export function toDoAgain(state, seat) {
  return {
    ...state,
    marked: without(state.marked, seat),
    again: without(state.again, seat),
    crossed: state.crossed.filter(({ a, b }) => a !== seat && b !== seat),
    aimsMm: without(state.aimsMm, seat),
    marksMm: without(state.marksMm, seat),
  };
}

/** Set seats as their panels bear on them, with the shims in their rings. @type {(state: State) => Record<string, Point>} */
export const bearingMm = (state) => ({ ...raisedPlaces(state), ...state.hungMm });

/**
 * Seats that may not move: set ones; begun ones on their marks, those to be made again where they
 * are clear of their old holes, and those a story stick carries over.
 * @type {(state: State) => { fixed: Record<string, Point>, held: Record<string, Point> }}
 */
export function fixedPlaces(state) {
  const marks = picked(state.marked, (name) => isDrilled(state, name) && !(name in state.set));
  const aims = picked(state.aimsMm, (name) => !(name in state.set));
  const held = { ...carried(state), ...aims, ...mapped(marks, ({ seat_mm }) => seat_mm) };
  return { fixed: { ...bearingMm(state), ...held }, held };
}

/**
 * Unset seats of panels with a story stick: their first set seat's place and the planned way on.
 * @type {(state: State) => Record<string, Point>}
 */
function carried(state) {
  const { order, seats, seat_panel: panels, planned_mm: planned } = state.problem;
  /** @type {(seat: string) => number} */
  const at = (seat) => seats.indexOf(seat);
  return Object.fromEntries(state.stickPanels.flatMap((panel) => {
    const own = order.filter((seat) => panels[at(seat)] === panel);
    const first = own.find((seat) => seat in state.set);
    if (first === undefined) return [];
    const [x, y] = state.estimateMm[first];
    const [fromX, fromY] = planned[at(first)];
    return own.filter((seat) => !(seat in state.set)).map((seat) => {
      const [toX, toY] = planned[at(seat)];
      return [seat, [x + toX - fromX, y + toY - fromY]];
    });
  }));
}

/**
 * Where the seats would best be now, not rounded.
 * @type {(state: State) => Record<string, Point>}
 */
export const optimumMm = (state) => recomputeMm(state.form, fixedPlaces(state).fixed);

/** Give the marks again, each hole clear of those there are. @type {(state: State) => State} */
export function remarked(before) {
  const read = { ...before, estimateMm: estimatePlaces(before) };
  let state = markedAgain({ ...read, hungMm: hungPlaces(read) });
  // each seat once, or twice where its fastener changes
  for (let round = 0; round < 2 * state.problem.order.length; round += 1) {
    const aimed = withClearAim(state, fixedPlaces(state).fixed);
    if (aimed === state) break;
    state = markedAgain(aimed);
  }
  return state;
}

/** @type {(state: State) => State} */
function markedAgain(state) {
  const { fixed, held } = fixedPlaces(state);
  const dropBefore = drops(state.now);
  let now = seatsNow(state, placesNow(state, fixed, held));
  /** @type {Places} */
  let marksMm = state.marksMm;
  // a mark may move to where another fastener goes in, with a drop of its own
  for (let round = 0; round < 2; round += 1) {
    const dropMm = drops(now);
    const givenMm = picked(state.marksMm, (name) => dropBefore[name] === dropMm[name]);
    const { order, graduation_mm: graduationMm } = state.problem;
    const given = { setMm: fixed, order, dropMm, graduationMm, givenMm };
    marksMm = { ...giveMarks(state.form, given), ...held };
    now = seatsNow(state, { ...marksMm, ...state.estimateMm });
    const after = drops(now);
    if (Object.keys(after).every((name) => after[name] === dropMm[name])) break;
  }
  return { ...state, marksMm, now };
}

/**
 * Fixed places and the marks given before; the optimum is only worked out where one is missing.
 * @type {(state: State, fixed: Places, held: Places) => Places}
 */
function placesNow(state, fixed, held) {
  const known = { ...state.marksMm, ...held, ...state.estimateMm };
  if (state.form.seats.every((name) => name in known)) return known;
  return { ...recomputeMm(state.form, fixed), ...known };
}

/** @type {(now: Readonly<Record<string, Now>>) => Record<string, number>} */
const drops = (now) => mapped(now, ({ fastener }) => fastener?.drop_mm ?? 0);

/**
 * Every seat at its place: what is behind it there, its fastener and its hole.
 * @type {(state: State, places: Places) => Record<string, Now>}
 */
export function seatsNow(state, places) {
  const { fasteners, wall } = state.problem;
  /** @type {(name: string) => [string, Now]} */
  const seatNow = (name) => {
    const place = places[name];
    const behind = state.found[name] ?? behindAt(wall, place[0]);
    const chosen = fasteners.find((fastener) => fastener.name === state.chosen[name]);
    const fastener = chosen ?? fastenerFor(behind, fasteners);
    /** @type {Point} */
    const holeMm = [place[0], place[1] + (fastener?.drop_mm ?? 0)];
    return [name, { place, holeMm, ...behind, fastener }];
  };
  return Object.fromEntries(state.form.seats.map(seatNow));
}
