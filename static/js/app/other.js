/** Screens that are no task's own: what an entry changed, what is in the way. */

import { panelOfSeat } from "../core/problem.js";
import { wayAnswers } from "./way.js";
import { newKey } from "./keys.js";
import { copied, fill, linkTo, nextLink, secureLinks, slot, writeBar, writeMore } from "./frame.js";
import { KEPT } from "./hole.js";
import { resultOf } from "./result.js";
import { kindOf } from "./subject.js";
import { countsWords } from "./where.js";
import { large, made } from "./words.js";

/** @typedef {import("./result.js").Result} Result */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./app.js").App} App */

/** What an entry changed; null when it changed nothing worth a screen. @type {(app: App, entry: Entry) => HTMLElement | null} */
export function resultScreen(app, entry) {
  const turn = app.standing.turn(entry.key);
  const result = turn && resultOf({ job: app.job, entry, before: turn.before, after: turn.after });
  const main = result ? copied('[data-screen="result"]') : null;
  if (!result || !main) return null;
  fill(main, "heading", result.title);
  main.dataset.result = entry.key;
  fill(main, "only-here", countsWords(app.queue));
  writeOff(main, result, app.job.unit);
  writeVerdict(main, result);
  writeMoves(main, result);
  writeFinish(main, result);
  writeThumb(app, main, entry, result);
  main.dataset.task = taskOf(entry);
  writeBar(main, app, app.tasks, app.task(main.dataset.task)?.stage ?? "fasteners");
  return main;
}

/** The task an entry is about: its own, else marking its seat, or reading it in the hole it keeps. @type {(entry: Entry) => string} */
const taskOf = ({ task, seat, fields }) =>
  task || `fasteners.${KEPT.has(fields.what) ? "measure" : "mark"}:${seat}`;

/** @type {(main: HTMLElement, result: Result, unit: string) => void} */
function writeOff(main, { off = [] }, unit) {
  const list = slot(main, "off");
  for (const [size, word] of off) {
    const value = typeof size === "number" ? large(size, unit) : [`${size[0]} `, made("span", "unit", size[1])];
    list?.append(made("div", "number-row", made("dt", "off-way", word), made("dd", "number number-large", ...value)));
  }
  if (list) list.hidden = !off.length;
}

/** @type {(main: HTMLElement, result: Result) => void} */
function writeVerdict(main, { mood = "plain", verdict = "", lines = [] }) {
  const notice = slot(main, "verdict");
  if (mood !== "plain") notice?.classList.add(`notice-${mood}`);
  notice?.querySelector("strong")?.append(verdict);
  notice?.append(...lines.map((line) => made("p", "", line)));
}

/** @type {(main: HTMLElement, result: Result) => void} */
function writeMoves(main, { moves = [] }) {
  const list = slot(main, "moves");
  if (!list) return;
  list.hidden = !moves.length;
  const items = moves.map(({ seat, by, hole, change, isMarked }) => {
    const item = made("li", "", made("b", "", seat), " ", made("span", "move-by", by), " ",
      made("span", "move-hole", `hole now ${hole}${change ? `; ${change}` : ""}`));
    if (isMarked) item.append(" ", made("span", "tag", "rub out the old mark"));
    return item;
  });
  list.append(...items.slice(0, 3));
  if (items.length > 3) {
    list.after(made("details", "fold", made("summary", "", `${items.length - 3} more that move`), made("ul", "moves", ...items.slice(3))));
  }
}

/** @type {(main: HTMLElement, result: Result) => void} */
function writeFinish(main, { finish = [] }) {
  const fold = slot(main, "finish");
  if (!(fold instanceof HTMLDetailsElement)) return;
  fold.hidden = !finish.length;
  fold.open = finish.length <= 4;
  fold.querySelector("ul")?.append(...finish.map(({ kind, where, allowed, isInside }) => made("li", "",
    made("b", "", kind), made("span", "", `${where}; ${allowed} allowed`), " ",
    made("span", `verdict verdict-${isInside ? "in" : "out"}`, isInside ? "inside" : "outside"))));
}

/** @type {(app: App, main: HTMLElement, entry: Entry, result: Result) => void} */
function writeThumb(app, main, entry, { seat, off, isMore }) {
  const thumb = slot(main, "thumb");
  const task = app.task(taskOf(entry));
  const next = nextLink(app, task?.id ?? null);
  thumb?.append(next);
  if (isMore && task?.status === "ready") {
    next.classList.remove("button-main");
    next.hidden = app.next(task.id)?.id === task.id;
    next.before(linkTo(app, { screen: "task", task: task.id }, "Read it once more", "button button-main"));
  } else if (task?.status === "done") {
    const words = off?.length || task.has_plan ? "Measure again" : "Record again";
    thumb?.append(linkTo(app, { screen: "task", task: task.id, again: true }, words));
  } else if (task) thumb?.append(linkTo(app, { screen: "task", task: task.id }, task.title));
  if (thumb) writeMore(app, main, thumb, seat ?? null, task?.id ?? "");
  thumb?.before(...secureLinks(app, entry.task));
  const panel = entry.seat ? panelOfSeat(entry.seat) : task?.panel;
  const more = app.tasks.filter(({ optional, status, panel: of }) => optional && status === "ready" && of === panel);
  if (kindOf(entry.task) === "fasteners.measure") {
    thumb?.before(...more.map(({ id, title }) => {
      const link = linkTo(app, { screen: "task", task: id }, "", "button button-wide");
      link.append(made("span", "", `${title} `, made("span", "soft", "if you like")));
      return link;
    }));
  }
}

/** What is in the way at a seat: one-tap answers. @type {(app: App, seat: string, back: string) => HTMLElement | null} */
export function wayScreen(app, seat, back) {
  const main = copied('[data-screen="way"]');
  const form = main?.querySelector("form");
  const now = app.step.math.now[seat];
  if (!main || !form || !now) return null;
  fill(main, "heading", `What is in the way at ${seat}?`);
  form.action = `${app.job.urls.way}${encodeURIComponent(seat)}`;
  form.dataset.seat = seat;
  form.dataset.key = newKey();
  wayAnswers(app, main, seat);
  const away = slot(main, "back");
  away?.setAttribute("href", back ? app.url(back) : app.base);
  writeBar(main, app, app.tasks, "fasteners");
  return main;
}
