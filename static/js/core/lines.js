/** Level lines, and what a seat should read above its own. */

/** @typedef {import("./problem.js").State} State */
/** @typedef {{ x_mm: number, above_mm: number }} Reading from the reference and the level line */

/**
 * What "As planned" reads for a seat, as stored.
 * @type {(state: State, seat: string) => Reading}
 */
export function plannedReading(state, seat) {
  // measured before: the plan is still the mark that was given, not what came of it
  const [x, y] = state.set[seat]?.given_mm ?? state.marksMm[seat];
  return { x_mm: stored(x), above_mm: stored(y - lineOf(state, seat).y_mm) };
}

/** @type {(mm: number) => number} */
const stored = (mm) => Number(mm.toFixed(6)) + 0;

/**
 * The level line a seat's height is read from.
 * @type {(state: State, seat: string) => import("./problem.js").Line}
 */
export function lineOf(state, seat) {
  const line = state.lines.find(({ seats }) => seats.includes(seat));
  if (!line) throw new RangeError(`no level line serves ${seat}`);
  return line;
}
