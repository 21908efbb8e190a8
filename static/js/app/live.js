/**
 * Numbers that a recompute can move, written into a screen: the page's templates hold them as the
 * server last knew them; here they become those of the job as this phone knows it.
 */

import { lineOf, plannedReading } from "../core/lines.js";
import { panelOfSeat } from "../core/problem.js";
import { hangersApart } from "../core/survey.js";
import { seenOf } from "./effects.js";
import { facingValue } from "./facing.js";
import { shimValue } from "./live_shims.js";
import { levelValue, pairValue } from "./live_read.js";
import { placeValue } from "./places.js";
import { SAME_MM, across, bare, fmt, large, pairSeats, side } from "./words.js";

/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/problem.js").Point} Point */
/** A number, or words. @typedef {{ mm: number } | { words: string }} Live */

/** @type {Record<string, string>} */
const EXPECTED = {
  hollow: "nothing: hollow", stud: "a stud", edge: "the edge of a stud", steel: "a steel stud",
  backed: "a board behind the lining", solid: "solid wall",
};

/**
 * What a name such as "hole-x:A1" stands for now; null for a name of another version.
 * @type {(math: State, name: string, unit: string) => Live | null}
 */
export function liveValue(math, name, unit) {
  const [what, subject] = [name.slice(0, name.indexOf(":")), name.slice(name.indexOf(":") + 1)];
  if (what.startsWith("pair-")) return pairValue(math, what, subject, unit);
  if (what === "spacing") {
    return pairSeats(subject).every((seat) => seat in math.now) ? { mm: hangersApart(math.problem, pairSeats(subject)) } : null;
  }
  if (what === "stick-first") return { words: math.problem.order.find((seat) => panelOfSeat(seat) === subject) ?? "" };
  if (what.startsWith("shim-")) return shimValue(math, what, subject, unit);
  if (what.startsWith("facing-")) return facingValue(math, what, subject);
  if (what.startsWith("wall-")) return placeValue(math, what, subject, unit);
  if (what.startsWith("level-")) return levelValue(math, what, subject, unit);
  const now = math.now[subject];
  if (!now) return null;
  const lineMm = lineOf(math, subject).y_mm;
  const seat = plannedReading(math, subject);
  switch (what) {
    case "hole-x": return { mm: now.holeMm[0] };
    case "hole-above": return { mm: now.holeMm[1] - lineMm };
    case "hole-over": return { words: over(math, subject, now.holeMm[1] - lineMm) };
    case "seat-x": return { mm: seat.x_mm };
    case "seat-above": return { mm: seat.above_mm };
    case "seat-over": return { words: over(math, subject, seat.above_mm) };
    case "x-side": return { words: side(now.holeMm[0]) };
    case "seat-side": return { words: side(seat.x_mm) };
    case "fastener": return { words: now.fastener?.name ?? "no fastener listed" };
    case "drop": return { mm: now.fastener?.drop_mm ?? 0 };
    case "fastener-words": return { words: fastenerWords(now, unit) };
    case "measure-words": return { words: measureWords(now, unit) };
    case "expected": return { words: EXPECTED[now.into] ?? "" };
    case "check": return { words: checkWords(math, now.holeMm, subject, unit) };
    case "hole-check": return checkMm(math, now.holeMm, subject);
    case "seat-check": return checkMm(math, [seat.x_mm, seat.above_mm + lineMm], subject);
    case "hole-said": return { words: said(math, subject, now.holeMm, unit) };
    case "seat-said": return { words: said(math, subject, [seat.x_mm, seat.above_mm + lineMm], unit) };
    default: return null;
  }
}

/** @type {(math: State, seat: string, aboveMm: number) => string} */
export function over(math, seat, aboveMm) {
  const line = lineOf(math, seat).name;
  const name = math.lines.length > 1 ? `level line ${line}` : "the level line";
  return `${aboveMm >= 0 ? "above" : "below"} ${name}`;
}

/** @type {(now: import("../core/problem.js").Now, unit: string) => string} */
function fastenerWords({ fastener }, unit) {
  if (!fastener) return "No fastener is listed for what is behind: ask the lead.";
  const drop = fastener.drop_mm;
  if (Math.abs(drop) < SAME_MM) return `${fastener.name}: hole and seat at one height`;
  return `${fastener.name}: its seat comes ${fmt(Math.abs(drop), unit)} ${drop > 0 ? "below" : "above"} the hole`;
}

/** @type {(now: import("../core/problem.js").Now, unit: string) => string} */
function measureWords({ fastener }, unit) {
  const drop = fastener?.drop_mm ?? 0;
  if (Math.abs(drop) < SAME_MM) return "";
  return `The ring bears ${fmt(Math.abs(drop), unit)} ${drop > 0 ? "below" : "above"} the hole.`;
}

/** A close-up in words. @type {(math: State, seat: string, at: Point, unit: string) => string} */
function said(math, seat, [x, y], unit) {
  const above = y - lineOf(math, seat).y_mm;
  const check = checkWords(math, [x, y], seat, unit);
  return [`${fmt(Math.abs(x), unit)} ${side(x)}`, `${fmt(above, unit)} above the level line`, check]
    .filter(Boolean).join(", ") + ".";
}

/** The nearest set seat, as a check of a place. @type {(math: State, at: Point, seat: string) => { name: string, mm: number } | null} */
function nearest(math, [x, y], seat) {
  const others = Object.entries(math.estimateMm)
    .filter(([name]) => name !== seat)
    .map(([name, place]) => ({ name, mm: Math.hypot(place[0] - x, place[1] - y) }));
  return others.reduce((best, one) => (one.mm < best.mm ? one : best), others[0]) ?? null;
}

/** @type {(math: State, at: Point, seat: string) => Live | null} */
function checkMm(math, at, seat) {
  const near = nearest(math, at, seat);
  return near && { mm: near.mm };
}

/** The tape from the nearest set seat. @type {(math: State, at: Point, seat: string, unit: string) => string} */
function checkWords(math, at, seat, unit) {
  const near = nearest(math, at, seat);
  return near ? `${fmt(near.mm, unit)} from seat ${near.name}` : "";
}

/** Write all live numbers of a screen. @type {(root: ParentNode, math: State, unit: string) => void} */
export function writeLive(root, math, unit) {
  for (const element of root.querySelectorAll("[data-live]")) {
    const value = liveValue(math, element.getAttribute("data-live") ?? "", unit);
    if (value) writeText(element, value, unit);
  }
  for (const element of root.querySelectorAll("[data-live-value]")) {
    const name = element.getAttribute("data-live-value") ?? "";
    if (name.startsWith("seen:")) writeSeen(element, seenOf(math, name.slice(5)));
    else writeValue(element, liveValue(math, name, unit), unit);
  }
  for (const drawing of root.querySelectorAll("[data-live-higher]")) {
    // it was drawn with the other mark higher: no picture is better than a wrong one
    const value = liveValue(math, drawing.getAttribute("data-live-higher") ?? "", unit);
    const isOther = value && "words" in value && value.words !== drawing.getAttribute("data-higher");
    drawing.toggleAttribute("hidden", Boolean(isOther));
  }
  for (const row of root.querySelectorAll("[data-fastener-of]")) {
    // its drawing is of the fastener the server knew
    const { fastener } = math.now[row.getAttribute("data-fastener-of") ?? ""] ?? {};
    const isOther = (fastener?.name ?? "") !== row.getAttribute("data-fastener");
    row.querySelector("svg, [data-drawing]")?.toggleAttribute("hidden", isOther);
  }
}

/** @type {(element: Element, value: Live, unit: string) => void} */
function writeText(element, value, unit) {
  if ("words" in value) {
    element.textContent = value.words;
    element.closest("[data-live-line]")?.toggleAttribute("hidden", !value.words);
    return;
  }
  const how = element.getAttribute("data-live-as") ?? (element.closest(".number") ? "large" : "text");
  const size = Math.abs(value.mm);
  if (how === "large") element.replaceChildren(...large(size, unit));
  else if (how === "across") element.textContent = across(value.mm, unit);
  else element.textContent = how === "bare" ? bare(size, unit) : fmt(size, unit);
}

/** @type {(element: Element, seen: string | null) => void} */
function writeSeen(element, seen) {
  if (seen !== null && element instanceof HTMLInputElement) element.value = seen;
}

/** An input prefilled with a planned number; what somebody typed into it stays. @type {(element: Element, value: Live | null, unit: string) => void} */
function writeValue(element, value, unit) {
  if (!value) return;
  if ("words" in value) {
    for (const radio of element.querySelectorAll("input[type=radio]")) {
      radio.toggleAttribute("checked", radio.getAttribute("value") === value.words);
    }
  } else if (element instanceof HTMLInputElement && element.value === element.defaultValue) {
    element.defaultValue = bare(Math.abs(value.mm), unit);
    element.value = element.defaultValue;
    element.dataset.planMm = String(value.mm);
    writeSide(element, value.mm);
  }
}

/** The side that belongs to a prefilled x. @type {(input: HTMLInputElement, mm: number) => void} */
function writeSide(input, mm) {
  const sides = input.form?.elements.namedItem(`${input.name}.side`);
  if (!(sides instanceof RadioNodeList)) return;
  for (const radio of sides) {
    if (radio instanceof HTMLInputElement) radio.defaultChecked = radio.value === (mm < 0 ? "left" : "right");
  }
}
