/** What an open stop locks: the server's own rule, ``domain/stops.py``, on this phone. */

import { pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./state.js").AnyStop} AnyStop */
/** @typedef {import("../core/problem.js").State} State */

/** Everything nearer to a stop than this waits for the lead. */
const REACH_MM = 300;
const NOISE_MM = 1e-6;

/** The seats one stop locks, from the left; its own too, while the plan has it. @type {(stop: AnyStop, math: State) => string[]} */
export const lockedSeats = ({ seat, at_mm: [x, y] }, math) => math.form.seats.filter((name) => {
  const [holeX, holeY] = math.now[name].holeMm;
  return name === seat || Math.hypot(holeX - x, holeY - y) <= REACH_MM + NOISE_MM;
});

/** The open stop that locks one of these seats: called at one of them, else the first near. @type {(stops: readonly AnyStop[], math: State, seats: readonly string[]) => AnyStop | undefined} */
export const stopAt = (stops, math, seats) => stops.find(({ seat }) => seats.includes(seat))
  ?? stops.find((stop) => lockedSeats(stop, math).some((seat) => seats.includes(seat)));

/** The open stop that locks a task; a panel is not lifted onto a stopped seat. @type {(step: import("./state.js").Step, job: Job, task: Task) => AnyStop | undefined} */
export function stopOf({ stops, math }, job, { kind, stage, subject, panel }) {
  const own = kind === "panels.lift" ? job.panels[panel ?? ""]?.seats ?? [] : [];
  if (own.length) return stops.find(({ seat }) => own.includes(seat));
  return stage === "fasteners" ? stopAt(stops, math, pairSeats(subject)) : undefined;
}
