/** What an entry about a hole says: another fastener, a hole given up, or kept and read again. */

import { SAME_MM as SAME_HOLE_MM, apart } from "../core/clear.js";
import { consequence } from "../core/consequence.js";
import { isDrilled } from "../core/problem.js";
import { loadNotChecked } from "./board.js";
import { KEPT } from "./hole.js";
import { finishLines, holeWords, moveLines, said } from "./result_lines.js";
import { SAME_MM, fmt, moveWords } from "./words.js";

/** @typedef {import("./result.js").Result} Result */
/** @typedef {import("./result.js").Turn} Turn */
/** @typedef {import("../core/problem.js").State} State */

/** Title and verdict. @type {Record<string, [string, string]>} */
const AGAIN = {
  "free:same_hole": [": a new fastener", "Set it in the same hole, then measure it."],
  "free:dropped": [" is read again", "Its fastener stays. Measure it again."],
  "free:moved": [" and its hanger are read again", "Measure the hanger on the back first, then the seat."],
};

/** @type {(turn: Turn, seat: string) => Result} */
export function seatChanged({ job, entry, before, after }, seat) {
  const found = consequence(before.math, after.math, null);
  const moves = moveLines(found, after.math, job.unit);
  const stop = loadNotChecked(job, after.math, seat);
  if (stop) {
    return {
      title: `Stop at ${seat}`, mood: "stop", verdict: "The lead must look before this seat goes on.",
      lines: [`${stop[0].toUpperCase()}${stop.slice(1)}.`], moves, seat,
    };
  }
  const what = entry.kind === "way" ? entry.fields.what : "";
  const isFreed = what.startsWith("free:");
  const isInPilot = isDrilled(after.math, seat) && !(seat in after.math.set);
  const marked = isInPilot ? "It goes into the pilot there is." : `Mark ${seat} again.`;
  const other = what === "free:spent" && !found.isInside
    ? ["Would a new fastener hold in the same hole? Then undo this and say so."] : [];
  const [title, verdict] = KEPT.has(what) ? [`${seat}${AGAIN[what][0]}`, AGAIN[what][1]] : [
    isFreed ? `${seat} is given up` : `${seat}: ${after.math.now[seat].fastener?.name ?? "none listed"}`,
    isFreed || moves.length ? marked : "Nothing moves.",
  ];
  const lines = KEPT.has(what) ? ["The hole stays."] : holeLines(before.math, after.math, seat, job.unit);
  return {
    title, verdict, mood: found.isInside ? "good" : "warn",
    lines: [...lines, `Finish: at worst, ${said(found.worst, after.math, job.unit)}.`, ...other],
    moves, finish: finishLines(found, after.math, job.unit), seat,
  };
}

/** Where the new hole goes by the old one, and whether its seat stays for that. @type {(before: State, after: State, seat: string, unit: string) => string[]} */
function holeLines(before, after, seat, unit) {
  if (seat in after.set) return ["The seat stays."];
  const [was, now] = [before.now[seat].place, after.now[seat].place];
  const [right, up] = [now[0] - was[0], now[1] - was[1]];
  // less than half a graduation is what putting the hole on the tape's marks takes
  const least = Math.max(SAME_MM, after.problem.graduation_mm / 2 + 1e-6);
  const isMoved = Math.max(Math.abs(right), Math.abs(up)) > least;
  const stays = isMoved ? `The seat comes ${moveWords(right, up, unit)}.` : "The seat stays.";
  const old = after.oldHoles[before.oldHoles.length];
  return old ? [...byOldHole(after, old, seat, unit), stays] : [stays];
}

/** @type {(math: State, old: import("../core/problem.js").Hole, seat: string, unit: string) => string[]} */
function byOldHole(math, { at_mm: at, is_full: isFull }, seat, unit) {
  const { holeMm } = math.now[seat];
  if (apart(holeMm, at) < SAME_HOLE_MM) return ["The same hole once more, for this fastener."];
  const { pilot, full } = math.problem.apart_mm;
  const by = moveWords(holeMm[0] - at[0], holeMm[1] - at[1], unit);
  return [
    `The old ${isFull ? "hole" : "pilot"} is ${holeWords(math, seat, at, unit)}; patch it later.`,
    `The new hole goes ${by} from there; ${fmt(isFull ? full : pilot, unit)} is the least.`,
  ];
}
