/**
 * From what was typed and chosen in a task's form to values, as strictly as the server.
 *
 * What is refused here the server would refuse; what is doubted here it would doubt. So nothing
 * that is kept on the phone comes back as unreadable later, when nobody stands at the wall.
 */

import { LengthError, formatLength, isInchLike, parseLength, recorded, tapeSlip } from "../core/lengths.js";

/** @typedef {import("./types.js").Field} Field */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {Readonly<Record<string, string>>} Raw */

const TEXT_LIMIT = 500;
/** Nobody lifts a panel alone. */
const LEAST_PEOPLE = 2;
const MOST_PEOPLE = 30;
const MOST_STUDS = 40;
/** Diagonals of a square panel differ by no more. */
const SQUARE_MM = 2;

const NAME_REMEDY = "type the name of who says yes, and their role, e.g. Mara, maker";
/** What is typed where a name belongs and names nobody. */
const NAMELESS = new Set(("a an the yes no not ok okay fine good agree agreed agrees say says said "
  + "maker artist curator lead owner venue he she they it").split(" "));

/** What was typed cannot be read: where, and what to type. */
export class TypedError extends Error {
  /** @param {string} path @param {string} remedy */
  constructor(path, remedy) {
    super(remedy);
    this.path = path;
  }
}

/** @type {(fields: readonly Field[], raw: Raw, unit: string) => Values} */
export function readValues(fields, raw, unit) {
  /** @type {Values} */
  const values = {};
  for (const field of fields) {
    const value = readField(field, raw, unit);
    if (value !== null) values[field.name] = value;
  }
  return values;
}

/** @type {(field: Field, raw: Raw, unit: string) => any} */
function readField(field, raw, unit) {
  if (field.kind === "studs") return readStuds(field, raw, unit);
  if (field.kind === "seats") return readNear(field, raw);
  const text = (raw[field.name] ?? "").trim();
  if (!text) {
    if (field.kind === "photo") return null;
    if (field.required) throw new TypedError(field.name, `${field.label}: ${whatToType(field, unit)}`);
    return field.kind === "text" ? "" : null;
  }
  switch (field.kind) {
    case "choice": return readChoice(field.name, text, field.choices.map(([value]) => value));
    case "count": return readCount(field, text);
    case "text": return readText(field, text);
    case "name": return readName(field, text);
    case "photo": return null;
    default: return readSided(field, text, raw[`${field.name}.side`] ?? "", unit);
  }
}

/** @type {(field: Field, unit: string) => string} */
function whatToType(field, unit) {
  if (isLength(field)) return `type a length, e.g. ${isInchLike(unit) ? "20 3/4" : "527"}`;
  if (field.kind === "name") return NAME_REMEDY;
  if (field.kind === "choice") return `choose one of ${field.choices.map(([, words]) => words).join(", ")}`;
  return field.kind === "count" ? "type a whole number, e.g. 2" : "type it here";
}

/** @type {(field: Field) => boolean} */
export const isLength = ({ kind }) => kind === "length" || kind === "across";

/** @type {(path: string, text: string, allowed: readonly string[]) => string} */
function readChoice(path, text, allowed) {
  if (!allowed.includes(text)) throw new TypedError(path, `choose one of ${allowed.join(", ")}`);
  return text;
}

/** @type {(field: Field, text: string) => number} */
function readCount(field, text) {
  const count = /^[0-9]{1,2}$/.test(text) ? Number(text) : Infinity;
  if (count > MOST_PEOPLE) throw new TypedError(field.name, `type a whole number from ${LEAST_PEOPLE} to ${MOST_PEOPLE}`);
  if (count >= LEAST_PEOPLE) return count;
  throw new TypedError(field.name, `nobody lifts a panel alone: type ${LEAST_PEOPLE} or more`);
}

/** The seats that were ticked, or everywhere alone; null when nothing was. @type {(field: Field, raw: Raw) => string[] | null} */
function readNear({ name }, raw) {
  const ticked = Object.entries(raw).filter(([of]) => of.startsWith(`${name}[`)).map(([, text]) => text.trim());
  const named = [...new Set(ticked)].filter((text) => text);
  if (named.includes("everywhere")) return ["everywhere"];
  return named.length ? named : null;
}

/** @type {(field: Field, text: string) => string} */
function readText(field, text) {
  const read = text.split(/\s+/).join(" ");
  // control, format and private characters are what the server calls not printable
  if ([...read].length <= TEXT_LIMIT && !/[\p{C}\p{Zl}\p{Zp}]/u.test(read)) return read;
  throw new TypedError(field.name, `type at most ${TEXT_LIMIT} plain characters`);
}

/** A text with a word in it that may be a name. @type {(field: Field, text: string) => string} */
function readName(field, text) {
  const read = readText(field, text);
  const words = read.toLowerCase().match(/\p{L}+/gu) ?? [];
  const mayBe = (/** @type {string} */ word) => [...word].length > 1 || word === word.toUpperCase();
  if (words.some((word) => mayBe(word) && !NAMELESS.has(word))) return read;
  throw new TypedError(field.name, NAME_REMEDY);
}

/** @type {(path: string, text: string, unit: string) => { mm: number, typed: string }} */
export function readLength(path, text, unit) {
  try {
    return { ...recorded(parseLength(text, unit)), typed: text };
  } catch (error) {
    if (error instanceof LengthError) throw new TypedError(path, error.remedy);
    throw error;
  }
}

/** @type {(field: Pick<Field, "name" | "kind">, text: string, side: string, unit: string) => Values} */
function readSided(field, text, side, unit) {
  const value = readLength(field.name, text, unit);
  if (value.mm < 0) {
    throw new TypedError(field.name, field.kind === "across"
      ? "type it without a sign and choose left or right" : "type it without a minus sign");
  }
  if (field.kind !== "across") return value;
  const chosen = value.mm ? readChoice(`${field.name}.side`, side, ["left", "right"]) : "right";
  return { ...value, mm: chosen === "left" ? -value.mm : value.mm, side: chosen };
}

/** @type {(field: Field, raw: Raw, unit: string) => Values[]} */
function readStuds(field, raw, unit) {
  /** @type {Values[]} */
  const studs = [];
  for (let i = 0; i < MOST_STUDS; i += 1) {
    const path = `${field.name}[${i}]`;
    const text = (raw[`${path}.x`] ?? "").trim();
    if (!text) continue;
    const x = readSided({ name: `${path}.x`, kind: "across" }, text, raw[`${path}.x.side`] ?? "", unit);
    const named = raw[`${path}.material`] || "unknown";
    const material = readChoice(`${path}.material`, named, ["wood", "steel", "unknown"]);
    const width = (raw[`${path}.width`] ?? "").trim();
    if (studs.some((other) => Math.abs(other.x.mm - x.mm) < 1)) {
      throw new TypedError(`${path}.x`, "this stud is listed twice; clear one of them");
    }
    studs.push({ x, material, ...(width ? { width: readLength(`${path}.width`, width, unit) } : {}) });
  }
  return studs;
}

/**
 * The first reading that is far from the plan, or off by a tape started at 1; null when none is.
 * @type {(fields: readonly Field[], values: Values, plannedMm: Readonly<Record<string, number>>,
 *   unit: string) => string | null}
 */
export function doubt(fields, values, plannedMm, unit) {
  for (const { name, kind, far_mm: farMm } of fields) {
    const wanted = plannedMm[name];
    if (!values[name]?.typed || wanted === undefined || farMm === null) continue;
    const { mm, typed } = values[name];
    const plan = formatLength(Math.abs(wanted), unit);
    const slip = tapeSlip(mm, wanted);
    if (slip) {
      return `${typed} is off the plan (${plan}) by ${slip}: was the tape started from the 1? `
        + "If it is right, save it once more.";
    }
    const off = Math.abs(mm - wanted);
    if (kind === "across" && Math.abs(mm + wanted) < farMm && farMm < off) {
      return `${typed} is on the other side of the reference line than planned (${plan} `
        + `${wanted < 0 ? "left" : "right"}). If it is right, save it once more.`;
    }
    if (off > farMm) {
      return `${typed} is ${formatLength(off, unit)} off the plan (${plan}). `
        + "If it is right, save it once more.";
    }
  }
  return outOfSquare(values, unit);
}

/** Two diagonals of a true panel are alike. @type {(values: Values, unit: string) => string | null} */
function outOfSquare({ one, two }, unit) {
  const off = Math.abs((two?.mm ?? 0) - (one?.mm ?? 0));
  if (!one?.typed || !two?.typed || off <= SQUARE_MM) return null;
  return `${two.typed} differs from the other diagonal by ${formatLength(off, unit)}: the panel is out of square, or one `
    + "was misread. If both are right, save once more; its level is read on the edge you name.";
}
