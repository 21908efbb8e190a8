/**
 * Typed text in the grammar's own characters, or an error that says what to type.
 *
 * What a phone makes of quotes, primes, minus signs and spaces is mapped character by character,
 * never by Unicode normalisation, which would turn 5½ into 51/2.
 */

export const MAX_CHARS = 32;
export const EXAMPLE = "20 3/4 in or 527 mm";
export const FRACTION_EXAMPLE = "5 1/2 in";

const OTHER_VULGAR = "⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒⅟↉";
// as on the server: trim() keeps the separators of files and drops a byte order mark
const BLANK = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]/;
/** @type {[RegExp, string][]} */
const SAME = [
  [/[\t\xa0\u202f\u205f\u3000\u2000-\u200a]/g, " "],
  [/[\u2018\u2019\u2032]/g, "'"],
  [/[\u201c\u201d\u2033]/g, '"'],
  [/[\u2212\u2010\u2011\u2013]/g, "-"],
  [/[\u2044\u2215]/g, "/"],
];
const ALLOWED = /^[0-9A-Za-z .,/'"+\-½¼¾⅛⅜⅝⅞]*$/;
// digits of other scripts, raised, lowered and circled ones
const DIGIT = new RegExp(
  "^[\\p{Nd}²³¹\\u1369-\\u1371\\u19da\\u2070\\u2074-\\u2079\\u2080-\\u2089\\u2460-\\u2468" +
    "\\u2474-\\u247c\\u2488-\\u2490\\u24ea\\u24f5-\\u24fd\\u24ff\\u2776-\\u277e" +
    "\\u2780-\\u2788\\u278a-\\u2792\\u{10a40}-\\u{10a43}\\u{10e60}-\\u{10e68}" +
    "\\u{11052}-\\u{1105a}\\u{1f100}-\\u{1f10a}]$",
  "u",
);

/** A typed length that cannot be understood, or one above 100 m. */
export class LengthError extends Error {
  /** @param {string} what @param {unknown} value @param {string} remedy */
  constructor(what, value, remedy) {
    super(`${what}: ${String(value)}: ${remedy}`);
    this.name = "LengthError";
    this.what = what;
    this.value = value;
    this.remedy = remedy;
  }
}

/** @type {(value: unknown, remedy: string) => never} */
export function refuse(value, remedy) {
  const isLong = typeof value === "string" && value.length > 2 * MAX_CHARS;
  const shown = isLong ? value.slice(0, 2 * MAX_CHARS) + "…" : value;
  throw new LengthError("length not understood", shown, remedy);
}

/** The text without the spaces around it. @type {(text: string) => string} */
export function trimmed(text) {
  let [from, to] = [0, text.length];
  while (from < to && BLANK.test(text[from])) from += 1;
  while (from < to && BLANK.test(text[to - 1])) to -= 1;
  return text.slice(from, to);
}

/**
 * The text in the grammar's own characters, lower case, single spaces.
 * @type {(text: unknown) => string}
 */
export function cleaned(text) {
  if (typeof text !== "string") return refuse(text, `give it as text, such as ${EXAMPLE}`);
  const inside = trimmed(text);
  if (!inside) refuse(text, `type a number and its unit, such as ${EXAMPLE}`);
  if ([...inside].length > MAX_CHARS) {
    refuse(text, `type at most ${MAX_CHARS} characters, such as ${EXAMPLE}`);
  }
  let mapped = inside;
  for (const [from, to] of SAME) mapped = mapped.replace(from, to);
  if (!ALLOWED.test(mapped)) refuseCharacter(inside, mapped);
  return mapped.replaceAll("''", '"').toLowerCase().split(/ +/).filter(Boolean).join(" ");
}

/** @type {(inside: string, mapped: string) => never} */
function refuseCharacter(inside, mapped) {
  const char = [...mapped].find((c) => !ALLOWED.test(c)) ?? "";
  if (OTHER_VULGAR.includes(char)) {
    refuse(inside, `${char} is on no tape: type a decimal, or such as ${FRACTION_EXAMPLE}`);
  }
  if (DIGIT.test(char)) refuse(inside, `type digits 0 to 9, such as ${EXAMPLE}`);
  refuse(inside, `the character ${quoted(char)} has no meaning here: type it as ${EXAMPLE}`);
}

/** One character so that it can be seen. @type {(char: string) => string} */
function quoted(char) {
  const code = char.codePointAt(0) ?? 0;
  const known = new Map([["\t", "\\t"], ["\n", "\\n"], ["\r", "\\r"], ["\\", "\\\\"]]).get(char);
  if (known) return `'${known}'`;
  if (!/[\p{C}\p{Z}]/u.test(char)) return `'${char}'`;
  const [mark, digits] = code < 0x100 ? ["x", 2] : code < 0x10000 ? ["u", 4] : ["U", 8];
  return `'\\${mark}${code.toString(16).padStart(Number(digits), "0")}'`;
}
