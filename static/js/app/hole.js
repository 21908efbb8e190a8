/** Where a wrong hole was found, as typed in the form of what is in the way. */

import { TypedError, readValues } from "./reading.js";

/** @typedef {import("./types.js").Field} Field */
/** @typedef {import("./types.js").LengthValue} LengthValue */

/** @type {Field[]} */
const FIELDS = [
  { name: "hole.x", kind: "across", label: "From the reference line", required: false, far_mm: null, choices: [] },
  { name: "hole.above", kind: "length", label: "Above the level line", required: false, far_mm: null, choices: [] },
];

/** Why a seat is read again in the hole it has, and what is done again before. @type {ReadonlyMap<string, readonly string[]>} */
export const KEPT = new Map([["free:same_hole", ["anchor", "press"]], ["free:dropped", []], ["free:moved", []]]);

/** What of a form says where the hole is. @type {(raw: Readonly<Record<string, string>>) => Record<string, string>} */
export const holeFields = (raw) =>
  Object.fromEntries(Object.entries(raw).filter(([name, text]) => name.startsWith("hole.") && text.trim()));

/** Its x, and how far it is above its level line; null where neither was typed. @type {(raw: Readonly<Record<string, string>>, unit: string) => { x: LengthValue, above: LengthValue } | null} */
export function readHole(raw, unit) {
  const { "hole.x": x, "hole.above": above } = readValues(FIELDS, raw, unit);
  if (!x && !above) return null;
  const missing = FIELDS[x ? 1 : 0];
  if (!x || !above) throw new TypedError(missing.name, `${missing.label}: type a length, or clear both`);
  return { x, above };
}
