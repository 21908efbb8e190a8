/** Where on the wall the whole work is: live words of the level lines and of what is taped up to look at. */

import { roundHalfEven } from "../core/marks.js";
import { panelOfSeat } from "../core/problem.js";
import { boxMm } from "../core/reference.js";
import { across, fmt } from "./words.js";

/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("../core/problem.js").Problem} Problem */
/** @typedef {import("./live.js").Live} Live */
/** A panel as it hangs on its planned seats: its middle, and its turn on a slope. @typedef {{ name: string, x: number, y: number, tilt: number, width: number, height: number }} Stand */

/** Corners of tape are given no finer. */
const CORNER_MM = 1;
/** Panels moved by more are not what was said yes to. */
const STANDS_MM = 1;
const CORNERS = /** @type {const} */ ([["top left", -1, 1], ["top right", 1, 1], ["bottom left", -1, -1], ["bottom right", 1, -1]]);

/** @type {(problem: Problem) => Stand[]} */
function stands({ frame, seats, seat_panel: panels }) {
  const slope = frame.slope_mm_per_m / 1000;
  return frame.panels.map(({ centre_mm: [x, y], hangers_mm: hangers, width_mm: width, height_mm: height }, k) => {
    const isLone = hangers.length === 1;
    const tilt = isLone ? 0 : slope;
    const meanV = hangers.reduce((sum, [, v]) => sum + v, 0) / hangers.length;
    const name = panelOfSeat(seats[panels.indexOf(k)]);
    return { name, x: x + tilt * meanV, y: y + slope * (isLone ? x + hangers[0][0] : x), tilt, width, height };
  });
}

/** No panel is planned elsewhere by more than what was said yes to allows. @type {(was: Problem, now: Problem) => boolean} */
export function isSameStand(was, now) {
  const after = stands(now);
  return stands(was).every(({ x, y }, k) => Math.abs(x - after[k].x) <= STANDS_MM && Math.abs(y - after[k].y) <= STANDS_MM);
}

/** What the yes at the stand-back is said to, as the server writes it. @type {(problem: Problem) => string} */
export const placesText = (problem) => stands(problem).map(({ name, x, y, tilt, width, height }) =>
  [name, ...[x, y, width, height, ...(tilt ? [width * tilt] : [])].map((mm) => mm.toFixed(2))].join(" ")).join(" ");

/** @type {(math: State, what: string, subject: string, unit: string) => Live | null} */
export function placeValue(math, what, subject, unit) {
  const line = math.lines.find(({ name }) => name === subject);
  switch (what) {
    case "wall-line": return line ? { mm: line.planned_mm } : null;
    case "wall-reach": return line ? { words: reach(math, line.seats, unit) } : null;
    case "wall-span": return { words: span(math.problem, unit) };
    case "wall-corners": {
      const stand = stands(math.problem).find(({ name }) => name === subject);
      return stand ? { words: corners(stand, math.problem.graduation_mm, unit) } : null;
    }
    default: return null;
  }
}

/** How far a tape on a level line must go. @type {(math: State, seats: readonly string[], unit: string) => string} */
function reach({ now }, seats, unit) {
  const xs = seats.map((seat) => now[seat].place[0]);
  return `${across(Math.min(...xs), unit)} to ${across(Math.max(...xs), unit)}`;
}

/** From the lower to the upper end of the work. @type {(problem: Problem, unit: string) => string} */
function span({ frame: { panels } }, unit) {
  const { bottom, top } = boxMm(panels, panels.map(({ centre_mm: centre }) => centre));
  return `${fmt(bottom, unit)} to ${fmt(top, unit)}`;
}

/** An upright panel by its sides; one that follows a sloping room corner by corner. @type {(stand: Stand, graduationMm: number, unit: string) => string} */
function corners({ x, y, tilt, width, height }, graduationMm, unit) {
  const grain = Math.max(graduationMm, CORNER_MM);
  /** @type {(mm: number) => number} */
  const rounded = (mm) => grain * roundHalfEven(mm / grain);
  const all = CORNERS.map(([name, right, up]) => {
    const [u, v] = [right * (width / 2), up * (height / 2)];
    return { name, across: across(rounded(x + u - tilt * v), unit), up: fmt(rounded(y + v + tilt * u), unit) };
  });
  const [topLeft, topRight, bottomLeft] = all;
  if (topLeft.up === topRight.up && topLeft.across === bottomLeft.across) {
    return `${topLeft.across} to ${topRight.across}; ${bottomLeft.up} to ${topLeft.up} up`;
  }
  return all.map((one) => `${one.name} ${one.across}, ${one.up} up`).join("; ");
}
