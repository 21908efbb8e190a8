/**
 * The recompute problem the page carries, opened: what is planned, and where the job stands.
 *
 * A state is a value: an event makes another one (``planning.js``). What was recorded before the
 * page was opened is already in it.
 */

import { readForm } from "./form.js";

/** @typedef {import("./form.js").Form} Form */
/** @typedef {import("./form.js").Point} Point */
/** @typedef {Readonly<Record<string, Point>>} Places */
/** @typedef {{ into: string, material: string }} Behind what a fastener would meet at some x */
/** @typedef {{ name: string, into: string, drop_mm: number, placing_u_mm: number | null }} Fastener */
/**
 * A seat as things stand: set, or on the mark given now; the hole that belongs to it.
 * @typedef {{ place: Point, holeMm: Point, into: string, material: string,
 *   fastener: Fastener | null }} Now
 */
/** @typedef {{ seat_mm: Point, hole_y_mm: number, fastener: string | null }} Mark on the wall */
/**
 * Where a set seat was read to be (as planned: on its mark), and the mark given for it.
 * @typedef {{ place_mm: Point, given_mm: Point, is_measured: boolean, line_mm: number }} SetSeat
 */
/**
 * Two seats against each other: by tape, and b over a by level (its error as held); null: not read.
 * @typedef {{ a: string, b: string, distance_mm: number | null, rise_mm: number | null,
 *   is_turned: boolean, error_mm_per_m: number | null, is_again: boolean }} Crossed; is_again: once more
 */
/** @typedef {{ name: string, y_mm: number, planned_mm: number, is_read: boolean, seats: string[] }} Line */
/** A hole given up. @typedef {{ seat: string, at_mm: Point, is_full: boolean, is_usable: boolean }} Hole */
/**
 * @typedef {object} Wall
 * @property {string} behind
 * @property {number} clearance_mm
 * @property {number} stud_width_mm of a stud nobody measured
 * @property {{ x_mm: number, width_mm: number, material: string }[]} studs
 * @property {[number, number, number, number][]} closed areas where no hole goes: x0, y0, x1, y1
 * @property {[number | null, number | null]} ends_mm of the wall, left and right, where they are known
 * @property {number} end_zone_mm no hole goes so near to an end, nor beyond it
 */
/**
 * @typedef {object} Frame what the plan is made from (``survey.js``)
 * @property {{ width_mm: number, height_mm: number, centre_mm: Point, measured_on: string,
 *   is_by_hangers: boolean, hangers_mm: Point[], shims_mm: number }[]} panels
 * @property {{ offset_mm: number, centres_mm: Point[] } | null} layout panels against each other; null: free
 * @property {[number, number, string][]} neighbours
 * @property {number[][]} groups
 * @property {string[][]} chains panels whose outer edges make a line
 * @property {number} slope_mm_per_m
 * @property {number} handy_mm level lines are put on multiples of it
 * @property {boolean} is_by_hand the order of driving is the lead's
 */
/**
 * @typedef {object} Problem the JSON document of ``domain.problem``
 * @property {string} format
 * @property {number} version
 * @property {number} seq the entry of the log it stands after
 * @property {number} revision
 * @property {string} unit
 * @property {number} graduation_mm
 * @property {string[]} seats
 * @property {number[]} seat_panel
 * @property {Point[]} planned_mm
 * @property {[string, string, number, [number, number][]][]} rows
 * @property {Frame} frame
 * @property {string[]} order
 * @property {Wall} wall
 * @property {Fastener[]} fasteners
 * @property {Record<string, { place_mm: Point, hole_y_mm: number, into: string, material: string,
 *   fastener: string | null }>} now
 * @property {Record<string, Behind>} found
 * @property {Record<string, string>} chosen
 * @property {Record<string, Point>} marks_mm
 * @property {Record<string, SetSeat>} set
 * @property {Record<string, Mark>} marked
 * @property {Record<string, Point>} pilots
 * @property {Record<string, Point>} holes opened
 * @property {Hole[]} old_holes
 * @property {{ pilot: number, full: number }} apart_mm of a new hole from another
 * @property {Line[]} lines
 * @property {Record<string, Point>} estimate_mm
 * @property {Record<string, Point>} hung_mm set seats as readings on their hung panels put them
 * @property {string[]} lifted panels
 * @property {string[]} engaged panels that hang with all their hangers on
 * @property {{ step_mm: number, most_mm: number, taper_mm: number, line_mm: number } | null} shims where any are planned
 * @property {import("./hung.js").Happened[]} happened
 * @property {number} play_mm of a hanger sideways, each way
 * @property {Record<string, number>} raised_mm seats whose ring was shimmed: how much more than planned
 * @property {Record<string, Point>} aims_mm seats to be made again clear of their old holes
 * @property {number[]} stick_panels panels whose others a story stick carries from the first seat
 * @property {Record<string, Point>} again second readings of set seats: x, and above the level line
 * @property {Crossed[]} crossed
 * @property {number} level_error_mm_per_m
 * @property {boolean | null} level_is_laser null: none was checked yet
 * @property {Record<string, number>} width_mm of each panel
 * @property {Record<string, number>} rise_mm how much higher its right end is planned, on a slope
 * @property {{ tape: number, level: number, level_per_m: number, placing: number }} uncertainty_mm
 */
/**
 * @typedef {object} State
 * @property {Problem} problem
 * @property {Form} form
 * @property {Readonly<Record<string, Now>>} now
 * @property {Readonly<Record<string, Behind>>} found
 * @property {Readonly<Record<string, string>>} chosen
 * @property {Places} marksMm unset seats: where to aim now, on the graduation
 * @property {Readonly<Record<string, SetSeat>>} set
 * @property {Readonly<Record<string, Mark>>} marked
 * @property {Places} pilots
 * @property {Places} holes
 * @property {readonly Hole[]} oldHoles
 * @property {readonly Line[]} lines
 * @property {Places} estimateMm set seats, from all their readings
 * @property {Places} hungMm set seats as their hung panels bear on them, where that was read
 * @property {readonly string[]} lifted
 * @property {readonly string[]} engaged
 * @property {readonly import("./hung.js").Happened[]} happened
 * @property {Readonly<Record<string, number>>} raisedMm
 * @property {Places} aimsMm
 * @property {readonly number[]} stickPanels
 * @property {Places} again
 * @property {readonly Crossed[]} crossed
 * @property {number} levelErrorMmPerM of the level that was checked, its right end too high
 * @property {boolean | null} levelIsLaser
 */

export const VERSION = 7;

/** @type {(problem: Problem) => State} */
export function opened(problem) {
  if (problem.format !== "holdtrue.problem" || problem.version !== VERSION) {
    throw new RangeError("this page and its job are of different versions: load the page again");
  }
  const byName = new Map(problem.fasteners.map((fastener) => [fastener.name, fastener]));
  const now = Object.fromEntries(
    Object.entries(problem.now).map(([name, seat]) => [
      name,
      {
        place: seat.place_mm,
        holeMm: /** @type {Point} */ ([seat.place_mm[0], seat.hole_y_mm]),
        into: seat.into,
        material: seat.material,
        fastener: seat.fastener === null ? null : byName.get(seat.fastener) ?? null,
      },
    ]),
  );
  return {
    problem,
    form: readForm(problem),
    now,
    found: problem.found,
    chosen: problem.chosen,
    marksMm: problem.marks_mm,
    set: problem.set,
    marked: problem.marked,
    pilots: problem.pilots,
    holes: problem.holes,
    oldHoles: problem.old_holes,
    lines: problem.lines,
    estimateMm: problem.estimate_mm,
    hungMm: problem.hung_mm,
    lifted: problem.lifted,
    engaged: problem.engaged,
    happened: problem.happened,
    raisedMm: problem.raised_mm,
    aimsMm: problem.aims_mm,
    stickPanels: problem.stick_panels,
    again: problem.again,
    crossed: problem.crossed,
    levelErrorMmPerM: problem.level_error_mm_per_m,
    levelIsLaser: problem.level_is_laser,
  };
}

/**
 * @template A, B
 * @param {Readonly<Record<string, A>>} values
 * @param {(value: A) => B} change
 * @returns {Record<string, B>}
 */
export function mapped(values, change) {
  return Object.fromEntries(Object.entries(values).map(([name, value]) => [name, change(value)]));
}

/** @template A @param {Readonly<Record<string, A>>} values @param {(name: string) => boolean} keep @returns {Record<string, A>} */
export function picked(values, keep) {
  return Object.fromEntries(Object.entries(values).filter(([name]) => keep(name)));
}

/** @template A @param {Readonly<Record<string, A>>} values @param {string} left out @returns {Record<string, A>} */
export const without = (values, left) => picked(values, (name) => name !== left);

/** There is a hole, if only a pilot. @type {(state: State, seat: string) => boolean} */
export const isDrilled = (state, seat) => seat in state.holes || seat in state.pilots;

/** A seat's panel: its name ends in no digit. @type {(seat: string) => string} */
export const panelOfSeat = (seat) => seat.replace(/\d+$/, "");
