/** What the fields of one task must be to each other and to what was read before. */

import { formatLength } from "../core/lengths.js";
import { TypedError } from "./reading.js";

/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("../core/problem.js").State} State */

/** Left + spacing + right must equal the width within this. */
const SUM_MM = 2;

/** Two on two ladders, a third one steadying. */
const LADDERS_PEOPLE = 3;
/** Most a ring takes in shims. */
const SHIM_MOST_MM = 4;

/** Means of a trim that concern the panel, not one of its seats. */
const WHOLE_PANEL = ["slide", "bumper"];
/** Which way each moves the panel, the usual one first. @type {Record<string, string[]>} */
const WAYS = {
  shim: ["up", "down"], screw: ["up", "down"], hanger: ["up", "down"],
  slide: ["right", "left"], bumper: ["out", "in"],
};

/**
 * Throws TypedError as the server would refuse.
 * @param {string} kind
 * @param {string} subject
 * @param {Values} values
 * @param {{ plannedMm: Readonly<Record<string, number>>, unit: string, seats: readonly string[],
 *   math: State, outcome: string }} known seats: of the task's panel
 */
export function checkValues(kind, subject, values, { plannedMm, unit, seats, math, outcome }) {
  switch (kind) {
    case "before.people": return checkPeople(values);
    case "before.services": return checkNear(values);
    case "secure.try": return checkTried(values, outcome);
    case "level.check": return checkLevel(values);
    case "fasteners.cross": case "fasteners.recross": return checkCross(values);
    case "work.spacing": return checkSum(values, plannedMm.spacing, unit);
    case "work.rail": return checkRail(values, unit);
    case "level.line": return checkLine(math, subject, values.height, unit);
    case "panels.trim": return checkTrim(values, seats);
    case "panels.shim": return checkShims(values.thick, unit);
    default:
      for (const [choice, rest] of [["low", "level"], ["higher", "level"], ["ahead", "as_planned"]]) {
        if (choice in values) checkBy(values, choice, rest);
      }
  }
}

/** @type {(values: Values) => void} */
function checkPeople({ people, platform }) {
  if (platform !== "two_ladders" || people >= LADDERS_PEOPLE) return;
  throw new TypedError("people", `two ladders need a third person steadying: type ${LADDERS_PEOPLE} or more, or choose `
    + "what else they stand on");
}

/** What did not hold says where it gave way; what holds gives way nowhere. @type {(values: Values, outcome: string) => void} */
function checkTried({ found }, outcome) {
  if (outcome === "failed" && !found) throw new TypedError("found", "type what moved, or came off");
  if (outcome !== "failed" && found) throw new TypedError("found", "clear it if the panel holds, else tap It does not hold");
}

/** What was found has a place, or is everywhere; a place has something that was found. @type {(values: Values) => void} */
function checkNear({ found, near }) {
  if (found && !near) throw new TypedError("near", "choose the seats it is near, or everywhere");
  if (near && !found) throw new TypedError("found", "type what was found there, or clear the seats");
}

/** @type {(values: Values) => void} */
function checkLevel(values) {
  if (values.over.mm <= 0) throw new TypedError("over", "type the length between the two ends");
  if (values.higher === "same" && values.miss.mm > 0) {
    throw new TypedError("higher", "choose which it was, or type 0 for no difference");
  }
}

/** Seat to seat by tape, by level, or both; an amount has a side. @type {(values: Values) => void} */
function checkCross(values) {
  if (values.higher !== "unread") checkBy(values, "higher", "level");
  else if (values.by?.mm > 0) throw new TypedError("higher", "choose the side this belongs to");
  else if (!values.distance) throw new TypedError("distance", "type what was read: by tape, by level or both");
}

/** @type {(values: Values, unit: string) => void} */
function checkRail({ left, right }, unit) {
  const off = Math.abs(right.mm - left.mm);
  if (off <= SUM_MM) return;
  throw new TypedError("right", `the rail's ends differ by ${formatLength(off, unit)} against the top edge: `
    + "read both again, or mend the rail");
}

/** @type {(values: Values, plannedMm: number | undefined, unit: string) => void} */
function checkSum(values, plannedMm, unit) {
  if (plannedMm === undefined) return;
  const off = Math.abs(values.spacing.mm - plannedMm);
  if (off <= SUM_MM) return;
  throw new TypedError(
    "spacing",
    `left + spacing + right misses the width by ${formatLength(off, unit)}; with the readings from `
      + `the edges it should be ${formatLength(plannedMm, unit)}: measure all three again`,
  );
}

/** A side and an amount, or neither. @type {(values: Values, choice: string, rest: string) => void} */
function checkBy(values, choice, rest) {
  const said = rest === "as_planned" ? "as planned" : "level";
  const { by } = values;
  if (values[choice] !== rest && !by) {
    throw new TypedError("by", `type by how much, or choose ${said}`);
  }
  if (values[choice] === rest && by?.mm > 0) {
    throw new TypedError(choice, `choose the side this belongs to, or clear it and keep ${said}`);
  }
}

/** One touch by hand: where, which way it can go, and by how much. @type {(values: Values, seats: readonly string[]) => void} */
function checkTrim(values, seats) {
  const { means, seat, way } = values;
  if (means === "none") return;
  if (!WHOLE_PANEL.includes(means) && !seats.includes(seat)) throw new TypedError("seat", `choose one of ${seats.join(", ")}`);
  const ways = WAYS[means];
  if (!ways.includes(way || ways[0]) || (means === "slide" && !way)) throw new TypedError("way", `choose ${ways.join(" or ")}`);
  // a panel at the end of its play does not go at all
  if (!(values.by?.mm > 0 || (means === "slide" && values.by?.mm === 0))) throw new TypedError("by", "type by how much it was moved");
}

/** @type {(thick: { mm: number }, unit: string) => void} */
function checkShims(thick, unit) {
  if (thick.mm <= SHIM_MOST_MM + 1e-9) return;
  throw new TypedError("thick", `is more than a ring takes: at most ${formatLength(SHIM_MOST_MM, unit)}`);
}

/** @type {(math: State, name: string, height: { mm: number }, unit: string) => void} */
function checkLine(math, name, height, unit) {
  const served = math.lines.find((line) => line.name === name)?.seats ?? [];
  const lowest = served.map((seat) => ({ seat, y: math.now[seat].place[1] })).sort((a, b) => a.y - b.y)[0];
  if (!lowest || height.mm < lowest.y) return;
  throw new TypedError(
    "height",
    `must lie below the seats it serves; ${lowest.seat} is at ${formatLength(lowest.y, unit)}`,
  );
}
