/**
 * Which level's own error is taken off a reading: that of the check it was made under, as on the
 * server. What was read before any check goes by the first one.
 */

/** @typedef {import("./problem.js").State} State */

/** Of the level as it is held; a laser's line faces the wall one way only. null: the first check will say. @type {(state: State, isTurned: boolean) => number | null} */
export const errorHeld = ({ levelErrorMmPerM: error, levelIsLaser: isLaser }, isTurned) =>
  (isLaser === null ? null : isTurned && !isLaser ? -error : error);

/**
 * A level was checked: this one is used from now on.
 * @type {(state: State, check: { error_mm_per_m: number, is_laser: boolean }) => State}
 */
export function withLevel(state, { error_mm_per_m: levelErrorMmPerM, is_laser: levelIsLaser }) {
  const now = { ...state, levelErrorMmPerM, levelIsLaser };
  const crossed = state.crossed.map((one) =>
    ({ ...one, error_mm_per_m: one.error_mm_per_m ?? errorHeld(now, one.is_turned) }));
  const happened = state.happened.map((one) =>
    (one.is === "level" ? { ...one, error_mm_per_m: one.error_mm_per_m ?? errorHeld(now, false) } : one));
  return { ...now, crossed, happened };
}
