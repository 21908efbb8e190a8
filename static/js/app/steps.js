/** One more entry on top of what stands: what it does to the numbers, and to what is done. */

import { evolve } from "../core/events.js";
import { changesPlan, eventOf, valuesOf } from "./effects.js";
import { KEPT } from "./hole.js";
import { facingPanels, isReadingOf, pairIsTrue, plannedApart, unclear, withReading } from "./hung.js";
import { isDrilled } from "../core/problem.js";
import { isPlannedHere } from "./resurvey.js";
import { kindOf, subjectOf } from "./subject.js";
import { pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./state.js").Step} Step */
/** @typedef {import("../core/problem.js").State} State */

const PLAN_HOLD = "send first: what you measured changes the plan";
const TRIM_HOLD = "send first: how what is outside can be trimmed is worked out by the server";
const LEVEL_HOLD = "send first: what was read by level is worked out anew by the server";
const HANGER_HOLD = "send first: the hanger is to be measured again";
const UNDO_HOLD = "send first: what was taken back changes the numbers";
const FOUND_HOLD = "the lead must look first: something to keep clear of was found";
const NUMBERS = new Set([
  "fasteners.mark", "fasteners.pilot", "fasteners.anchor", "fasteners.measure", "fasteners.again", "fasteners.cross", "fasteners.recross",
  "level.line", "level.check", "fasteners.stick", "work.hanger", "work.wire", "work.rail", "reference.mark",
  "behind.studs", "behind.wall",
]);
/** They move marks, but only those that are left. */
const HUNG = new Set(["panels.shim", "panels.engaged", "panels.level", "panels.edge", "panels.facing", "panels.trim", "close.next_day"]);

/** @type {(job: Job, step: Step, entry: Entry) => Step} */
export function after(job, step, entry) {
  if (entry.kind === "undo") return undone(step, entry);
  if (entry.kind === "way" && entry.fields.what.startsWith("stop:")) return stopped(step, entry);
  const event = eventOf(job, step.math, entry);
  const math = event ? evolve(step.math, event) : step.math;
  const next = { ...step, math };
  if (entry.kind === "task") return recorded(job, step, next, entry);
  const again = KEPT.get(entry.fields.what);
  if (again) return readAgain(next, entry, again);
  const isOther = entry.fields.what.startsWith("free:") || isFastenerOther(step.math, math, entry.seat);
  const isUnset = !(entry.seat in math.set);
  return isOther && isUnset ? withoutSeat(next, entry.seat, entry.fields.what.startsWith("use:")) : next;
}

/** @type {(before: State, now: State, seat: string) => boolean} */
const isFastenerOther = (before, now, seat) =>
  before.now[seat].fastener?.name !== now.now[seat].fastener?.name;

/** It keeps its hole, and what came after is done again. @type {(step: Step, entry: Entry, again: readonly string[]) => Step} */
function readAgain(step, { seat, fields }, again) {
  const own = [...again, "measure", "again"].map((name) => `fasteners.${name}:${seat}`);
  const next = without(step, (task) => own.includes(task)
    || (["fasteners.cross", "fasteners.recross"].includes(kindOf(task)) && pairSeats(subjectOf(task)).includes(seat)));
  return fields.what === "free:moved" ? { ...next, hold: HANGER_HOLD } : next;
}

/** The seat's fastener tasks are to do again, and the checks it is part of; in its pilot its mark stands, and the pilot itself where what it met is known. @type {(step: Step, seat: string, isKnown: boolean) => Step} */
function withoutSeat(step, seat, isKnown) {
  const stands = isDrilled(step.math, seat) ? ["mark", ...(isKnown ? ["pilot"] : [])].map((name) => `fasteners.${name}:${seat}`) : [];
  return without(step, (task) => task.startsWith("fasteners.")
    && pairSeats(subjectOf(task)).includes(seat) && !stands.includes(task));
}

/** As if these tasks had never been recorded. @type {(step: Step, isGone: (task: string) => boolean) => Step} */
const without = (step, isGone) => ({
  ...step,
  done: new Set([...step.done].filter((task) => !isGone(task))),
  records: new Map([...step.records].filter(([task]) => !isGone(task))),
});

/** @type {(step: Step, entry: Entry) => Step} */
function stopped(step, entry) {
  const { holeMm } = step.math.now[entry.seat];
  const stop = { seq: 0, key: entry.key, seat: entry.seat, what: entry.fields.what.slice(5), at_mm: holeMm };
  return { ...step, stops: [...step.stops, stop] };
}

/** Something the server has already counted is taken back. @type {(step: Step, entry: Entry) => Step} */
function undone(step, entry) {
  const hold = !entry.task || NUMBERS.has(kindOf(entry.task)) ? UNDO_HOLD : step.hold;
  const next = HUNG.has(kindOf(entry.task)) ? { ...step, marksHold: UNDO_HOLD, trimHold: UNDO_HOLD, shimHold: UNDO_HOLD } : step;
  return { ...notDone(next, (task) => task === entry.task), hold, records: new Map(step.records).set(entry.task, "") };
}

/** Recorded, but to be done again. @type {(step: Step, isOpen: (task: string) => boolean) => Step} */
const notDone = (step, isOpen) => ({ ...step, done: new Set([...step.done].filter((task) => !isOpen(task))) });

/** A panel hung again or trimmed is secured and tried again. @type {(step: Step, panel: string) => Step} */
const loosened = (step, panel) => notDone(step, (task) => /^secure\.(lock|try)$/.test(kindOf(task)) && subjectOf(task) === panel);

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
    case "before.services": return { ...step, foundHold: entry.fields.found?.trim() ? FOUND_HOLD : "" };
    case "secure.lock": return notDone(step, (task) => task === `secure.try:${subject}`);
    case "panels.lift": return loosened(step, subject);
    case "secure.try": return entry.fields.outcome === "failed" ? notDone(step, (task) => task === entry.task) : step;
    case "fasteners.pilot": return piloted(before, step, entry, subject);
    case "fasteners.mark":
      // a pair is checked again once one of its marks was made again; elsewhere its pilot is given up
      return isDrilled(step.math, subject) ? step : notDone(without(step, (task) =>
        task === `fasteners.pilot:${subject}`), (task) =>
        task.startsWith("fasteners.pair:") && pairSeats(subjectOf(task)).includes(subject));
    case "fasteners.pair": {
      const isTrue = entry.fields.outcome === "as_planned"
        || pairIsTrue(valuesOf(job, entry), plannedApart(before.math, subject, true));
      return isTrue ? step : notDone(step, (task) => task === entry.task);
    }
    case "level.check": return isReadByLevel(before) ? { ...step, hold: LEVEL_HOLD } : step;
    case "panels.level": case "panels.facing": case "close.next_day": return read(job, step, entry);
    case "panels.trim": return trimmed(job, before, step, entry);
    default: return isForServer(job, before, step, entry) ? {
      ...step, hold: PLAN_HOLD, isSurveyHeld: step.isSurveyHeld || !entry.task.startsWith("behind."),
    } : step;
  }
}

/** It changes the plan, and not only as this phone plans again. @type {(job: Job, before: Step, step: Step, entry: Entry) => boolean} */
const isForServer = (job, before, step, entry) =>
  changesPlan(entry) && !isPlannedHere(job, before, step.math, entry.task);

/** @type {(before: Step, step: Step, entry: Entry, seat: string) => Step} */
function piloted(before, step, entry, seat) {
  if (entry.fields.met === "unclear") return without(step, (task) => task === entry.task);
  const isOther = !(seat in step.math.set) && isFastenerOther(before.math, step.math, seat);
  return isOther ? withoutSeat(step, seat, true) : step;
}

/** Something was judged by the level as it was thought to be. @type {(step: Step) => boolean} */
const isReadByLevel = ({ records }) => [...records.keys()].some((task) =>
  ["fasteners.pair", "panels.level", "close.next_day"].includes(kindOf(task)));

/** A hung panel was read; what was trimmed on it before is looked at again. @type {(job: Job, step: Step, entry: Entry) => Step} */
function read(job, step, entry) {
  const trims = facingPanels(subjectOf(entry.task)).map((panel) => `panels.trim:${panel}`);
  const readings = withReading(step.readings, entry, valuesOf(job, entry));
  return judged(job, notDone({ ...step, readings }, (task) => trims.includes(task)));
}

/** Touched, a panel is read, secured and tried again; one that cannot be trimmed is left to the lead. @type {(job: Job, before: Step, step: Step, entry: Entry) => Step} */
function trimmed(job, before, step, { task: own, fields }) {
  if (fields.means === "none") return judged(job, step);
  const panel = subjectOf(own);
  const isHere = before.math.problem === step.math.problem || isPlannedHere(job, before, step.math, own);
  const next = isHere ? step : { ...step, hold: PLAN_HOLD };
  const readings = step.readings.filter(({ task }) => !isReadingOf(task, panel));
  return judged(job, { ...without(loosened(next, panel), (task) => task === own || isReadingOf(task, panel)), readings });
}

/** What is not clear of its tolerance is trimmed, by the server's advice; all clear, nothing is. @type {(job: Job, step: Step) => Step} */
function judged(job, step) {
  const isUnclear = unclear(job, step.math, step.readings).length > 0;
  const trimHold = step.trimHold === UNDO_HOLD ? UNDO_HOLD : isUnclear ? TRIM_HOLD : "";
  return { ...step, isHungHere: true, trimHold };
}
