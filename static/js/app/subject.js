/** What a task's id says, and the seat it is about as this phone shows it. */

import { lineOf } from "../core/lines.js";

/** @typedef {import("../core/problem.js").State} State */

/** @type {(task: string) => string} */
export const kindOf = (task) => task.split(":", 1)[0];
/** @type {(task: string) => string} */
export const subjectOf = (task) => task.slice(kindOf(task).length + 1);

/**
 * The seat of a task as this phone shows it: what is marked, drilled and read is true of this place.
 * @type {(state: State, task: string) => import("./types.js").Shown | null}
 */
export function shownSeat(state, task) {
  const seat = subjectOf(task);
  if (!(seat in state.now)) return null;
  const { place, holeMm, fastener } = state.now[seat];
  const isRead = kindOf(task) === "fasteners.measure";
  const [x, y] = (isRead && (state.set[seat]?.given_mm ?? state.marksMm[seat])) || place;
  const above = y - lineOf(state, seat).y_mm;
  return { x_mm: x, y_mm: y, hole_y_mm: holeMm[1], fastener: fastener?.name ?? null, above_mm: above };
}
