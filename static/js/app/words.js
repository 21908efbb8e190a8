/** Lengths and deviations as people at the wall read them, in the server's own words. */

import { formatLength, isInchLike } from "../core/readout.js";

/** @typedef {import("../core/consequence.js").Residual} Residual */

/** Differences below this are none. */
export const SAME_MM = 0.05;
const MIXED = /^(?:(\d+) )?(\d+)\/(\d+) in$/;

/** Not to be parted at the end of a line. @type {(text: string) => string} */
export const unparted = (text) => text.replaceAll(" ", "\u00a0");

/** A length to what a tape can show. @type {(mm: number, unit: string) => string} */
export const fmt = (mm, unit) => unparted(written(mm, unit));

/** The same with plain spaces. @type {(mm: number, unit: string) => string} */
function written(mm, unit) {
  if (isInchLike(unit)) return formatLength(mm, "in");
  const [number, name] = formatLength(mm, unit, { graduationMm: 0.1 }).split(" ");
  return `${number.includes(".") ? number.replace(/\.?0+$/, "") : number} ${name}`;
}

/** The same without its unit, as it stands in an input. @type {(mm: number, unit: string) => string} */
export const bare = (mm, unit) => written(mm, unit).split(" ").slice(0, -1).join(" ");

/**
 * A length for a large number: the fraction small, the unit smaller.
 * @type {(mm: number, unit: string) => (Node | string)[]}
 */
export function large(mm, unit) {
  const text = written(mm, unit);
  const found = MIXED.exec(text);
  if (!found) return [`${bare(mm, unit)} `, made("span", "unit", text.split(" ").at(-1) ?? "")];
  const [, whole, top, bottom] = found;
  const frac = made("span", "frac");
  frac.append(made("sup", "", top), "⁄", made("sub", "", bottom));
  return [...(whole ? [`${whole} `] : []), frac, " ", made("span", "unit", "in")];
}

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {string} [name] class
 * @param {...(Node | string)} inside
 * @returns {HTMLElementTagNameMap[K]}
 */
export function made(tag, name, ...inside) {
  const element = document.createElement(tag);
  if (name) element.className = name;
  element.append(...inside);
  return element;
}

/** Where an x lies, seen from the front. @type {(xMm: number) => string} */
export function side(xMm) {
  if (Math.abs(xMm) < SAME_MM) return "on the reference line";
  return xMm < 0 ? "left of the reference line" : "right of the reference line";
}

/** An x in short. @type {(xMm: number, unit: string) => string} */
export function across(xMm, unit) {
  if (Math.abs(xMm) < SAME_MM) return "on the line";
  return `${fmt(Math.abs(xMm), unit)} ${xMm < 0 ? "left" : "right"}`;
}

/** A deviation's size. @type {(mm: number, unit: string) => string} */
export function small(mm, unit) {
  if (bare(Math.abs(mm), unit) !== "0") return fmt(Math.abs(mm), unit);
  return Math.abs(mm) < SAME_MM ? "nothing" : "less than 1/64\u00a0in";
}

/** By how much a mark moves. @type {(rightMm: number, upMm: number, unit: string) => string} */
export function moveWords(rightMm, upMm, unit) {
  const said = [];
  if (Math.abs(rightMm) >= SAME_MM) said.push(`${small(rightMm, unit)} ${rightMm > 0 ? "right" : "left"}`);
  if (Math.abs(upMm) >= SAME_MM) said.push(`${small(upMm, unit)} ${upMm > 0 ? "up" : "down"}`);
  return said.join(", ") || "stays";
}

/** @type {Record<string, [string, string]>} */
const RESIDUALS = {
  level: ["{0} is {size} low on the left", "{0} is {size} low on the right"],
  slack: ["seats {0} and {1} are {size} too far apart", "seats {0} and {1} are {size} too close"],
  bearing: ["seat {0} is {size} high", "seat {0} is {size} low"],
  gap: ["gap {0} to {1} is {size} too wide", "gap {0} to {1} is {size} too narrow"],
  step: ["{0} is {size} higher than {1}", "{1} is {size} higher than {0}"],
  "sideways step": ["{0} is {size} further right than {1}", "{1} is {size} further right than {0}"],
  centre: ["the work is {size} too far right", "the work is {size} too far left"],
  height: ["the work is {size} too high", "the work is {size} too low"],
};
/** @type {Record<string, string>} */
export const KIND_WORDS = {
  level: "Level", slack: "Seat spacing", bearing: "Bearing", gap: "Gap", step: "Step",
  centre: "Centre", height: "Height", taper: "Taper", flush: "Flush", line: "Line",
};

/**
 * One residual as a person would say it at the wall.
 * @type {(residual: Residual, unit: string, isAbove?: boolean) => string}
 */
export function residualWords({ kind, where, valueMm }, unit, isAbove = false) {
  if (Math.abs(valueMm) < SAME_MM) return `${KIND_WORDS[kind].toLowerCase()} as planned`;
  const names = where.includes("|") ? where.split("|") : pairSeats(where);
  const words = RESIDUALS[kind === "step" && isAbove ? "sideways step" : kind];
  return words[valueMm > 0 ? 0 : 1]
    .replace(/\{(\d)\}/g, (_, at) => names[Number(at) % names.length])
    .replace("{size}", small(valueMm, unit));
}

/** The seats of a pair; a lone seat is itself. @type {(subject: string) => string[]} */
export function pairSeats(subject) {
  const found = /^(.*\D)(\d+)-\1(\d+)$/s.exec(subject);
  return found ? [found[1] + found[2], found[1] + found[3]] : [subject];
}

/** A subject as people read it. @type {(subject: string) => string} */
export const shownSubject = (subject) => pairSeats(subject).join(" to ").replaceAll("|", " and ");

/** A moment of this phone's clock. @type {(iso: string) => string} */
export function momentWords(iso) {
  const moment = new Date(iso);
  if (Number.isNaN(moment.getTime())) return "";
  return moment.toLocaleString([], { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
}
