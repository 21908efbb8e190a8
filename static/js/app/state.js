/**
 * The job as this phone knows it: what the server last said, and on top of it what is still only
 * on this phone, entry by entry. Each step is kept, so that one more entry costs one step.
 */

import { evolve } from "../core/events.js";
import { opened } from "../core/problem.js";
import { changesPlan, eventOf, kindOf, subjectOf, valuesOf } from "./effects.js";
import { isReadingOf, pairIsTrue, plannedApart, verdicts, withReading } from "./hung.js";
import { pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./hung.js").Reading} Reading */
/** @typedef {import("../core/problem.js").State} State */
/**
 * One stop, called here or known to the server.
 * @typedef {{ seq: number, seat: string, what: string, at_mm: readonly [number, number] }} AnyStop
 */
/**
 * @typedef {object} Step the job after an entry
 * @property {State} math
 * @property {ReadonlySet<string>} done ids of tasks recorded, whatever they wait for now
 * @property {ReadonlyMap<string, Entry>} local task to the entry here that stands for it
 * @property {ReadonlyMap<string, string>} records task to what stands: its number, or its key while it is here; "" not known
 * @property {readonly Reading[]} readings on hung panels
 * @property {readonly AnyStop[]} stops open ones
 * @property {string} hold why numbers are not to be trusted until the server has answered
 * @property {boolean} isSurveyHeld the level lines too
 * @property {string} marksHold why the marks that are left are not to be trusted
 */

const PLAN_HOLD = "send first: what you measured changes the plan";
const HUNG_HOLD = "send first: what hangs moves the marks that are left";
const UNDO_HOLD = "send first: what was taken back changes the numbers";
const NUMBERS = new Set([
  "fasteners.mark", "fasteners.pilot", "fasteners.anchor", "fasteners.measure", "fasteners.cross",
  "level.line", "level.check", "fasteners.stick", "work.hanger", "work.wire", "work.rail", "reference.mark",
  "behind.studs", "behind.wall",
]);

export class Standing {
  /** @param {Job} job */
  constructor(job) {
    this.job = job;
    this.first = firstStep(job);
    /** @type {{ key: string, before: Step, after: Step }[]} */
    this.turns = [];
  }

  /** @returns {Step} */
  get now() {
    return this.turns.at(-1)?.after ?? this.first;
  }

  /** The step before and after one entry, if it is here. @type {(key: string) => { before: Step, after: Step } | null} */
  turn(key) {
    return this.turns.find((turn) => turn.key === key) ?? null;
  }

  /** Play these entries; what was played before and is the same stays. @type {(entries: readonly Entry[]) => Step} */
  play(entries) {
    const undone = new Set(entries.flatMap(({ kind, of_key: key }) => (kind === "undo" && key ? [key] : [])));
    const here = new Set(entries.map(({ key }) => key));
    // an entry and its undo, both here, are as if neither had been
    const left = entries.filter(({ key, kind, of_key: of }) =>
      !undone.has(key) && !(kind === "undo" && of && here.has(of)));
    let same = 0;
    while (same < left.length && this.turns[same]?.key === left[same].key) same += 1;
    this.turns.length = same;
    for (const entry of left.slice(same)) {
      const before = this.now;
      this.turns.push({ key: entry.key, before, after: after(this.job, before, entry) });
    }
    return this.now;
  }
}

/** @type {(job: Job) => Step} */
function firstStep(job) {
  const recorded = job.tasks.filter(({ stands }) => stands > 0);
  return {
    math: opened(job.problem),
    done: new Set(job.tasks.filter(({ done }) => done).map(({ id }) => id)),
    local: new Map(),
    records: new Map(recorded.map(({ id, stands }) => [id, String(stands)])),
    readings: recorded
      .filter(({ kind, values }) => values && (kind === "panels.level" || kind === "panels.facing"))
      .map(({ id, values, planned }) => ({ task: id, values: values ?? {}, plannedMm: planned ?? {} })),
    stops: job.stops,
    hold: "",
    isSurveyHeld: false,
    marksHold: "",
  };
}

/** @type {(job: Job, step: Step, entry: Entry) => Step} */
function after(job, step, entry) {
  if (entry.kind === "undo") return undone(step, entry);
  if (entry.kind === "way" && entry.fields.what.startsWith("stop:")) return stopped(step, entry);
  const event = eventOf(job, step.math, entry);
  const math = event ? evolve(step.math, event) : step.math;
  const next = { ...step, math };
  if (entry.kind === "task") return recorded(job, step, next, entry);
  const isOther = entry.fields.what.startsWith("free:") || isFastenerOther(step.math, math, entry.seat);
  const isUnset = !(entry.seat in math.set);
  return isOther && isUnset ? withoutSeat(next, entry.seat) : next;
}

/** @type {(before: State, now: State, seat: string) => boolean} */
const isFastenerOther = (before, now, seat) =>
  before.now[seat].fastener?.name !== now.now[seat].fastener?.name;

/** The seat's fastener tasks are to do again, and the checks it is part of. @type {(step: Step, seat: string) => Step} */
const withoutSeat = (step, seat) => without(step, (task) =>
  task.startsWith("fasteners.") && pairSeats(subjectOf(task)).includes(seat));

/** As if these tasks had never been recorded. @type {(step: Step, isGone: (task: string) => boolean) => Step} */
const without = (step, isGone) => ({
  ...step,
  done: new Set([...step.done].filter((task) => !isGone(task))),
  records: new Map([...step.records].filter(([task]) => !isGone(task))),
});

/** @type {(step: Step, entry: Entry) => Step} */
function stopped(step, entry) {
  const { holeMm } = step.math.now[entry.seat];
  const stop = { seq: 0, seat: entry.seat, what: entry.fields.what.slice(5), at_mm: holeMm };
  return { ...step, stops: [...step.stops, stop] };
}

/** Something the server has already counted is taken back. @type {(step: Step, entry: Entry) => Step} */
function undone(step, entry) {
  const hold = !entry.task || NUMBERS.has(kindOf(entry.task)) ? UNDO_HOLD : step.hold;
  const next = notDone(step, (task) => task === entry.task);
  return { ...next, hold, records: new Map(step.records).set(entry.task, "") };
}

/** Recorded, but to be done again. @type {(step: Step, isOpen: (task: string) => boolean) => Step} */
const notDone = (step, isOpen) => ({ ...step, done: new Set([...step.done].filter((task) => !isOpen(task))) });

/** @type {(job: Job, before: Step, next: Step, entry: Entry) => Step} */
function recorded(job, before, next, entry) {
  const step = {
    ...next,
    done: new Set(before.done).add(entry.task),
    records: new Map(before.records).set(entry.task, entry.key),
    local: new Map(before.local).set(entry.task, entry),
  };
  const subject = subjectOf(entry.task);
  switch (kindOf(entry.task)) {
    case "fasteners.pilot": return piloted(before, step, entry, subject);
    case "fasteners.mark":
      // a pair is checked again once one of its marks was made again
      return isDrilled(step.math, subject) ? step : notDone(step, (task) =>
        task.startsWith("fasteners.pair:") && pairSeats(subjectOf(task)).includes(subject));
    case "fasteners.pair": {
      const isTrue = entry.fields.outcome === "as_planned"
        || pairIsTrue(valuesOf(job, entry), plannedApart(before.math, subject, true));
      return isTrue ? step : notDone(step, (task) => task === entry.task);
    }
    case "panels.level": case "panels.facing": return read(job, hungHeld(step, entry), entry);
    case "panels.trim": return entry.fields.means === "none" ? step : {
      ...without(hungHeld(step, entry), (task) => isReadingOf(task, subject)),
      readings: step.readings.filter(({ task }) => !isReadingOf(task, subject)),
    };
    default: return changesPlan(entry) ? {
      ...step, hold: PLAN_HOLD, isSurveyHeld: step.isSurveyHeld || !entry.task.startsWith("behind."),
    } : step;
  }
}

/** @type {(before: Step, step: Step, entry: Entry, seat: string) => Step} */
function piloted(before, step, entry, seat) {
  if (entry.fields.met === "unclear") return without(step, (task) => task === entry.task);
  const isOther = !(seat in step.math.set) && isFastenerOther(before.math, step.math, seat);
  return isOther ? withoutSeat(step, seat) : step;
}

/** What is read or trimmed on hung panels moves the marks of the others, on the server. @type {(step: Step, entry: Entry) => Step} */
function hungHeld(step, { task, fields }) {
  const isSaid = fields.outcome === "measured" || kindOf(task) === "panels.trim";
  const isLeft = step.math.form.seats.some((seat) => !(seat in step.math.set));
  return isSaid && isLeft ? { ...step, marksHold: HUNG_HOLD } : step;
}

/** A hung panel was read: its trim is asked for while a reading is outside. @type {(job: Job, step: Step, entry: Entry) => Step} */
function read(job, step, entry) {
  const readings = withReading(step.readings, entry, valuesOf(job, entry));
  const [{ panel }] = verdicts(job, readings[readings.length - 1]);
  const isOutside = readings.some((one) => verdicts(job, one).some((v) => v.panel === panel && !v.isInside));
  const trim = `panels.trim:${panel}`;
  const done = new Set(step.done);
  if (isOutside) done.delete(trim);
  else done.add(trim);
  return { ...step, readings, done };
}

/** There is a hole, if only a pilot. @type {(math: State, seat: string) => boolean} */
export const isDrilled = (math, seat) => math.holes.includes(seat) || math.piloted.includes(seat);
