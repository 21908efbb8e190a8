/**
 * What an event at the wall does, as the server does it, without the network.
 *
 * To undo an event, play the others again from the problem.
 */

import { anchored, marked, piloted } from "./driving.js";
import { givenUp, knownBehind } from "./holes.js";
import { hungRead, shimmed, trimmed } from "./hung_events.js";
import { errorHeld, withLevel } from "./levels.js";
import { lineOf, plannedReading } from "./lines.js";
import { remarked, toDoAgain, withBacking } from "./planning.js";
import { opened, without } from "./problem.js";
import { seatIndex } from "./solver.js";
import { withCarried, withEnds, withHanger, withReference, withWall } from "./survey.js";
import { foundBehind } from "./wall.js";

export { lineOf, plannedReading };

/** @typedef {import("./problem.js").State} State */
/** @typedef {import("./problem.js").Point} Point */
/** @typedef {import("./problem.js").Problem} Problem */
/** @typedef {import("./lines.js").Reading} Reading */
/**
 * ``marked``: its mark is on the wall. ``piloted``: what the thinnest bit met (nothing, wood,
 * steel, masonry, unclear). ``anchored``: the hole is open. ``measured``: the seat is set; without a
 * reading, as planned.
 * ``blocked``: something else is behind it (stud, steel, hollow, backed, solid; same: only another
 * fastener). ``freed``: its hole is given up (hole_mm: where it was found), or, if it keeps it, the
 * seat is read again. ``stick``: a story stick carries the others of
 * its panel. ``again``: a set seat read once more. ``crossed``: two set seats against each other.
 * ``line``: a level line's height as read. ``level``: the level's own error, right end too high.
 * ``hanger``: where it is on its panel; ``carried``: how far down a panel's wire or rail bears.
 * ``studs``: all there are; ``lining``: what is between them; ``ends``: of the wall, null: as known.
 * ``reference``: what the venue's mark means, and the height it gives.
 * ``lifted``, ``engaged``: a panel hangs. ``levelled``, ``edged``, ``faced``: it was read, by itself or against another; null:
 * as planned, which says nothing. ``trimmed``: touched. ``shimmed``: what was laid in a ring.
 * @typedef {{ type: "freed", seat: string, keeps?: boolean, hole_mm?: Point | null }} Freed
 * @typedef {{ type: "marked" | "anchored" | "stick", seat: string } | Freed
 *   | { type: "piloted", seat: string, met: string }
 *   | { type: "measured", seat: string, reading: Reading | null }
 *   | { type: "blocked", seat: string, found: string, material?: string | null,
 *       fastener?: string | null }
 *   | { type: "again", seat: string, reading: Reading }
 *   | { type: "crossed" } & Omit<import("./problem.js").Crossed, "error_mm_per_m">
 *   | { type: "hanger", seat: string, read: import("./survey.js").HangerRead }
 *   | { type: "reference", read: import("./reference.js").ReferenceRead }
 *   | { type: "studs", studs: import("./problem.js").Wall["studs"] }
 *   | { type: "lining", behind: string }
 *   | { type: "ends", ends_mm: import("./problem.js").Wall["ends_mm"] }
 *   | { type: "carried", panel: string, down_mm: number }
 *   | { type: "shimmed", seat: string, thick_mm: number }
 *   | { type: "lifted" | "engaged", panel: string }
 *   | import("./hung_events.js").HungRead
 *   | { type: "trimmed", panel: string, touches: import("./hung_events.js").Touch[] }
 *   | { type: "line", line: string, height_mm: number }
 *   | { type: "level", error_mm_per_m: number, is_laser: boolean }} Event
 */

/**
 * The state after a list of events.
 * @type {(problem: Problem, events: readonly Event[]) => State}
 */
export const played = (problem, events) => events.reduce(evolve, opened(problem));

/**
 * The state after one more event; a seat the job does not have is an error.
 * @type {(state: State, event: Event) => State}
 */
export function evolve(state, event) {
  switch (event.type) {
    case "line": return { ...state, lines: linesWith(state, event.line, event.height_mm) };
    case "level": return remarked(withLevel(state, event));
    case "crossed": return crossed(state, event);
    case "reference": return withReference(state, event.read);
    case "studs": return withWall(state, { studs: event.studs });
    case "lining": return withWall(state, { behind: event.behind });
    case "ends": return withEnds(state, event.ends_mm);
    case "carried": return withCarried(state, event.panel, event.down_mm);
    case "lifted": return { ...state, lifted: [...state.lifted, event.panel] };
    case "engaged": return remarked({ ...state, engaged: [...state.engaged, event.panel] });
    case "levelled": case "edged": case "faced": return hungRead(state, event);
    case "trimmed": return trimmed(state, event.panel, event.touches);
    default: return seatEvent(state, event);
  }
}

/** @type {(state: State, event: Extract<Event, { seat: string }>) => State} */
function seatEvent(state, event) {
  const { seat } = event;
  seatIndex(state.form, seat);
  switch (event.type) {
    case "marked": return marked(state, seat);
    case "piloted": return piloted(state, seat, event.met);
    case "anchored": return anchored(state, seat);
    case "measured": return measured(state, seat, event.reading);
    case "blocked": return blocked(state, event);
    case "stick": return stick(state, seat);
    case "again": return remarked({
      ...state, again: { ...state.again, [seat]: [event.reading.x_mm, event.reading.above_mm] },
    });
    case "freed": return freed(state, event);
    case "hanger": return withHanger(state, seat, event.read);
    case "shimmed": return shimmed(state, seat, event.thick_mm);
  }
}

/** @type {(state: State, name: string, heightMm: number) => import("./problem.js").Line[]} */
function linesWith(state, name, heightMm) {
  return state.lines.map((line) => (line.name === name ? { ...line, y_mm: heightMm, is_read: true } : line));
}

/** @type {(state: State, event: Extract<Event, { type: "crossed" }>) => State} */
function crossed(state, { type: _, ...reading }) {
  const one = { ...reading, error_mm_per_m: errorHeld(state, reading.is_turned) };
  const others = state.crossed.filter(({ a, b, is_again: isAgain }) =>
    a !== reading.a || b !== reading.b || isAgain !== reading.is_again);
  return remarked({ ...state, crossed: [...others, one] });
}

/** Its hole is given up, or it keeps it and is read again. @type {(state: State, event: Freed) => State} */
function freed(state, { seat, keeps, hole_mm: holeMm }) {
  const set = without(state.set, seat);
  if (keeps) {
    const crossed = state.crossed.filter(({ a, b }) => a !== seat && b !== seat);
    return remarked({ ...state, set, crossed, again: without(state.again, seat) });
  }
  return remarked({ ...toDoAgain(givenUp(state, seat, holeMm), seat), set });
}

/** @type {(state: State, seat: string) => State} */
function stick(state, seat) {
  const panel = state.problem.seat_panel[state.problem.seats.indexOf(seat)];
  const others = state.stickPanels.filter((other) => other !== panel);
  return remarked({ ...state, stickPanels: [...others, panel] });
}

/** @type {(state: State, seat: string, reading: Reading | null) => State} */
function measured(state, seat, reading) {
  const { x_mm: x, above_mm: above } = reading ?? plannedReading(state, seat);
  const given = state.set[seat]?.given_mm ?? state.marksMm[seat];
  const lineMm = lineOf(state, seat).y_mm;
  const set = {
    place_mm: /** @type {Point} */ ([x, lineMm + above]),
    given_mm: given,
    is_measured: reading !== null,
    line_mm: lineMm,
  };
  return remarked({
    ...state,
    set: { ...state.set, [seat]: set },
    marksMm: without(state.marksMm, seat),
  });
}

/** @type {(state: State, event: Extract<Event, { type: "blocked" }>) => State} */
function blocked(state, { seat, found, material, fastener }) {
  const isNew = found !== "same";
  const behind = isNew
    ? { ...state.found, [seat]: foundBehind(found, material, knownBehind(state, seat)) } : state.found;
  const chosen = isNew ? without(state.chosen, seat) : { ...state.chosen };
  if (fastener) chosen[seat] = fastener;
  return withBacking(state, seat, behind, chosen);
}
