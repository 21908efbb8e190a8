/** What a reading that moves no mark says: pairs of marks, the level itself, hung panels. */

import { consequence } from "../core/consequence.js";
import { valuesOf } from "./effects.js";
import { subjectOf } from "./subject.js";
import { isReadMore, lineVerdicts, pairIsTrue, pairOff, plannedApart, verdicts } from "./hung.js";
import { moveLines } from "./result_lines.js";
import { levelErrorMmPerM, takenOff } from "./level.js";
import { KIND_WORDS, SAME_MM, fmt, pairSeats, shownSubject, small } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./result.js").Result} Result */
/** @typedef {import("./result.js").Turn} Turn */

/** Said where something is outside. */
const BY_THE_SERVER = "By how much, and at which seat, comes with the server's answer.";
/** A level this true is called true. */
const LEVEL_LEAST_MM_PER_M = 0.05;

/** @type {(turn: Turn, subject: string) => Result | null} */
export function paired({ job, entry, before }, subject) {
  if (entry.fields.outcome !== "measured") return null;
  const [values, planned] = [valuesOf(job, entry), plannedApart(before.math, subject, true)];
  if (pairIsTrue(values, planned)) return null;
  const [left, right] = pairSeats(subject);
  const [apart, rise] = pairOff(values, planned);
  const lines = [];
  if (Math.abs(apart) >= SAME_MM) lines.push(`${small(apart, job.unit)} too ${apart > 0 ? "far apart" : "close together"}`);
  if (Math.abs(rise) >= SAME_MM) lines.push(`${rise > 0 ? right : left} is ${small(rise, job.unit)} too high`);
  const level = takenOff(before.math, subject, job.unit);
  if (level) lines.push(level);
  return {
    title: `Marks ${shownSubject(subject)}`, mood: "warn",
    verdict: "Pencil again, then check again. It costs nothing now.", lines,
  };
}

/** A panel that was tried and does not hold. @type {(entry: Entry, panel: string) => Result | null} */
export function tried({ fields }, panel) {
  if (fields.outcome !== "failed") return null;
  return {
    title: `${panel} does not hold`, mood: "stop", verdict: "The lead must look. Nobody below it meanwhile.",
    lines: [`${fields.found.trim()}.`, "The task stays open: try it again."],
  };
}

/** A cable or pipe was found before drilling. @type {(turn: Turn) => Result | null} */
export function servicesFound({ job, entry }) {
  const { found, near = [] } = valuesOf(job, entry);
  if (!found) return null;
  const where = near.includes("everywhere") ? "Everywhere" : `Near ${near.join(", ")}`;
  return {
    title: "Found before drilling", mood: "stop", verdict: "Work stops at the first hole until the lead has looked.",
    lines: [`${where}: ${found}.`, "Tell the lead now. The survey goes on meanwhile."],
  };
}

/** @type {(turn: Turn) => Result} */
export function levelChecked({ job, entry, before }) {
  const values = valuesOf(job, entry);
  const [error, isLaser] = [levelErrorMmPerM(values), values.instrument === "laser"];
  const name = isLaser ? "laser" : "level";
  const size = Math.abs(error).toFixed(2);
  const earlier = before.done.has("level.check") ? ["What was read before keeps the check before this one."] : [];
  if (Math.abs(error) < LEVEL_LEAST_MM_PER_M) {
    return { title: `The ${name} is true`, mood: "good", verdict: "Less than 0.05\u00a0mm in 1\u00a0m.", lines: earlier };
  }
  const [way, other] = error > 0 ? ["rises", "lower"] : ["falls", "raise"];
  const [miss, over] = [fmt(values.miss.mm, job.unit), fmt(values.over.mm, job.unit)];
  const held = `${other} the right end by ${size}\u00a0mm a metre`;
  return {
    title: `The ${name}'s own error`,
    off: [[[size, "mm in 1 m"], way]],
    verdict: `A line it calls level ${way} to the right.`,
    lines: [
      `The lines differ by ${miss} over ${over}; ${isLaser ? "all of it is the laser's tilt" : "half of it is the level's"}.`,
      `For the level line ${isLaser ? held : `keep the taped end on the left and ${held}`}.`,
      "Readings: type what it shows; its error is taken off for you.",
      ...earlier,
    ],
  };
}

/** A reading on hung panels. @type {(turn: Turn) => Result} */
export function hung({ job, entry, before, after }) {
  const reading = after.readings.find(({ task }) => task === entry.task);
  const own = reading ? verdicts(job, after.math, reading) : [];
  const mine = [...own, ...lineVerdicts(job, after.math, after.readings)];
  const [isInside, isClear] = [mine.every((one) => one.isInside), mine.every((one) => one.isClear)];
  const isMore = isReadMore(job, after.math, entry.task);
  const panel = mine[0]?.panel ?? subjectOf(entry.task);
  const level = mine[0]?.kind === "level" ? takenOff(after.math, panel, job.unit) : "";
  return {
    title: entry.title,
    mood: isClear && !isMore ? "good" : "warn",
    verdict: isMore ? "Too near its tolerance to tell: read it once more."
      : isClear ? "Inside tolerance." : `${isInside ? "Too near its" : "Outside"} tolerance: trim ${panel}.`,
    lines: [...(level ? [level] : []), ...(isClear || isMore ? [] : [BY_THE_SERVER])],
    isMore,
    moves: moveLines(consequence(before.math, after.math, null), after.math, job.unit),
    finish: mine.map((one) => ({
      kind: KIND_WORDS[one.kind], where: small(one.valueMm, job.unit),
      allowed: fmt(one.toleranceMm, job.unit), isInside: one.isInside,
    })),
  };
}

/** The marks that are left go with a panel's edge. @type {(turn: Turn) => Result | null} */
export function edged({ job, entry, before, after }) {
  const moves = moveLines(consequence(before.math, after.math, null), after.math, job.unit);
  if (!moves.length) return null;
  return { title: entry.title, mood: "good", verdict: `${moves.length} mark${moves.length > 1 ? "s go" : " goes"} with it.`, moves };
}

/** @type {(turn: Turn, panel: string) => Result} */
export function trimmed({ job, entry, before, after }, panel) {
  const values = valuesOf(job, entry);
  const moves = moveLines(consequence(before.math, after.math, null), after.math, job.unit);
  if (entry.fields.outcome === "as_planned") {
    return { title: `${panel} is trimmed`, verdict: "Check it again.", lines: ["As advised."], moves };
  }
  if (values.means === "none") {
    return { title: `${panel} stays as it is`, mood: "warn", verdict: "The lead decides at review." };
  }
  return {
    title: `${panel} is trimmed`, verdict: "Check it again.",
    lines: [`${values.seat || panel} ${values.way || "up"} ${fmt(values.by.mm, job.unit)}.`], moves,
  };
}
