/**
 * What an entry does to the numbers: entries of the outbox as events for ``core/events.js``.
 *
 * An entry that changes the plan itself is named by ``changesPlan``. The phone plans again by itself,
 * as far as ``resurvey.js`` lets it; else nothing that depends on it may go on until the server has it.
 */

import { lineOf, plannedReading } from "../core/lines.js";
import { shimsForMm } from "../core/shims.js";
import { hangersApart } from "../core/survey.js";
import { KEPT, readHole } from "./hole.js";
import { seenFacing } from "./facing.js";
import { plannedApart } from "./hung.js";
import { hungEvent } from "./hung_events.js";
import { levelErrorMmPerM, plannedLevel, readRise } from "./level.js";
import { placesText } from "./places.js";
import { readValues } from "./reading.js";
import { kindOf, subjectOf } from "./subject.js";
import { surveyEvent } from "./survey_events.js";
import { pairSeats } from "./words.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Values} Values */
/** @typedef {import("../core/events.js").Event} Event */
/** @typedef {import("../core/problem.js").State} State */

const SHAPES_PLAN = new Set([
  "work.hanger", "work.wire", "work.rail", "reference.mark", "behind.studs", "behind.wall",
]);

/** Whether this entry gives the job other numbers. @type {(entry: Entry) => boolean} */
export function changesPlan(entry) {
  const kind = kindOf(entry.task);
  if (kind === "panels.move") return true;
  return entry.fields.outcome === "measured" && SHAPES_PLAN.has(kind);
}

/**
 * The values of an entry as the server will read them; {} where it records the plan itself.
 * @type {(job: Job, entry: Entry) => Values}
 */
export function valuesOf(job, entry) {
  if (entry.fields.outcome === "as_planned") return {};
  return readValues(job.fields[kindOf(entry.task)] ?? [], entry.fields, entry.unit);
}

/**
 * What an entry does, or null for what changes no number.
 * @type {(job: Job, state: State, entry: Entry) => Event | null}
 */
export function eventOf(job, state, entry) {
  if (entry.kind === "way") return wayEvent(job, state, entry);
  const subject = subjectOf(entry.task);
  switch (kindOf(entry.task)) {
    case "fasteners.stick": return { type: "stick", seat: job.panels[subject].seats[0] };
    case "fasteners.mark": return { type: "marked", seat: subject };
    case "fasteners.pilot": return { type: "piloted", seat: subject, met: entry.fields.met };
    case "fasteners.anchor": return { type: "anchored", seat: subject };
    case "fasteners.measure": return measuredEvent(job, entry, subject);
    case "fasteners.again": return { type: "again", seat: subject, reading: readingOf(job, entry) };
    case "fasteners.cross": case "fasteners.recross": return crossedEvent(job, state, entry, subject);
    case "level.line": return lineEvent(job, entry, subject);
    case "level.check": return levelEvent(valuesOf(job, entry));
    case "work.hanger": case "work.wire": case "work.rail": case "reference.mark": case "reference.ends": case "behind.studs": case "behind.wall":
      return surveyEvent(state, entry, valuesOf(job, entry));
    case "panels.shim": case "panels.lift": case "panels.engaged": case "panels.level": case "panels.edge": case "panels.facing": case "panels.trim": case "close.next_day":
      return hungEvent(job, state, entry, valuesOf(job, entry));
    default: return null;
  }
}

/** @type {(job: Job, state: State, entry: Entry) => Event | null} */
function wayEvent(job, state, { seat, fields, unit }) {
  const [what, ...rest] = fields.what.split(":");
  if (what === "free") {
    const hole = rest[0] === "wrong_hole" ? readHole(fields, unit) : null;
    const at = hole && /** @type {[number, number]} */ ([hole.x.mm, lineOf(state, seat).y_mm + hole.above.mm]);
    return { type: "freed", seat, keeps: KEPT.has(fields.what), hole_mm: at };
  }
  if (what === "found") return { type: "blocked", seat, found: rest[0], material: rest[1] || null };
  const fastener = job.fasteners.find(({ value }) => value === fields.what);
  return what === "use" && fastener
    ? { type: "blocked", seat, found: "same", fastener: fastener.name } : null;
}

/** @type {(job: Job, entry: Entry, seat: string) => Event} */
function measuredEvent(job, entry, seat) {
  if (entry.fields.outcome === "as_planned") {
    return { type: "measured", seat, reading: null };
  }
  return { type: "measured", seat, reading: readingOf(job, entry) };
}

/** @type {(job: Job, entry: Entry) => import("../core/lines.js").Reading} */
function readingOf(job, entry) {
  const { x, above } = valuesOf(job, entry);
  return { x_mm: x.mm, above_mm: above.mm };
}

/** @type {(job: Job, state: State, entry: Entry, subject: string) => Event} */
function crossedEvent(job, state, entry, subject) {
  const [a, b] = pairSeats(subject);
  if (entry.fields.outcome === "as_planned") return crossedAsPlanned(state, subject, a, b);
  const values = valuesOf(job, entry);
  return {
    type: "crossed", a, b, is_again: kindOf(entry.task) === "fasteners.recross", distance_mm: values.distance?.mm ?? null,
    rise_mm: values.higher === "unread" ? null : readRise(values), is_turned: values.turned === "yes",
  };
}

/** @type {(state: State, subject: string, a: string, b: string) => Event} */
function crossedAsPlanned(state, subject, a, b) {
  const { apart, higher, by } = plannedApart(state, subject, false);
  const rise = readRise({ higher, by: { mm: Number(by.toFixed(6)) } });
  return { type: "crossed", a, b, distance_mm: Number(apart.toFixed(6)), rise_mm: rise, is_turned: false, is_again: false };
}

/** @type {(job: Job, entry: Entry, line: string) => Event | null} */
function lineEvent(job, entry, line) {
  const isPlanned = entry.fields.outcome === "as_planned";
  const height = isPlanned ? entry.planned.height : valuesOf(job, entry).height.mm;
  return height === undefined ? null : { type: "line", line, height_mm: height };
}

/** @type {(values: Values) => Event} */
const levelEvent = (values) =>
  ({ type: "level", error_mm_per_m: levelErrorMmPerM(values), is_laser: values.instrument === "laser" });

/** The numbers a task's form shows as the plan, as the server writes them. @type {(state: State, task: string) => string | null} */
export function seenOf(state, task) {
  const [kind, subject] = [kindOf(task), subjectOf(task)];
  if (kind === "fasteners.mark" || kind === "fasteners.anchor") {
    const { place, holeMm, fastener } = state.now[subject];
    return `${place[0].toFixed(2)} ${holeMm[1].toFixed(2)} ${fastener?.name ?? ""}`;
  }
  if (kind === "fasteners.pair" || kind === "fasteners.cross") {
    const { apart, higher, by } = plannedApart(state, subject, kind === "fasteners.pair");
    return `${apart.toFixed(2)} ${higher} ${by.toFixed(2)}`;
  }
  if (kind === "work.spacing") return hangersApart(state.problem, pairSeats(subject)).toFixed(2);
  if (kind === "panels.level" || kind === "close.next_day") {
    const { low, by } = plannedLevel(state, subject);
    return `${low} ${by.toFixed(2)}`;
  }
  if (kind === "panels.shim") return shimsForMm(state, subject)?.toFixed(2) ?? null;
  if (kind === "panels.facing") return seenFacing(state, subject);
  if (kind === "level.line" || kind === "level.tape") {
    return state.lines.find(({ name }) => name === subject)?.planned_mm.toFixed(2) ?? null;
  }
  if (kind.startsWith("stand_back.")) return placesText(state.problem);
  if (kind !== "fasteners.measure") return null;
  const { x_mm: x, above_mm: above } = plannedReading(state, subject);
  return `${x.toFixed(2)} ${above.toFixed(2)}`;
}
