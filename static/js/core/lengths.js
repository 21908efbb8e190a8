/** Typed lengths: read strictly, kept exactly, written the way a tape is read. */

import {
  abs, add, compare, isWhole, over, ratio, roundHalfEven, times, toNumber,
} from "./rational.js";
import { MM_PER, formatLength, isInchLike, writeExactly } from "./readout.js";
import { lengthUnit, readAmount, readNumber, splitSign } from "./typed.js";
import { LengthError, cleaned, refuse, trimmed } from "./typed_text.js";

export { LengthError, formatLength, isInchLike, lengthUnit };

/** @typedef {import("./rational.js").Rational} Rational */
/** @typedef {import("./typed.js").Unit} Unit */
/** @typedef {import("./typed.js").Amount} Amount */

/**
 * A typed length: ``mm`` the nearest double, ``exact`` the same without any rounding, the unit it
 * was understood in, and the text as typed.
 * @typedef {{ mm: number, exact: Rational, unit: Unit, typed: string }} Length
 */

/** Beyond 100 m a unit was mistaken. */
export const MAX_MM = 100_000;

const FEET_AND_INCHES = new RegExp(
  "^([0-9]+) ?(?:'|ft|feet|foot)(?: ?|-)" +
    "([0-9½¼¾⅛⅜⅝⅞][0-9.,/ \\-½¼¾⅛⅜⅝⅞]*?) ?(?:\"|in|inch|inches)?$",
);
/** @type {[string, number][]} */
const SLIPS_MM = [["1 in", 25.4], ["100 mm", 100]];
const SLIP_WITHIN_MM = 2;
const SIXTEENTH = over(MM_PER.in, ratio(16));

/**
 * Read a typed length exactly, or throw a LengthError whose ``remedy`` says what to type.
 * @param {unknown} text at most 32 characters; feet with inches are understood as inches
 * @param {string | null} defaultUnit of a number without one; null demands one in the text
 * @returns {Length}
 */
export function parseLength(text, defaultUnit) {
  const amount = feetAndInches(text) ?? readAmount(text, defaultUnit);
  const exact = times(amount.value, MM_PER[amount.unit]);
  if (compare(abs(exact), ratio(MAX_MM)) > 0) {
    refuse(text, "give a length of at most 100 m (328 ft): check the unit, such as 527 mm");
  }
  return { mm: toNumber(exact), exact, unit: amount.unit, typed: trimmed(String(text)) };
}

/** @type {(text: unknown) => Amount | null} */
function feetAndInches(text) {
  const [sign, rest] = splitSign(cleaned(text));
  const found = FEET_AND_INCHES.exec(rest);
  if (!found) return null;
  const [inches] = readNumber(found[2], String(text));
  if (compare(inches, ratio(12)) >= 0) {
    refuse(text, "inches beside feet stay below 12: type it as 5' 6 1/2\" or 66 1/2 in");
  }
  return { value: times(ratio(sign), add(ratio(12n * BigInt(found[1])), inches)), unit: "in" };
}

/**
 * The length as an entry of the log holds it: mm to 6 decimals.
 * @type {(length: Length) => { mm: number, typed: string }}
 */
export function recorded({ exact, typed }) {
  return { mm: Number(roundHalfEven(times(exact, ratio(1_000_000)))) / 1_000_000, typed };
}

/**
 * What was understood, in the unit typed and in the other system, to show before saving.
 *
 * "≈" where the sixteenths of an inch shown are not exactly the length; throws as parseLength.
 * @type {(text: unknown, defaultUnit: string | null) => string}
 */
export function echo(text, defaultUnit) {
  const { exact, unit } = parseLength(text, defaultUnit);
  const left = writeExactly(exact, unit);
  if (isInchLike(unit)) return `${left} = ${formatLength(exact, "mm")}`;
  const middle = unit === "mm" ? "" : ` = ${writeExactly(exact, "mm")}`;
  const sign = isWhole(over(exact, SIXTEENTH)) ? "=" : "≈";
  return `${left}${middle} ${sign} ${formatLength(exact, "in", { graduationMm: SIXTEENTH })}`;
}

/**
 * Which whole length a reading is off by when it looks as if the tape was started there:
 * "1 in", "100 mm", or null. People start a tape at its 1 or its 100 to spare the worn hook.
 * @type {(measuredMm: number, plannedMm: number) => string | null}
 */
export function tapeSlip(measuredMm, plannedMm) {
  const offMm = Math.abs(measuredMm - plannedMm);
  const slip = SLIPS_MM.find(([, slipMm]) => Math.abs(offMm - slipMm) <= SLIP_WITHIN_MM);
  return slip ? slip[0] : null;
}
