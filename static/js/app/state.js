/**
 * The job as this phone knows it: what the server last said, and on top of it what is still only
 * on this phone, entry by entry. Each step is kept, so that one more entry costs one step.
 */

import { opened } from "../core/problem.js";
import { late } from "./late.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./hung.js").Reading} Reading */
/** @typedef {import("../core/problem.js").State} State */
/**
 * One stop, called here or known to the server.
 * @typedef {{ seq: number, seat: string, what: string, at_mm: readonly [number, number], key?: string }} AnyStop
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
 * @property {string} foundHold why nobody drills before the lead has looked: found here, before drilling
 * @property {boolean} isHungHere hung panels were read or trimmed since the server's word on what to trim
 * @property {string} trimHold why nobody can tell here whether the hung panels are done
 * @property {string} shimHold why nobody can tell here how thick the shims should be
 * @property {string} marksHold why the marks that are left are not to be trusted
 */

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
    const rest = left.slice(same);
    // asked for by main.js before anything is played; until it is there nothing is ahead
    const step = rest.length ? late().after : undefined;
    for (const entry of step ? rest : []) {
      const before = this.now;
      this.turns.push({ key: entry.key, before, after: /** @type {NonNullable<typeof step>} */ (step)(this.job, before, entry) });
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
      .filter(({ kind }) => /^(panels\.(level|facing)|close\.next_day)$/.test(kind))
      .map(({ id, values, outcome }) => ({ task: id, flushMm: (outcome === "as_planned" ? 0 : values?.flush?.mm) ?? 0 })),
    stops: job.stops,
    hold: "",
    isSurveyHeld: false,
    foundHold: "",
    marksHold: "",
    isHungHere: false,
    trimHold: "",
    shimHold: "",
  };
}
