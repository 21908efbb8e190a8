/** Lengths written the way they are read off a tape, the same as on the server. */

import {
  abs, add, compare, floor, isWhole, ofDecimal, ofNumber, over, ratio, roundHalfEven, times,
} from "./rational.js";
import { ALIASES, DENOMINATORS } from "./typed.js";
import { LengthError } from "./typed_text.js";

/** @typedef {import("./rational.js").Rational} Rational */
/** @typedef {import("./typed.js").Unit} Unit */

const INCH = ratio(254, 10);
/** Millimetres in one unit, exact. @type {Readonly<Record<Unit, Rational>>} */
export const MM_PER = {
  mm: ratio(1), cm: ratio(10), m: ratio(1000), in: INCH, ft: ratio(3048, 10),
};
const SIXTY_FOURTH = ratio(254, 640);
/** @type {Readonly<Record<Unit, Rational>>} */
const FINEST = { mm: ratio(1, 10), cm: ratio(1), m: ratio(1), in: SIXTY_FOURTH, ft: SIXTY_FOURTH };
// graduations found on metric tapes and rules; another one only says how fine to write
const METRIC = [3, 2, 1, 0, -1, -2, -3].flatMap((power) =>
  [5, 2, 1].map((lead) => ofDecimal((lead * 10 ** power).toFixed(power < 0 ? -power : 0))),
);
const INCHES = [1, ...DENOMINATORS].map((bottom) => over(INCH, ratio(bottom)));

/** Whether lengths in this unit are read in fractions. @type {(unit: string) => boolean} */
export const isInchLike = (unit) => unit === "in" || unit === "ft";

/**
 * A length in a unit, rounded to a graduation, halves away from zero.
 *
 * graduationMm: default 1/64 in, 0.1 mm for mm, 1 mm for cm and m. Another one than the unit's
 * tapes have is replaced by the coarsest of theirs that is not coarser than it.
 *
 * @param {number | Rational} mm counted to 6 decimals, as it is stored
 * @param {string} unit
 * @param {{ graduationMm?: number | Rational, signed?: boolean, withUnit?: boolean }} [how]
 * @returns {string}
 */
export function formatLength(mm, unit, { graduationMm, signed = false, withUnit = true } = {}) {
  const known = ALIASES.get(unit);
  if (!known) throw new LengthError("unit not known", unit, "give mm, cm, m, in or ft");
  const value = exact(mm);
  const graduation = graduationOf(known, graduationMm);
  const count = floor(add(over(abs(value), graduation), ratio(1, 2)));
  const sign = count === 0n ? "" : value.n < 0n ? "-" : signed ? "+" : "";
  return sign + body(times(ratio(count), graduation), known, graduation, withUnit);
}

/** @type {(mm: number | Rational) => Rational} */
function exact(mm) {
  if (typeof mm !== "number") return mm;
  if (!Number.isFinite(mm)) {
    throw new LengthError("length not finite", String(mm), "give a finite number of mm");
  }
  // what lies beyond six decimals is float noise: every 1/64 in is exact in six
  return ratio(roundHalfEven(times(ofNumber(mm), ratio(1_000_000))), 1_000_000);
}

/** @type {(unit: Unit, graduationMm: number | Rational | undefined) => Rational} */
function graduationOf(unit, graduationMm) {
  if (graduationMm === undefined) return FINEST[unit];
  const given = exact(graduationMm);
  if (given.n <= 0n) {
    throw new LengthError("graduation not usable", String(graduationMm), "give a size above 0 mm");
  }
  const coarsestFirst = isInchLike(unit) ? INCHES : METRIC;
  const usable = coarsestFirst.find((size) => compare(size, given) <= 0);
  return usable ?? coarsestFirst[coarsestFirst.length - 1];
}

/** @type {(size: Rational, unit: Unit, graduation: Rational, withUnit: boolean) => string} */
function body(size, unit, graduation, withUnit) {
  if (unit === "ft") return feet(over(size, INCH));
  const suffix = withUnit ? ` ${unit}` : "";
  if (unit === "in") return mixed(over(size, INCH)) + suffix;
  return decimal(over(size, MM_PER[unit]), decimals(over(graduation, MM_PER[unit]))) + suffix;
}

/** Inches in lowest terms. @type {(inches: Rational) => string} */
function mixed(inches) {
  const whole = floor(inches);
  const rest = inches.n - whole * inches.d;
  if (rest === 0n) return String(whole);
  const common = divisor(rest, inches.d);
  const part = `${rest / common}/${inches.d / common}`;
  return whole ? `${whole} ${part}` : part;
}

/** @type {(a: bigint, b: bigint) => bigint} */
const divisor = (a, b) => (b === 0n ? a : divisor(b, a % b));

/** @type {(inches: Rational) => string} */
function feet(inches) {
  const whole = floor(over(inches, ratio(12)));
  const rest = mixed(add(inches, ratio(-12n * whole)));
  return whole ? `${whole}' ${rest}"` : `${rest}"`;
}

/**
 * The digits after the point that write a value of finite decimals exactly.
 * @type {(value: Rational) => number}
 */
function decimals(value) {
  let digits = 0;
  while (!isWhole(times(value, ratio(10n ** BigInt(digits))))) digits += 1;
  return digits;
}

/** @type {(value: Rational, digits: number) => string} */
function decimal(value, digits) {
  const whole = floor(times(value, ratio(10n ** BigInt(digits))));
  const scaled = String(whole).padStart(digits + 1, "0");
  return digits ? `${scaled.slice(0, -digits)}.${scaled.slice(-digits)}` : scaled;
}

/**
 * A typed length without any rounding: in 64ths where it is one of those, else in decimals.
 * @type {(mm: Rational, unit: Unit) => string}
 */
export function writeExactly(mm, unit) {
  if (isInchLike(unit) && isWhole(over(mm, SIXTY_FOURTH))) return formatLength(mm, unit);
  const value = abs(over(mm, MM_PER[unit]));
  return `${mm.n < 0n ? "-" : ""}${decimal(value, decimals(value))} ${unit}`;
}
