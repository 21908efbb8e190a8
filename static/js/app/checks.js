/** What the fields of one task must be to each other and to what was read before. */

import { formatLength } from "../core/lengths.js";
import { TypedError } from "./reading.js";

/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("../core/problem.js").State} State */

/** Left + spacing + right must equal the width within this. */
const SUM_MM = 2;

/**
 * Throws TypedError as the server would refuse.
 * @param {string} kind
 * @param {string} subject
 * @param {Values} values
 * @param {{ plannedMm: Readonly<Record<string, number>>, unit: string, seats: readonly string[],
 *   math: State }} known seats: of the task's panel
 */
export function checkValues(kind, subject, values, { plannedMm, unit, seats, math }) {
  if (kind === "work.spacing") checkSum(values, plannedMm.spacing, unit);
  if (kind === "level.check") {
    if (values.over.mm <= 0) throw new TypedError("over", "type the length between the two ends");
    return;
  }
  for (const [choice, rest] of [["low", "level"], ["higher", "level"], ["ahead", "as_planned"]]) {
    if (choice in values) checkBy(values, choice, rest);
  }
  if (kind === "panels.trim") checkTrim(values, seats);
  if (kind === "level.line") checkLine(math, subject, values.height, unit);
}

/** @type {(values: Values, plannedMm: number | undefined, unit: string) => void} */
function checkSum(values, plannedMm, unit) {
  if (plannedMm === undefined) return;
  const off = Math.abs(values.spacing.mm - plannedMm);
  if (off <= SUM_MM) return;
  throw new TypedError(
    "spacing",
    `left + spacing + right misses the width by ${off.toFixed(1)} mm; with the readings from the `
      + `edges it should be ${formatLength(plannedMm, unit)}: measure all three again (at most 2 mm is allowed)`,
  );
}

/** A side and an amount, or neither. @type {(values: Values, choice: string, rest: string) => void} */
function checkBy(values, choice, rest) {
  const said = rest === "as_planned" ? "as planned" : "level";
  const { by } = values;
  if (values[choice] !== rest && values[choice] !== "unread" && !by) {
    throw new TypedError("by", `type by how much, or choose ${said}`);
  }
  if (values[choice] === rest && by?.mm > 0) {
    throw new TypedError(choice, `choose the side this belongs to, or clear it and keep ${said}`);
  }
}

/** Which way each means moves a panel; a slide and a bumper concern no one seat. @type {Record<string, string[]>} */
const WAYS = { slide: ["right", "left"], bumper: ["out", "in"] };

/** @type {(values: Values, seats: readonly string[]) => void} */
function checkTrim(values, seats) {
  const { means, seat, way, by } = values;
  if (means === "none") return;
  if (!(means in WAYS) && !seats.includes(seat)) throw new TypedError("seat", `choose one of ${seats.join(", ")}`);
  const ways = WAYS[means] ?? ["up", "down"];
  if ((way || means === "slide") && !ways.includes(way)) throw new TypedError("way", `choose ${ways.join(" or ")}`);
  if (!(by?.mm > 0)) throw new TypedError("by", "type by how much it was moved");
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
