/**
 * The strict grammar of typed lengths, the same as on the server: a number, then a unit.
 *
 *   length    = [sign] number [space] [unit]          at most 32 characters
 *   number    = digits | digits mark digits | "." digits | fraction | digits joint fraction
 *   mark      = "." | ","                             "1,500" is asked back: 1500 or 1.5?
 *   joint     = " " | "-" | nothing before ½ and its kin
 *   fraction  = digits "/" (2|4|8|16|32|64) | ½ ¼ ¾ ⅛ ⅜ ⅝ ⅞     always below 1
 *
 * Whatever does not fit is refused with an example of what to type.
 */

import { add, compare, ofDecimal, ratio, times, toNumber } from "./rational.js";
import { EXAMPLE, FRACTION_EXAMPLE, cleaned, refuse, trimmed } from "./typed_text.js";

/** @typedef {import("./rational.js").Rational} Rational */
/** @typedef {"mm" | "cm" | "m" | "in" | "ft"} Unit */
/** @typedef {{ value: Rational, unit: Unit }} Amount */

export const DENOMINATORS = [2, 4, 8, 16, 32, 64];
const UNITS = "mm, cm, m, in, ft";

/** What people write for a unit, in lower case. @type {ReadonlyMap<string, Unit>} */
export const ALIASES = new Map([
  ["mm", "mm"], ["cm", "cm"], ["m", "m"],
  ["in", "in"], ['"', "in"], ["inch", "in"], ["inches", "in"],
  ["ft", "ft"], ["'", "ft"], ["foot", "ft"], ["feet", "ft"],
]);

/** @type {ReadonlyMap<string, Rational>} */
const VULGAR = new Map([
  ["½", ratio(1, 2)], ["¼", ratio(1, 4)], ["¾", ratio(3, 4)],
  ["⅛", ratio(1, 8)], ["⅜", ratio(3, 8)], ["⅝", ratio(5, 8)], ["⅞", ratio(7, 8)],
]);
const SHAPE = /^([0-9.,/ \-½¼¾⅛⅜⅝⅞]*?) ?([a-z]+|'|")?$/;
const DECIMAL = /^(?:([0-9]+)(?:([.,])([0-9]+))?|\.([0-9]+))$/;
const FRACTION =
  /^(?:([0-9]+)(?:[ -]|(?=[½¼¾⅛⅜⅝⅞])))?(?:([0-9]+)\/([0-9]+)|([½¼¾⅛⅜⅝⅞]))$/;

/** The unit meant by one of its names, in any case. @type {(text: unknown) => Unit} */
export function lengthUnit(text) {
  const unit = typeof text === "string" ? ALIASES.get(trimmed(text).toLowerCase()) : undefined;
  return unit ?? refuse(text, `give one of the units ${UNITS}`);
}

/**
 * A leading sign, which belongs to the whole, and the rest.
 * @type {(text: string) => [bigint, string]}
 */
export function splitSign(text) {
  if (text[0] !== "+" && text[0] !== "-") return [1n, text];
  return [text[0] === "-" ? -1n : 1n, text[1] === " " ? text.slice(2) : text.slice(1)];
}

/**
 * An unsigned number of the grammar and whether it was written with a fraction.
 * @type {(number: string, text: string) => [Rational, boolean]}
 */
export function readNumber(number, text) {
  const decimal = DECIMAL.exec(number);
  if (decimal) return [readDecimal(decimal, text), false];
  const fraction = FRACTION.exec(number);
  if (!fraction) return refuse(text, `type one number, such as ${EXAMPLE}`);
  return [readMixed(fraction, text), true];
}

/** @type {(found: RegExpExecArray, text: string) => Rational} */
function readDecimal(found, text) {
  const [, whole, mark, part, bare] = found;
  if (bare !== undefined) return ofDecimal("0." + bare);
  if (mark === "," && part.length === 3 && whole.length <= 3 && whole[0] !== "0") {
    const small = `${whole}.${part}`.replace(/0+$/, "").replace(/\.$/, "");
    refuse(text, `the comma can mean two things: type ${whole}${part} or ${small}`);
  }
  return ofDecimal(part === undefined ? whole : `${whole}.${part}`);
}

/** @type {(found: RegExpExecArray, text: string) => Rational} */
function readMixed(found, text) {
  const [, whole = "0", top, bottom, vulgar] = found;
  const part = VULGAR.get(vulgar) ?? ratio(BigInt(top), BigInt(bottom));
  if (vulgar === undefined && !DENOMINATORS.some((known) => BigInt(known) === part.d)) {
    refuse(text, `use 2, 4, 8, 16, 32 or 64 below the line, such as ${FRACTION_EXAMPLE}`);
  }
  if (compare(part, ratio(1)) >= 0) {
    // "11/2" is as often "1 1/2" with its space lost as it is five and a half
    refuse(text, `a fraction stays below 1, after a space: such as ${FRACTION_EXAMPLE}`);
  }
  return add(ratio(BigInt(whole)), part);
}

/**
 * An exact number and its unit; the default unit when it names none.
 * @type {(text: unknown, defaultUnit: string | null) => Amount}
 */
export function readAmount(text, defaultUnit) {
  const [sign, rest] = splitSign(cleaned(text));
  const typed = String(text);
  const found = SHAPE.exec(rest);
  if (!found) return refuse(typed, `type one number and its unit, such as ${EXAMPLE}`);
  const [, number, name] = found;
  const named = name === undefined ? undefined : ALIASES.get(name);
  if (name !== undefined && !named) {
    refuse(typed, `'${name}' is none of the units ${UNITS}: type it as ${EXAMPLE}`);
  }
  const [value, hasFraction] = readNumber(number, typed);
  if (!named && defaultUnit === null) refuse(typed, `say the unit as well, such as ${EXAMPLE}`);
  const unit = named ?? lengthUnit(defaultUnit);
  if (hasFraction && unit !== "in" && unit !== "ft") {
    refuse(typed, `${unit} takes no fraction: type ${number} in or ${digits12(value)} ${unit}`);
  }
  return { value: times(ratio(sign), value), unit };
}

/** At most twelve digits, as the server writes them. @type {(value: Rational) => string} */
function digits12(value) {
  const [digits, power] = toNumber(value).toPrecision(12).split("e");
  const short = digits.includes(".") ? digits.replace(/\.?0+$/, "") : digits;
  return power === undefined ? short : `${short}e${power}`;
}
