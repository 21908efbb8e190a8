/** Every stage and task of the job, from the list the page carries. */

import { againLink, copied, fill, linkTo, nextLink, slot, stopLinks } from "./frame.js";
import { halt } from "./board.js";
import { made } from "./words.js";

/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./app.js").App} App */

const WORDS = { done: "done", ready: "ready", waiting: "waits", stopped: "stopped" };

/** @type {(app: App, open: string | undefined) => HTMLElement | null} */
export function overviewScreen(app, open) {
  const main = copied('[data-screen="all"]');
  if (!main) return null;
  const counted = app.tasks.filter((task) => task.done || !task.optional);
  const done = counted.filter((task) => task.done).length;
  fill(main, "count", done === counted.length ? `All ${done} tasks are done.` : `${done} of ${counted.length} tasks done.`);
  const why = app.job.way ? halt(app.tasks) : ""; // a plan that is not released says so itself
  fill(main, "halt", why && `${why[0].toUpperCase()}${why.slice(1)}.`);
  slot(main, "halted")?.toggleAttribute("hidden", !why);
  slot(main, "heeds")?.append(...app.job.heeds.map((line) => made("p", "notice notice-warn heed", line)));
  slot(main, "stops")?.append(...stopLinks(app));
  const unreleased = slot(main, "unreleased");
  if (unreleased) unreleased.hidden = app.job.way !== null;
  slot(main, "wall")?.setAttribute("data-drawing", app.job.wall);
  const next = app.next(null);
  slot(main, "stages")?.append(...app.job.stages.map(({ name, title, note }, i) => {
    const own = app.tasks.filter(({ stage }) => stage === name);
    return stageOf(app, { own, title, note, number: i + 1 }, next?.stage === name || open === `stage-${i + 1}`);
  }));
  const thumb = slot(main, "thumb");
  if (next) thumb?.append(nextLink(app, null, next.title));
  else if (done < counted.length) thumb?.append(againLink(app, { screen: "all" }));
  else thumb?.remove();
  return main;
}

/** @type {(app: App, stage: { own: Task[], title: string, note: string, number: number }, isOpen: boolean) => HTMLElement} */
function stageOf(app, { own, title, note, number }, isOpen) {
  const done = own.filter((task) => task.done).length;
  const total = own.filter((task) => task.done || !task.optional).length;
  const stage = made("details", "fold stage");
  stage.id = `stage-${number}`;
  stage.open = isOpen;
  const sign = made("span", `mark mark-${done === total ? "done" : isOpen ? "ready" : "waiting"}`);
  sign.setAttribute("aria-hidden", "true");
  const list = made("ul", "task-list", ...own.map((task) => made("li", "", taskLink(app, task))));
  const heading = made("summary", "", sign, `${number} ${title} `, made("span", "soft", `${done} of ${total}`));
  stage.append(heading, ...(note ? [made("p", "task-line soft", note)] : []), list);
  return stage;
}

/** @type {(app: App, task: Task) => HTMLElement} */
function taskLink(app, task) {
  const link = linkTo(app, { screen: "task", task: task.id }, "", "");
  const sign = made("span", `mark mark-${task.status}`);
  sign.setAttribute("aria-hidden", "true");
  const entry = app.step.local.get(task.id);
  const isHere = task.status === "done" && entry && !entry.stored;
  const words = task.status === "ready" && task.optional ? "if you like" : isHere ? "only on this phone" : WORDS[task.status];
  link.append(sign, made("span", "task-name", task.title), " ", made("span", "task-status", words));
  if (task.why && task.status !== "done") link.append(" ", made("span", "task-why", task.why));
  return link;
}
