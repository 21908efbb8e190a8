/**
 * Planning again after the survey: a hanger, the studs or the venue's mark are not where the plan had
 * them. The rules are the server's: seats, form, order of driving and level lines are made anew, then the marks.
 */

import { readForm } from "./form.js";
import { panelNames } from "./hung.js";
import { roundHalfEven } from "./marks.js";
import { remarked, seatsNow } from "./planning.js";
import { rowsOf } from "./quality.js";
import { placedBy, stored } from "./reference.js";

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Problem} Problem */
/** @typedef {import("./problem.js").Line} Line */
/** A hanger as read on the side its panel is measured on. @typedef {{ edge: string, in_mm: number, down_mm: number }} HangerRead */

const BELOW_MM = 100;
const NEAREST_MM = 50;
const REACH_MM = 250;

/** Panel and hanger of a seat, by their index. @type {(problem: Problem, seat: string) => [number, number]} */
function hangerIndex({ seats, seat_panel: panels }, seat) {
  const at = seats.indexOf(seat);
  return [panels[at], at - panels.indexOf(panels[at])];
}

/** Two hangers of a panel, left to right. @type {(problem: Problem, pair: readonly string[]) => number} */
export function hangersApart(problem, pair) {
  const [from, to] = pair.map((seat) => {
    const [panel, index] = hangerIndex(problem, seat);
    return problem.frame.panels[panel].hangers_mm[index][0];
  });
  return to - from;
}

/** From a panel's centre, right and up, as seen from the front. @type {(problem: Problem, seat: string, read: HangerRead) => Point} */
function hangerMm(problem, seat, { edge, in_mm: inMm, down_mm: downMm }) {
  const { width_mm: width, height_mm: height, measured_on: face } = problem.frame.panels[hangerIndex(problem, seat)[0]];
  const fromLeft = edge === "left" ? inMm : width - inMm;
  return [(face === "back" ? width - fromLeft : fromLeft) - width / 2, height / 2 - downMm];
}

/** @type {(state: State, seat: string, read: HangerRead) => State} */
export const withHanger = (state, seat, read) => plannedAgain(state, hangerPut(state.problem, seat, read));

/** A wire's hooks or a rail bear so far below the top edge. @type {(state: State, name: string, downMm: number) => State} */
export function withCarried(state, name, downMm) {
  const panel = panelNames(state.problem).indexOf(name);
  const up = state.problem.frame.panels[panel].height_mm / 2 - downMm;
  return plannedAgain(state, hangersPut(state.problem, panel, ([u]) => [u, up]));
}

/** @type {(problem: Problem, seat: string, read: HangerRead) => Problem} */
function hangerPut(problem, seat, read) {
  const hanger = hangerMm(problem, seat, read);
  const [panel, index] = hangerIndex(problem, seat);
  return hangersPut(problem, panel, (was, i) => (i === index ? hanger : was));
}

/** @type {(problem: Problem, panel: number, put: (was: Point, i: number) => Point) => Problem} */
function hangersPut(problem, panel, put) {
  const panels = problem.frame.panels.map((one, k) => (k === panel ? { ...one, hangers_mm: one.hangers_mm.map(put) } : one));
  const frame = { ...problem.frame, panels };
  const placed = { ...problem, frame, planned_mm: plannedMm({ ...problem, frame }) };
  return { ...placed, rows: rowsOf(placed) };
}

/** With a hanger moved on its panel, right and up; null where it would lie beyond its edge, or there is none to move. @type {(problem: Problem, seat: string, move: Point) => Problem | null} */
export function hangerMoved(problem, seat, [right, up]) {
  const [panel, index] = hangerIndex(problem, seat);
  const { width_mm: width, height_mm: height, measured_on: face, is_by_hangers: isBy, hangers_mm: hangers } = problem.frame.panels[panel];
  const [u, v] = hangers[index];
  if (!isBy || Math.abs(v + up) > height / 2) return null;
  const fromLeft = width / 2 + u + right;
  const inMm = stored(face === "back" ? width - fromLeft : fromLeft);
  return hangerPut(problem, seat, { edge: "left", in_mm: inMm, down_mm: stored(height / 2 - v - up) });
}

/** The whole work stands elsewhere. @type {(state: State, read: import("./reference.js").ReferenceRead) => State} */
export function withReference(state, read) {
  const frame = placedBy(state.problem.frame, read);
  const problem = { ...state.problem, frame };
  return plannedAgain(state, { ...problem, planned_mm: plannedMm(problem) });
}

/** What was found of the wall. @type {(state: State, found: Partial<Problem["wall"]>) => State} */
export const withWall = (state, found) => plannedAgain(state, { ...state.problem, wall: { ...state.problem.wall, ...found } });

/** @type {(state: State, read: Problem["wall"]["ends_mm"]) => State} */
export function withEnds(state, [left, right]) {
  const [knownLeft, knownRight] = state.problem.wall.ends_mm;
  return withWall(state, { ends_mm: [left ?? knownLeft, right ?? knownRight] });
}

/** How far a slope moves every seat, right and up: it turns a panel about the middle of its hangers. @type {(frame: Problem["frame"]) => Point[]} */
export function seatShifts({ panels, slope_mm_per_m: perM }) {
  const slope = perM / 1000;
  return panels.flatMap(({ centre_mm: [x], hangers_mm: hangers }) => {
    const meanV = hangers.reduce((sum, [, v]) => sum + v, 0) / hangers.length;
    return hangers.map(([u, v]) => /** @type {Point} */ ([-slope * (v - meanV), slope * (x + u)]));
  });
}

/** Every seat's planned place, lower by what shims are planned in its ring. @type {(problem: Problem) => Point[]} */
function plannedMm({ frame }) {
  const shifts = seatShifts(frame);
  const level = frame.panels.flatMap(({ centre_mm: [x, y], hangers_mm: hangers, shims_mm: lower }) =>
    hangers.map(([u, v]) => [x + u, y + v, lower]));
  return level.map(([x, y, lower], i) => [x + shifts[i][0], y + shifts[i][1] - lower]);
}

/** The marks given before stay, if they can, once there is a hole. @type {(state: State, problem: Problem) => State} */
export function plannedAgain(state, problem) {
  const hasHoles = Object.keys({ ...state.holes, ...state.pilots }).length > 0;
  const places = Object.fromEntries(problem.seats.map((seat, i) => [seat, problem.planned_mm[i]]));
  const bare = {
    ...state, problem, form: readForm(problem), lines: linesOf(problem, state.lines),
    marksMm: hasHoles ? state.marksMm : {}, aimsMm: {},
  };
  const now = seatsNow({ ...bare, found: {}, chosen: {} }, places);
  return remarked({ ...bare, now, problem: { ...problem, order: orderOf(problem, now) } });
}

/** Panels as they were; within one the less certain fastener first, then the one nearer the reference line. @type {(problem: Problem, now: State["now"]) => string[]} */
function orderOf({ frame, order, seats, seat_panel: panels, uncertainty_mm: known }, now) {
  if (frame.is_by_hand) return order;
  /** @type {(seat: string) => [number, number, number]} */
  const key = (seat) => {
    const [x] = now[seat].place;
    return [-(now[seat].fastener?.placing_u_mm || known.placing), roundHalfEven(Math.abs(x) * 1000), x];
  };
  const turns = [...new Set(order.map((seat) => panels[seats.indexOf(seat)]))];
  return turns.flatMap((panel) => seats.filter((_, i) => panels[i] === panel).sort((a, b) => {
    const [one, other] = [key(a), key(b)];
    const at = one.findIndex((value, i) => value !== other[i]);
    return at < 0 ? 0 : one[at] - other[at];
  }));
}

/** The level lines for these seats, lowest first; one that was read stays where it was read. @type {(problem: Problem, before: readonly Line[]) => Line[]} */
function linesOf({ seats, planned_mm: planned, frame: { handy_mm: handy } }, before) {
  let left = seats.map((seat, i) => ({ seat, y: planned[i][1] })).sort((a, b) => a.y - b.y);
  /** @type {Line[]} */
  const lines = [];
  while (left.length) {
    const lowest = left[0].y;
    const onGrid = Math.floor((lowest - BELOW_MM) / handy) * handy;
    const y = Math.min(lowest - onGrid > REACH_MM ? lowest - BELOW_MM : onGrid, lowest - NEAREST_MM);
    const served = left.filter((one) => one.y <= y + REACH_MM);
    const name = String(lines.length + 1);
    const was = before.find((line) => line.name === name);
    const yMm = was?.is_read ? was.y_mm : y;
    lines.push({ name, y_mm: yMm, planned_mm: y, is_read: Boolean(was?.is_read), seats: served.map(({ seat }) => seat) });
    left = left.slice(served.length);
  }
  return lines;
}
