/** What an entry changed, in the words of the server's own result screen. */

import { consequence } from "../core/consequence.js";
import { loadNotChecked } from "./board.js";
import { kindOf, subjectOf } from "./subject.js";
import { finishLines, moveLines, said } from "./result_lines.js";
import { edged, hung, levelChecked, paired, servicesFound, tried, trimmed } from "./result_read.js";
import { seatChanged } from "./result_seat.js";
import { SAME_MM } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./state.js").Step} Step */
/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/consequence.js").Consequence} Consequence */
/** @typedef {{ seat: string, by: string, hole: string, change: string, isMarked: boolean }} MoveLine */
/** @typedef {{ kind: string, where: string, allowed: string, isInside: boolean }} FinishLine */
/**
 * One result screen; off: by how much (mm, or a figure and its unit) and which way.
 * @typedef {object} Result
 * @property {string} title
 * @property {[number | [string, string], string][]} [off]
 * @property {"good" | "warn" | "stop" | "plain"} [mood]
 * @property {string} [verdict]
 * @property {string[]} [lines]
 * @property {MoveLine[]} [moves]
 * @property {FinishLine[]} [finish]
 * @property {string} [seat]
 * @property {boolean} [isMore] to be read once more
 */
/** @typedef {{ job: Job, entry: Entry, before: Step, after: Step }} Turn */

/** The result of an entry, or null when it did no more than stand recorded. @type {(turn: Turn) => Result | null} */
export function resultOf(turn) {
  const { entry, job } = turn;
  if (entry.kind === "way") return seatChanged(turn, entry.seat);
  const [kind, subject] = [kindOf(entry.task), subjectOf(entry.task)];
  switch (kind) {
    case "fasteners.measure": return measured(turn, subject);
    case "fasteners.pilot": return piloted(turn, subject);
    case "fasteners.pair": return paired(turn, subject);
    case "before.services": return servicesFound(turn);
    case "secure.try": return tried(entry, subject);
    case "level.check": return levelChecked(turn);
    case "panels.level": case "panels.facing": case "close.next_day":
      return entry.fields.outcome === "measured" ? hung(turn) : null;
    case "panels.edge": return edged(turn);
    case "panels.trim": return trimmed(turn, subject);
    default: return null;
  }
}

/** @type {(turn: Turn, seat: string) => Result} */
function measured({ job, before, after }, seat) {
  const found = consequence(before.math, after.math, seat);
  const [right, up] = found.offMm ?? [0, 0];
  /** @type {[number, string][]} */
  const both = [[up, up > 0 ? "high" : "low"], [right, right > 0 ? "right" : "left"]];
  const off = both.filter(([mm]) => Math.abs(mm) >= SAME_MM);
  return {
    title: `${seat} is set`,
    off: off.map(([mm, word]) => [Math.abs(mm), word]),
    mood: found.isInside ? "good" : "warn",
    verdict: verdictWords(found, off.length > 0),
    lines: why(found, job, after.math),
    moves: moveLines(found, after.math, job.unit),
    finish: finishLines(found, after.math, job.unit),
    seat,
  };
}

/** @type {(found: Consequence, isOff: boolean) => string} */
function verdictWords(found, isOff) {
  const where = found.isInside ? "Inside tolerance" : "Outside tolerance";
  const count = found.moves.length;
  if (!isOff && found.isInside && !count) return "On its mark. Nothing moves.";
  if (!count) return `${where}, nothing moves.`;
  return `${where}. ${count} mark${count > 1 ? "s" : ""} move${count > 1 ? "" : "s"}.`;
}

/** @type {(found: Consequence, job: Job, math: State) => string[]} */
function why(found, job, math) {
  const lines = [];
  if (found.moves.length) lines.push(`Why: left as they were, ${said(found.kept, math, job.unit)}.`);
  lines.push(`Finish: at worst, ${said(found.worst, math, job.unit)}.`);
  if (!found.isInside) {
    lines.push("Carry on and trim it once it hangs, or give this fastener up and set it again. The lead decides.");
  }
  return lines;
}

/** @type {(turn: Turn, seat: string) => Result | null} */
function piloted(turn, seat) {
  if (turn.entry.fields.met === "unclear") {
    return {
      title: `${seat}: not known yet`, mood: "warn",
      verdict: "No opening before it is known what is behind.",
      lines: [
        "Try once more in the same hole, slowly, and feel for the shavings.",
        "Still not clear: leave it, do the next task, and ask the lead.",
      ],
      seat,
    };
  }
  const moves = consequence(turn.before.math, turn.after.math, null).moves;
  if (loadNotChecked(turn.job, turn.after.math, seat)) {
    const stop = seatChanged(turn, seat);
    return { ...stop, lines: [...stop.lines ?? [], "If the bit met something else, undo it and record it again."] };
  }
  return moves.length ? seatChanged(turn, seat) : null;
}
