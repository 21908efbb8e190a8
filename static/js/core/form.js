/** The quadratic form of a job as the page carries it, and where each seat is in it. */

/** @typedef {[number, number]} Point */
/**
 * One residual: its coefficients as [index into d, mm/mm].
 * @typedef {{ kind: string, label: string, toleranceMm: number, entries: [number, number][] }} Row
 */
/**
 * @typedef {object} Form
 * @property {string[]} seats
 * @property {Map<string, number>} index seat to its place in ``seats``
 * @property {number[]} seatPanel
 * @property {Float64Array} plannedMm x of all seats, then y of all seats
 * @property {Row[]} rows
 */
/**
 * @typedef {object} FormDocument the part of the page's problem that is the form
 * @property {string[]} seats
 * @property {number[]} seat_panel
 * @property {Point[]} planned_mm
 * @property {[string, string, number, [number, number][]][]} rows
 */

/** @type {(problem: FormDocument) => Form} */
export function readForm(problem) {
  const places = problem.planned_mm;
  return {
    seats: problem.seats,
    index: new Map(problem.seats.map((name, i) => [name, i])),
    seatPanel: problem.seat_panel,
    plannedMm: Float64Array.from([...places.map(([x]) => x), ...places.map(([, y]) => y)]),
    rows: problem.rows.map(([kind, label, toleranceMm, entries]) => ({
      kind, label, toleranceMm, entries,
    })),
  };
}

/** A seat's index; an unknown seat is an error. @type {(form: Form, seat: string) => number} */
export function seatIndex(form, seat) {
  const at = form.index.get(seat);
  if (at === undefined) throw new RangeError(`this job has no seat ${seat}`);
  return at;
}

/** A seat's planned place. @type {(form: Form, seat: string) => Point} */
export function plannedPlace(form, seat) {
  const at = seatIndex(form, seat);
  return [form.plannedMm[at], form.plannedMm[form.seats.length + at]];
}

/**
 * Set places as fixed deviations: index into d to mm.
 * @type {(form: Form, places: Readonly<Record<string, Point>>) => Map<number, number>}
 */
export function fixedFrom(form, places) {
  const fixed = new Map();
  for (const [name, [x, y]] of Object.entries(places)) {
    const at = seatIndex(form, name);
    const [plannedX, plannedY] = plannedPlace(form, name);
    fixed.set(at, x - plannedX);
    fixed.set(form.seats.length + at, y - plannedY);
  }
  return fixed;
}
