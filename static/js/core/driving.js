/** A mark made on the wall, and the holes made at it. */

import { SAME_MM, apart } from "./clear.js";
import { givenUp, knownBehind } from "./holes.js";
import { remarked, withBacking } from "./planning.js";
import { without } from "./problem.js";
import { foundBehind, intoWanted } from "./wall.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Point} Point */

/** What a pilot met, in the words of what is behind. @type {ReadonlyMap<string, string>} */
const MET = new Map([
  ["nothing", "hollow"], ["wood", "stud"], ["steel", "steel"], ["masonry", "solid"],
]);

/** @type {(state: State, seat: string) => State} */
export function marked(state, seat) {
  // the hole stands where it was drilled, whatever is pencilled now
  if (seat in state.holes) return state;
  const pilot = state.pilots[seat];
  const isElsewhere = pilot && apart(pilot, state.now[seat].holeMm) > SAME_MM;
  return withMark(isElsewhere ? givenUp(state, seat) : state, seat);
}

/** @type {(state: State, seat: string) => State} */
function withMark(state, seat) {
  const { place, holeMm, fastener } = state.now[seat];
  const mark = { seat_mm: place, hole_y_mm: holeMm[1], fastener: fastener?.name ?? null };
  return { ...state, marked: { ...state.marked, [seat]: mark } };
}

/** A hole is where its mark is; one without stands for it. @type {(state: State, seat: string) => { drilled: State, hole: Point }} */
function drilledAt(state, seat) {
  const drilled = seat in state.marked ? state : withMark(state, seat);
  const { seat_mm: [x], hole_y_mm: y } = drilled.marked[seat];
  return { drilled, hole: [x, y] };
}

/** The marks left keep off an open hole by more than off its pilot. @type {(state: State, seat: string) => State} */
export function anchored(state, seat) {
  const { drilled, hole } = drilledAt(state, seat);
  return remarked({ ...drilled, holes: { ...drilled.holes, [seat]: hole } });
}

/** @type {(state: State, seat: string, met: string) => State} */
export function piloted(state, seat, met) {
  const at = drilledAt(state, seat);
  const drilled = { ...at.drilled, pilots: { [seat]: at.hole, ...at.drilled.pilots } };
  if (met === "unclear") return remarked(drilled);
  const into = MET.get(met);
  if (!into) throw new RangeError(`a pilot meets nothing, wood, steel or masonry, not ${met}`);
  const believed = state.now[seat];
  if (met === "wood" && believed.into === "backed") return remarked(drilled);
  const behind = foundBehind(into, met === "wood" ? "wood" : null, knownBehind(drilled, seat));
  // a fastener picked for something else is no longer a choice anybody made
  const isAsBelieved = intoWanted(behind) === intoWanted(believed);
  const chosen = isAsBelieved ? state.chosen : without(state.chosen, seat);
  return withBacking(drilled, seat, { ...state.found, [seat]: behind }, chosen);
}
