/**
 * Exact fractions of whole numbers: what is typed is kept exactly, as on the server.
 *
 * Denominators stay above zero. Nothing is reduced: no value here lives for more than a few steps.
 */

/** @typedef {{ n: bigint, d: bigint }} Rational */

/** @type {(n: bigint | number, d?: bigint | number) => Rational} */
export const ratio = (n, d = 1) => ({ n: BigInt(n), d: BigInt(d) });

/** @type {(a: Rational, b: Rational) => Rational} */
export const add = (a, b) => ({ n: a.n * b.d + b.n * a.d, d: a.d * b.d });

/** @type {(a: Rational, b: Rational) => Rational} */
export const times = (a, b) => ({ n: a.n * b.n, d: a.d * b.d });

/** a / b for b above zero. @type {(a: Rational, b: Rational) => Rational} */
export const over = (a, b) => ({ n: a.n * b.d, d: a.d * b.n });

/**
 * Negative, zero or positive as a is below, equal to or above b.
 * @type {(a: Rational, b: Rational) => number}
 */
export const compare = (a, b) => Number(a.n * b.d - b.n * a.d);

/** @type {(a: Rational) => Rational} */
export const abs = (a) => (a.n < 0n ? { n: -a.n, d: a.d } : a);

/** @type {(a: Rational) => boolean} */
export const isWhole = (a) => a.n % a.d === 0n;

/** The whole number at or below. @type {(a: Rational) => bigint} */
export function floor(a) {
  const towardsZero = a.n / a.d;
  return a.n < 0n && !isWhole(a) ? towardsZero - 1n : towardsZero;
}

/** The nearest whole number, halves to the even one. @type {(a: Rational) => bigint} */
export function roundHalfEven(a) {
  const below = floor(a);
  const twice = 2n * (a.n - below * a.d);
  return twice > a.d || (twice === a.d && below % 2n !== 0n) ? below + 1n : below;
}

/** The nearest double. @type {(a: Rational) => number} */
export const toNumber = (a) => Number(a.n / a.d) + Number(a.n % a.d) / Number(a.d);

/** A finite double, exactly. @type {(x: number) => Rational} */
export function ofNumber(x) {
  let bottom = 1n;
  // doubling moves only the exponent: nothing is lost
  while (!Number.isInteger(x)) {
    x *= 2;
    bottom *= 2n;
  }
  return { n: BigInt(x), d: bottom };
}

/** Digits with an optional point, exactly. @type {(digits: string) => Rational} */
export function ofDecimal(digits) {
  const [whole, part = ""] = digits.split(".");
  return { n: BigInt(whole + part), d: 10n ** BigInt(part.length) };
}
