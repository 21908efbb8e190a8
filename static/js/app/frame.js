/** What stands around every screen: where you are, what is left, go on, undo, in the way. */

import { lastOwn } from "./undo.js";
import { addressOf } from "./place.js";
import { made } from "./words.js";

/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./app.js").App} App */

/** A copy of one of the page's templates, or null when the page has none of that name. @type {(selector: string) => HTMLElement | null} */
export function copied(selector) {
  const template = document.querySelector(`#pack > template${selector}`);
  if (!(template instanceof HTMLTemplateElement)) return null;
  const copy = /** @type {DocumentFragment} */ (document.importNode(template.content, true));
  return copy.querySelector("main");
}

/** @type {(root: Element, name: string) => HTMLElement | null} */
export const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

/** Put text into a slot and show it; hide it when there is none. @type {(root: Element, name: string, text: string) => void} */
export function fill(root, name, text) {
  const element = slot(root, name);
  if (!element) return;
  element.textContent = text;
  element.hidden = !text;
}

/** Where you are and how much is left. @type {(main: Element, app: App, tasks: readonly Task[], stage: string | null) => void} */
export function writeBar(main, app, tasks, stage) {
  const bar = main.querySelector("a.bar");
  if (!(bar instanceof HTMLAnchorElement)) return;
  const { stages } = app.job;
  const counted = tasks.filter((task) => task.done || !task.optional);
  const own = counted.filter((task) => !stage || task.stage === stage);
  const number = stages.findIndex(({ name }) => name === stage);
  /** @type {(of: readonly Task[]) => number} */
  const done = (of) => of.filter((task) => task.done).length;
  const [where, left, segments] = bar.children;
  where.textContent = number < 0 ? "All tasks" : `${number + 1} ${stages[number].title}`;
  left.textContent = `${done(own)} of ${own.length}, ${counted.length - done(counted)} left`;
  segments.replaceChildren(...stages.map(({ name }) => {
    const of = counted.filter((task) => task.stage === name);
    return made("i", name === stage ? "bar-now" : done(of) === of.length ? "bar-done" : "bar-open");
  }));
  bar.href = addressOf(app.base, { screen: "all", stage: number < 0 ? "" : `stage-${number + 1}` });
  for (const old of main.querySelectorAll(".bar-stop")) old.remove();
  // a stop's own page says it larger
  if (!main.classList.contains("task-stop")) bar.after(...stopLinks(app));
}

/** Open stops, each with the way to it. @type {(app: App) => HTMLElement[]} */
export function stopLinks(app) {
  return app.step.stops.map(({ seq, seat, what }) => {
    const link = made("a", "bar-stop", `Stop at ${seat}: ${what}`);
    link.href = seq ? `${app.job.urls.stop}${seq}` : addressOf(app.base, { screen: "stop", seat });
    if (!seq) link.addEventListener("click", (event) => {
      event.preventDefault();
      app.go({ screen: "stop", seat });
    });
    return link;
  });
}

/** A link to a place. @type {(app: App, place: import("./place.js").Place, words: string, name?: string) => HTMLAnchorElement} */
export function linkTo(app, place, words, name = "button") {
  const link = made("a", name, words);
  link.href = addressOf(app.base, place);
  return link;
}

/** Look what others did meanwhile: needs the network. @type {(app: App, place: import("./place.js").Place) => HTMLAnchorElement} */
export function againLink(app, place) {
  const link = linkTo(app, place, "Look again", "button button-main");
  link.dataset.again = "";
  return link;
}

/** Go on with what is ready. @type {(app: App, after: string | null, words?: string) => HTMLAnchorElement} */
export function nextLink(app, after, words = "Go on") {
  const next = app.next(after);
  return next ? linkTo(app, { screen: "task", task: next.id }, words, "button button-main")
    : linkTo(app, { screen: "all" }, "All tasks", "button button-main");
}

/** Right after a panel's level was read: its lock, so that somebody may go below it. @type {(app: App, saved: string) => HTMLAnchorElement[]} */
export function secureLinks(app, saved) {
  const lock = app.task(saved.replace(/^panels\.level:/, "secure.lock:"));
  if (lock?.kind !== "secure.lock" || saved === lock.id || lock.status !== "ready") return [];
  const link = linkTo(app, { screen: "task", task: lock.id }, "", "button button-wide");
  link.append(made("span", "", `${lock.title} now `, made("span", "soft", "before anybody goes below")));
  return [link];
}

/**
 * The quiet buttons: undo what was last recorded, and something in the way of a seat.
 * @type {(app: App, main: HTMLElement, thumb: Element, seat: string | null, back: string) => void}
 */
export function writeMore(app, main, thumb, seat, back) {
  thumb.querySelector(".thumb-more")?.remove();
  main.querySelector("form#undo")?.remove();
  const more = made("div", "thumb-more");
  const last = lastOwn(app);
  if (last) {
    const button = made("button", "button button-quiet", "Undo ", made("span", "undo-what", last.text));
    button.type = "submit";
    button.setAttribute("form", "undo");
    const form = made("form");
    form.id = "undo";
    form.method = "post";
    form.action = app.job.urls.undo;
    form.hidden = true; // its button stands under the thumb
    more.append(button);
    main.append(form);
  }
  if (seat) more.append(linkTo(app, { screen: "way", seat, back }, "Something is in the way", "button button-quiet"));
  if (more.childElementCount) thumb.append(more);
}
