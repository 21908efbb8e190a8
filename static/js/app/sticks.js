/** Story sticks taken up, and the order they put a panel's tasks in: its first seat is set before the others are marked from it. */

import { panelOfSeat } from "../core/problem.js";
import { pairSeats } from "./words.js";

/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./state.js").Step} Step */

const STICK = "fasteners.stick";
const MARK = "fasteners.mark";
const PILOT = "fasteners.pilot";
const DRIVES = [PILOT, "fasteners.anchor", "fasteners.press", "fasteners.measure"];

/** @type {(tasks: Task[], step: Step) => Task[]} */
export function withSticks(tasks, { done, math }) {
  const begun = new Set(Object.keys(math.marked).map(panelOfSeat));
  // none is offered once its panel is pencilled
  const left = tasks.filter(({ kind, id, subject }) => kind !== STICK || done.has(id) || !begun.has(subject));
  return left.filter(({ kind, id }) => kind === STICK && done.has(id)).reduce((all, { subject: panel }) => {
    const first = math.problem.order.find((seat) => panelOfSeat(seat) === panel) ?? "";
    const own = all.filter((task) => task.stage === "fasteners" && task.panel === panel);
    const turned = [...own].sort((a, b) => turn(a, first) - turn(b, first)).map((task) => needing(task, first, own));
    return all.map((task) => (own.includes(task) ? turned[own.indexOf(task)] : task));
  }, left);
}

/** @type {(task: Task, first: string) => number} */
function turn({ kind, subject }, first) {
  if (kind === STICK) return 0;
  const isDrive = DRIVES.includes(kind);
  if (subject === first && (kind === MARK || isDrive)) return 1;
  return kind === MARK ? 2 : kind === "fasteners.pair" ? 3 : isDrive ? 4 : 5;
}

/** @type {(task: Task, first: string, own: readonly Task[]) => Task} */
function needing(task, first, own) {
  if (task.kind !== MARK && task.kind !== PILOT) return task;
  const { subject } = task;
  const pairs = own.filter(({ kind, subject: pair }) => kind === "fasteners.pair" && pairSeats(pair).includes(subject));
  const before = task.kind === MARK ? (subject === first ? [] : [`fasteners.measure:${first}`])
    : subject === first || !pairs.length ? [`${MARK}:${subject}`] : pairs.map(({ id }) => id);
  return { ...task, needs: [...task.needs.filter((need) => !need.startsWith("fasteners.")), ...before] };
}
