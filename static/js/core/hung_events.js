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
 * is_more: read once more, beside the one before; else it corrects that.
 * @typedef {{ type: "levelled", panel: string, rise_mm: number | null, is_more?: boolean }
 *   | { type: "edged", panel: string, off_mm: number | null, is_more?: boolean }
 *   | { type: "faced", where: string, off: { first_mm: number, second_mm: number, step_mm: number } | null, is_more?: boolean }} HungRead
 */

/** What was read of it since its panels were last touched. @type {<A extends Exclude<Happened["is"], "trim">>(state: State, is: A, where: string) => Extract<Happened, { is: A }>[]} */
export function readOf({ happened }, is, where) {
  const panels = where.split("|");
  const touched = happened.findLastIndex((one) => one.is === "trim" && panels.includes(one.panel));
  const left = /** @type {any[]} */ (happened.slice(touched + 1));
  return left.filter((one) => one.is === is && (one.where ?? one.panel) === where);
}

/** @type {(state: State, read: HungRead) => State} */
export function hungRead(state, read) {
  const one = happenedAs(state, read);
  const corrected = read.is_more ? [] : read.type === "faced" ? readOf(state, "facing", read.where)
    : readOf(state, read.type === "edged" ? "edge" : "level", read.panel);
  if (!one && !corrected.length) return state;
  const kept = state.happened.filter((other) => !(/** @type {readonly Happened[]} */ (corrected)).includes(other));
  return remarked({ ...state, happened: one ? [...kept, one] : kept });
}

/** null: as planned, which is no reading. @type {(state: State, read: HungRead) => Happened | null} */
function happenedAs(state, read) {
  if (read.type === "faced") return read.off && { is: "facing", where: read.where, ...read.off };
  const { panel } = read;
  if (read.type === "edged") return read.off_mm === null ? null : { is: "edge", panel, off_mm: read.off_mm };
  return read.rise_mm === null ? null
    : { is: "level", panel, rise_mm: read.rise_mm, error_mm_per_m: errorHeld(state, false) };
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
