/** What is laid in rings, read and touched on hung panels. */

import { panelsOf } from "./hanging.js";
import { errorHeld } from "./levels.js";
import { remarked } from "./planning.js";
import { without } from "./problem.js";
import { hangerMoved, plannedAgain } from "./survey.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./hung.js").Happened} Happened */
/** One touch; + is up, right or out; seat: "" for the whole panel. @typedef {{ means: string, seat: string, by_mm: number }} Touch */
/**
 * @typedef {{ type: "levelled", panel: string, rise_mm: number | null }
 *   | { type: "faced", where: string, off: { first_mm: number, second_mm: number, step_mm: number } | null }} HungRead
 */

/** The same was read again, and its panels were not touched in between. @type {(state: State, read: HungRead) => Happened[]} */
function withoutOlder({ happened }, read) {
  const panels = read.type === "levelled" ? [read.panel] : read.where.split("|");
  const touched = happened.findLastIndex((one) => one.is === "trim" && panels.includes(one.panel));
  return happened.filter((one, i) => i < touched || one.is === "trim"
    || (read.type === "levelled" ? one.is !== "level" || one.panel !== read.panel
      : one.is !== "facing" || one.where !== read.where));
}

/** @type {(state: State, read: HungRead) => State} */
export function hungRead(state, read) {
  const kept = withoutOlder(state, read);
  if (read.type === "levelled" && read.rise_mm !== null) {
    kept.push({ is: "level", panel: read.panel, rise_mm: read.rise_mm, error_mm_per_m: errorHeld(state, false) });
  } else if (read.type === "faced" && read.off) {
    kept.push({ is: "facing", where: read.where, ...read.off });
  } else if (kept.length === state.happened.length) return state;
  return remarked({ ...state, happened: kept });
}

/** @type {(state: State, seat: string, thickMm: number) => State} */
export function shimmed(state, seat, thickMm) {
  const { seats, seat_panel: of, frame } = state.problem;
  const byMm = thickMm - frame.panels[of[seats.indexOf(seat)]].shims_mm;
  // the last one laid comes last
  return remarked({ ...state, raisedMm: { ...without(state.raisedMm, seat), [seat]: byMm } });
}

/** Hangers moved are where they are now for the plan too, where it can have them. @type {(state: State, panel: string, touches: readonly Touch[]) => State} */
export function trimmed(state, panel, touches) {
  if (!touches.length) return state;
  const problem = withHangersMoved(state, touches);
  /** @type {Happened[]} */
  const done = touches.map((touch) => ({
    is: "trim", panel, ...touch, is_planned: touch.means === "hanger" && problem !== null,
  }));
  const next = { ...state, happened: [...state.happened, ...done] };
  return problem ? plannedAgain(next, problem) : remarked(next);
}

/** A panel raised by its hanger has it lower; null where none was moved, or one would leave its panel. @type {(state: State, touches: readonly Touch[]) => State["problem"] | null} */
function withHangersMoved({ problem }, touches) {
  /** @type {Record<string, number>} */
  const raised = {};
  for (const { means, seat, by_mm: by } of touches) if (means === "hanger") raised[seat] = (raised[seat] ?? 0) + by;
  /** @type {State["problem"] | null} */
  let moved = problem;
  for (const [seat, by] of Object.entries(raised)) moved = moved && hangerMoved(moved, seat, [0, -by]);
  return moved === problem ? null : moved;
}
