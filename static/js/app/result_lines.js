/** What a change leads to, in lines: which marks move and by how much, and where it finishes. */

import { lineOf } from "../core/lines.js";
import { isStacked } from "../core/hung.js";
import { KIND_WORDS, across, fmt, moveWords, residualWords } from "./words.js";

/** @typedef {import("./result.js").MoveLine} MoveLine */
/** @typedef {import("./result.js").FinishLine} FinishLine */
/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/consequence.js").Consequence} Consequence */

/** @type {(residual: import("../core/consequence.js").Residual, math: State, unit: string) => string} */
export const said = (residual, math, unit) =>
  `${residualWords(residual, unit, isStacked(math.problem, residual.where))}, ${fmt(residual.toleranceMm, unit)} allowed`;

/** @type {(found: Consequence, math: State, unit: string) => MoveLine[]} */
export function moveLines(found, math, unit) {
  // where no fastener is listed nobody knows where the hole would go
  const nearestFirst = found.moves.filter(({ fastenerAfter }) => fastenerAfter).sort((a, b) => Number(b.isMarked) - Number(a.isMarked));
  return nearestFirst.map((move) => ({
    seat: move.seat,
    by: moveWords(move.rightMm, move.upMm, unit),
    hole: holeWords(math, move.seat, move.holeMm, unit),
    isMarked: move.isMarked,
    change: move.fastenerAfter === move.fastenerBefore ? "" : `now ${move.fastenerAfter}`,
  }));
}

/** @type {(math: State, seat: string, holeMm: import("../core/problem.js").Point, unit: string) => string} */
export function holeWords(math, seat, [x, y], unit) {
  const line = lineOf(math, seat);
  const above = y - line.y_mm;
  const name = math.lines.length > 1 ? `line ${line.name}` : "the line";
  return `${across(x, unit)}, ${fmt(Math.abs(above), unit)} ${above >= 0 ? "above" : "below"} ${name}`;
}

/** @type {(found: Consequence, math: State, unit: string) => FinishLine[]} */
export const finishLines = (found, math, unit) => Object.values(found.finish).map((residual) => ({
  kind: KIND_WORDS[residual.kind],
  where: residualWords(residual, unit, isStacked(math.problem, residual.where)),
  allowed: fmt(residual.toleranceMm, unit),
  isInside: residual.isInside,
}));
