/** Every task with its status as this phone knows it, and which one is next. */

import { isDrilled } from "../core/problem.js";
import { shimsForMm } from "../core/shims.js";
import { facingPanels, isReadMore, unclear } from "./hung.js";
import { isHoleBarred, isPanelOther, isWallOther, isWorkMoved } from "./resurvey.js";
import { withSticks } from "./sticks.js";
import { subjectOf } from "./subject.js";
import { stopOf } from "./stops.js";
import { pairSeats } from "./words.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./state.js").Step} Step */
/** @typedef {import("../core/problem.js").State} State */

const NOTHING_MM = 1e-6;
const HELD_STAGES = ["stand_back", "fasteners", "panels"];

/** The tasks of the job after a step, in the order they are best done. @type {(job: Job, step: Step) => Task[]} */
export function board(job, step) {
  const tasks = withSticks(inDrivingOrder(withEdges(withTrims(job, step), step), job.problem.order, step.math.problem.order), step);
  const done = doneNow(job, step, tasks);
  const titles = new Map(tasks.map((task) => [task.id, task.title]));
  return tasks.map((task) => {
    const needs = task.kind === "panels.trim" ? readingsOfHung(tasks, step)
      : task.needs.flatMap((need) => (need.startsWith("stage:") ? awaited(tasks, need.slice(6)) : [need]));
    // a trim that was asked for here
    if (task.kind === "secure.lock") needs.push(`panels.trim:${task.subject}`);
    const stop = stopOf(step, job, task);
    const isDone = done.has(task.id);
    if (stop) {
      const why = `stop at ${stop.seat} (${stop.what}): the lead clears it, signed in on a connected device`;
      return { ...task, status: "stopped", why, done: isDone };
    }
    if (isDone) return { ...task, status: "done", why: "", done: true };
    const why = waitsFor(job, step, task, needs, { done, titles });
    return { ...task, status: why ? "waiting" : "ready", why, done: false };
  });
}

/** Planned anew here, a panel's seats may have other turns: each task in the place of the seat that had its turn. @type {(tasks: Task[], was: readonly string[], now: readonly string[]) => Task[]} */
function inDrivingOrder(tasks, was, now) {
  if (was === now) return tasks;
  const byId = new Map(tasks.map((task) => [task.id, task]));
  const turns = new Map(was.map((seat, i) => [seat, now[i]]));
  const turned = tasks.map((task) => (task.stage === "fasteners" && byId.get(`${task.kind}:${turns.get(task.subject)}`)) || task);
  return new Set(turned).size === tasks.length ? turned : tasks;
}

/** Every task of a stage that later ones wait for. @type {(tasks: readonly Task[], stage: string) => string[]} */
const awaited = (tasks, stage) =>
  tasks.filter((task) => task.stage === stage && !task.optional && task.awaited !== false).map(({ id }) => id);

/** Nothing is trimmed before all that hangs is read. @type {(tasks: readonly Task[], step: Step) => string[]} */
const readingsOfHung = (tasks, { done }) => tasks.filter(({ kind, subject }) =>
  ["panels.level", "panels.edge", "panels.facing"].includes(kind)
  && facingPanels(subject).every((panel) => done.has(`panels.engaged:${panel}`))).map(({ id }) => id);

/** Trims as the server lists them, until what hangs was read here: then of the panels read outside. @type {(job: Job, step: Step) => Task[]} */
function withTrims(job, step) {
  if (!step.isHungHere) return job.tasks;
  const panels = new Set(unclear(job, step.math, step.readings).map(({ panel }) => panel));
  const tasks = job.tasks.filter(({ kind, subject }) => kind !== "panels.trim" || panels.has(subject));
  const known = new Set(tasks.map(({ id }) => id));
  for (const id of [...panels].map((panel) => `panels.trim:${panel}`).filter((one) => !known.has(one))) {
    const spare = job.spares?.find((task) => task.id === id) ?? trimOf(job, id);
    const at = tasks.map(({ stage, panel }) => stage === "panels" && panel === spare.panel).lastIndexOf(true);
    tasks.splice(at + 1, 0, spare);
  }
  return tasks;
}

/** Edges are read while seats are left whose marks answer to them. @type {(tasks: Task[], step: Step) => Task[]} */
const withEdges = (tasks, { math, done }) => (math.form.seats.some((seat) => !(seat in math.set)) ? tasks
  : tasks.filter(({ kind, id }) => kind !== "panels.edge" || done.has(id)));

/** A trim task the page carries no screen for. @type {(job: Job, id: string) => Task} */
function trimOf(job, id) {
  const panel = subjectOf(id);
  return {
    id, kind: "panels.trim", stage: "panels", title: `Trim ${panel}`, subject: panel, panel,
    ask: `Trim panel ${panel}, then check it again.`, status: "waiting", why: "", needs: [],
    optional: false, lead_only: false, has_plan: true, stands: 0, done: false, bar: "",
  };
}

/** Recorded, and still true of the wall and the rings; what is too near to tell is read once more. @type {(job: Job, step: Step, tasks: readonly Task[]) => Set<string>} */
function doneNow(job, { done, math, local }, tasks) {
  const still = new Set([...done].filter((id) => !isToReadAgain(job, math, id, local)));
  for (const { kind, id, subject, planned } of math.problem.shims ? tasks : []) {
    if (kind !== "panels.shim" || !done.has(id)) continue;
    const then = local.get(id)?.planned.thick ?? planned?.thick;
    const now = shimsForMm(math, subject);
    // more than one shim thicker or thinner by now
    if (then !== undefined && now !== null && Math.abs(now - then) > (math.problem.shims?.step_mm ?? 0) + 1e-6) still.delete(id);
  }
  for (const seat of math.form.seats) {
    if (isMarkMoved(math, seat)) still.delete(`fasteners.mark:${seat}`);
  }
  return still;
}

/** Not where the second reading was tapped. @type {(job: Job, math: State, id: string, local: Step["local"]) => boolean} */
const isToReadAgain = (job, math, id, local) => isReadMore(job, math, id)
  && (local.get(id)?.fields.outcome ?? job.tasks.find((task) => task.id === id)?.outcome) === "measured";

/** A mark on the wall that is no longer the mark given, and not begun. @type {(math: State, seat: string) => boolean} */
export function isMarkMoved(math, seat) {
  const mark = math.marked[seat];
  if (!mark || isDrilled(math, seat) || seat in math.set) return false;
  const { place, holeMm, fastener } = math.now[seat];
  const off = Math.hypot(mark.seat_mm[0] - holeMm[0], mark.hole_y_mm - holeMm[1]);
  const seatOff = Math.hypot(mark.seat_mm[0] - place[0], mark.seat_mm[1] - place[1]);
  return off > NOTHING_MM || seatOff > NOTHING_MM || mark.fastener !== (fastener?.name ?? null);
}

/**
 * What a task waits for; "" when it is ready.
 * @param {Job} job
 * @param {Step} step
 * @param {Task} task
 * @param {readonly string[]} needs
 * @param {{ done: Set<string>, titles: Map<string, string> }} known
 */
function waitsFor(job, step, task, needs, { done, titles }) {
  const held = holds(job, step, task);
  if (held) return held;
  const open = needs.find((id) => titles.has(id) && !done.has(id));
  if (open) return `first finish: ${titles.get(open)}`;
  // stops are judged above, by those that are open now
  return task.bar && !task.bar.startsWith("stop at") ? task.bar : handOverStop(step, task);
}

/** @type {(step: Step, task: Task) => string} */
const handOverStop = ({ stops }, { kind }) =>
  kind === "close.hand_over" && stops.length ? `the stop at ${stops[0].seat} is not cleared` : "";

/** @type {(job: Job, step: Step, task: Task) => string} */
function holds(job, step, task) {
  if (step.hold && HELD_STAGES.includes(task.stage)) return step.hold;
  if (step.trimHold && ["secure", "close"].includes(task.stage) && task.kind !== "close.next_day") return step.trimHold;
  if (step.shimHold && task.kind === "panels.shim") return step.shimHold;
  if (step.marksHold && task.stage === "fasteners") return step.marksHold;
  if (step.isSurveyHeld && ["level.line", "level.tape"].includes(task.kind)) return step.hold;
  if (!["fasteners", "panels"].includes(task.stage)) return "";
  if (step.foundHold) return step.foundHold;
  const seats = task.stage === "panels" ? job.panels[task.panel ?? ""]?.seats ?? [] : pairSeats(task.subject);
  return seats.map((seat) => loadNotChecked(job, step.math, seat)).find(Boolean) ?? "";
}

/** Another fastener, ground or load than the server has checked. @type {(job: Job, math: State, seat: string) => string} */
export function loadNotChecked(job, math, seat) {
  const [seen, here] = [job.problem.now[seat], math.now[seat]];
  const now = here?.fastener?.name ?? null;
  if (!here) return "";
  if (isHoleBarred(job, math, seat)) return `the lead must look first: no hole may go where ${seat}'s would`;
  const isOtherGround = (isWallOther(job, math) || isWorkMoved(job, math))
    && (here.into !== seen.into || here.material !== seen.material);
  const isOtherLoad = isPanelOther(job, math, seat);
  if (now === seen.fastener && !isOtherGround && !isOtherLoad) return "";
  if (now === null) return `the lead must look first: no fastener is listed for what is behind ${seat}`;
  const { into, material } = here;
  const isUnknownStud = ["stud", "edge"].includes(into) && material === "unknown";
  const ground = isUnknownStud ? "|unknown" : into === "edge" && material === "wood" ? "|edge" : "";
  const said = `${now}${ground}`;
  if (isOtherLoad && job.tight?.[seat]?.includes(said)) return `send first: the server checks the load at ${seat} again`;
  if (job.carries?.[seat]?.includes(said)) return "";
  return `the lead must look first: whether ${now} may carry the load at ${seat} is not known here`;
}

/** Why nothing can be done, or "": what the first open task waits for at last. @type {(tasks: readonly Task[]) => string} */
export function halt(tasks) {
  const left = tasks.filter((task) => !task.done && !task.optional);
  if (left.some(({ status }) => status === "ready")) return "";
  return (left.find(({ why }) => !/^(first|no hole before)/.test(why)) ?? left[0])?.why ?? "";
}

/**
 * The next one this person may do: of the same seat or panel first, then behind ``after``. A hold
 * point of the lead's is next for others only when nothing else is ready.
 * @type {(tasks: readonly Task[], after: string | null, isLead: boolean) => Task | null}
 */
export function nextTask(tasks, after, isLead) {
  const ready = tasks.filter(({ status, optional }) => status === "ready" && !optional);
  const own = ready.filter((task) => isLead || !task.lead_only);
  const last = tasks.find(({ id }) => id === after);
  if (last?.panel) {
    const near = own.filter(({ panel, stage, id }) => panel === last.panel && stage === last.stage && id !== after);
    const found = near.find(({ subject }) => subject === last.subject) ?? near[0];
    if (found) return found;
  }
  const start = tasks.findIndex(({ id }) => id === after) + 1;
  const behind = new Set(tasks.slice(start));
  return own.find((task) => behind.has(task)) ?? own[0] ?? ready.find((task) => behind.has(task)) ?? ready[0] ?? null;
}
