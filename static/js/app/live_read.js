/** Live numbers of what is read by level: two marks against each other, the edge of a hung panel. */

import { plannedApart } from "./hung.js";
import { levelSaid, plannedLevel } from "./level.js";
import { fmt, pairSeats } from "./words.js";

/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("./live.js").Live} Live */

/** @type {(math: State, what: string, subject: string, unit: string) => Live | null} */
export function pairValue(math, what, subject, unit) {
  if (!pairSeats(subject).every((seat) => seat in math.now)) return null;
  const pair = plannedApart(math, subject, true);
  switch (what) {
    case "pair-spacing": return { mm: pair.apart };
    case "pair-by": return { mm: pair.by };
    case "pair-higher": return { words: pair.higher };
    case "pair-set": return { words: pairSeats(subject).filter((seat) => seat in math.set).map(setWords).join(" ") };
    case "pair-said": return { words: pairSaid(subject, pair, unit) };
    default: return null;
  }
}

/** @type {(seat: string) => string} */
const setWords = (seat) => `${seat} is set: measure from where the ring bears.`;

/** A drawing of two marks in words. @type {(subject: string, pair: ReturnType<typeof plannedApart>, unit: string) => string} */
function pairSaid(subject, { apart, higher, by }, unit) {
  const [left, right] = pairSeats(subject);
  const start = `${left} and ${right} are ${fmt(apart, unit)} apart`;
  if (higher === "level") return `${start} and at the same height.`;
  return `${start}; ${higher === "right" ? right : left} is higher by ${fmt(by, unit)}.`;
}

/** @type {(math: State, what: string, subject: string, unit: string) => Live | null} */
export function levelValue(math, what, subject, unit) {
  const isPanel = subject in math.problem.width_mm;
  if (!isPanel && !pairSeats(subject).every((seat) => seat in math.now)) return null;
  if (what === "level-said") return { words: levelSaid(math, subject, unit) };
  const { low, by } = plannedLevel(math, subject);
  return what === "level-by" ? { mm: by } : what === "level-low" ? { words: low } : null;
}
