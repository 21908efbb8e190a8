/** The job on this phone: where somebody is, what stands, and what happens after each tap. */

import { newKey } from "./keys.js";
import { isLateHere, late, lateReady } from "./late.js";
import { lengthInputs, writeEcho } from "./fields.js";
import { addressOf, placeOf } from "./place.js";
import { Standing } from "./state.js";
import { kindOf } from "./subject.js";
import { Bar } from "./bar.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./place.js").Place} Place */

/** A second tap of a double tap never lands on the next screen's button. */
const CALM_MS = 350;
const NO_NEWS = "No answer from the server: what others did meanwhile is not known here";

export class App {
  /**
   * @param {Job} job
   * @param {import("./queue.js").Queue} queue
   */
  constructor(job, queue) {
    this.queue = queue;
    this.job = job;
    this.standing = new Standing(job);
    this.step = this.standing.play(queue.ahead());
    /** As the server listed them, until the rest of the page is there to go on from that. @type {readonly Task[]} */
    this.tasks = isLateHere() ? late().board(job, this.step) : job.tasks;
    this.base = job.urls.base.replace(/\/$/, "");
    /** @type {Place} */
    this.place = { screen: "next" };
    /** Said in the bar until the next screen. */
    this.said = "";
    /** What others did meanwhile; whether the server answered. @type {() => Promise<boolean>} */
    this.askServer = async () => false;
    /** Sends what waits, once the rest of the page has come. @type {import("./send.js").Sender | null} */
    this.sender = null;
    this.bar = new Bar(this);
  }

  /** @type {(job: Job) => void} */
  takeJob(job) {
    this.job = job;
    this.standing = new Standing(job);
    this.queue.caughtUp(job.seq);
    this.refresh();
  }

  /** Play what is only here on what the server last said. */
  refresh() {
    if (!isLateHere()) return;
    this.step = this.standing.play(this.queue.ahead());
    this.tasks = late().board(this.job, this.step);
  }

  /** Something is on this phone that the page's own numbers do not know. @returns {boolean} */
  get isAhead() {
    return this.standing.turns.length > 0;
  }

  /** @type {(id: string) => Task | undefined} */
  task(id) {
    return this.tasks.find((task) => task.id === id);
  }

  /** @type {(after: string | null) => Task | null} */
  next(after) {
    return late().nextTask(this.tasks, after, this.job.is_lead);
  }

  /** @type {(path: string, query?: string) => string} */
  url(path, query = "") {
    return `${this.base}/${path.split("/").map(encodeURIComponent).join("/")}${query}`;
  }

  // -- going from screen to screen --------------------------------------------------------------

  /** @type {(place: Place, isBack?: boolean) => void} */
  go(place, isBack = false) {
    if (!isLateHere()) return void lateReady().then(() => this.go(place, isBack));
    const there = place.screen === "next" ? this.nextPlace() : place;
    if (!isBack) history.pushState({ place: there }, "", addressOf(this.base, there));
    this.said = "";
    this.show(there);
  }

  /** @returns {Place} */
  nextPlace() {
    const next = this.next(null);
    return next ? { screen: "task", task: next.id } : { screen: "all" };
  }

  /** The same place with what others did meanwhile; on with the next task once it is done. @type {(place: Place) => Promise<void>} */
  async lookAgain(place) {
    await lateReady();
    if (!(await this.askServer())) return this.say(NO_NEWS);
    const isDone = place.screen === "task" && this.task(place.task)?.status === "done";
    this.go(isDone ? { screen: "next" } : place);
  }

  /** @type {(place: Place) => void} */
  show(place) {
    this.place = place;
    void lateReady().then(({ screenOf }) => {
      if (this.place !== place) return; // somebody went on meanwhile
      const main = screenOf(this, place);
      if (main) this.put(main);
      else void this.showFromServer(place);
    });
  }

  /** @type {(place: Place) => Promise<void>} */
  async showFromServer(place) {
    const main = await late().fetchedScreen(addressOf(this.base, place));
    if (this.place !== place) return; // somebody went on meanwhile
    this.put(main ?? late().screenOf(this, { screen: "server", url: "" }) ?? document.createElement("main"));
  }

  /** A screen in place of the one before. @type {(main: HTMLElement) => void} */
  put(main) {
    const title = main.querySelector("h1")?.textContent?.trim() ?? "";
    document.getElementById("main")?.replaceWith(main);
    document.title = `${title} · holdtrue`;
    this.adopt(main);
    const thumb = main.querySelector(".thumb");
    thumb?.toggleAttribute("inert", true);
    setTimeout(() => thumb?.toggleAttribute("inert", false), CALM_MS);
    scrollTo(0, 0);
    this.toHeading(main);
  }

  /** Keys and readers go on from what the screen is called. @type {(main: HTMLElement) => void} */
  toHeading(main) {
    const heading = main.querySelector("h1");
    if (heading instanceof HTMLElement) {
      heading.tabIndex = -1;
      heading.focus({ preventScroll: true });
    }
  }

  /** What every screen needs, the server's own first one too. @type {(main: HTMLElement) => void} */
  adopt(main) {
    const form = main.querySelector("form#task-form");
    if (form instanceof HTMLFormElement) {
      const place = placeOf(this.base, form.action);
      if (place?.screen === "task") {
        form.dataset.task ??= place.task;
        form.dataset.stands ??= this.step.records.get(place.task) ?? "0";
      }
    }
    const undo = main.querySelector("form#undo");
    if (undo instanceof HTMLFormElement) undo.dataset.key = newKey();
    for (const input of lengthInputs(main)) if (input.value) writeEcho(input);
    document.dispatchEvent(new CustomEvent("holdtrue:shown", { detail: { elt: main } }));
    this.bar.write();
  }

  // -- after a tap ------------------------------------------------------------------------------

  /** @type {(entry: Entry) => Promise<void>} */
  async afterTask(entry) {
    this.refresh();
    if (kindOf(entry.task) === "join.ways") document.documentElement.dataset.hand = entry.fields.hand;
    const turn = this.standing.turn(entry.key);
    if (turn && late().resultOf({ job: this.job, entry, before: turn.before, after: turn.after })) {
      return this.go({ screen: "result", key: entry.key, task: entry.task });
    }
    const { place } = this;
    // what is ready may be the server's to work out: where it answers soon, that leads on
    if (!this.next(entry.task)) await late().caughtUp(this);
    if (this.place !== place) return; // somebody went on meanwhile
    const next = this.next(entry.task);
    this.go(next ? { screen: "task", task: next.id, kept: entry.key, what: entry.title, saved: entry.task } : { screen: "all" });
  }

  /** @type {(entry: Entry) => void} */
  afterWay(entry) {
    this.refresh();
    if (entry.fields.what.startsWith("stop:")) return this.go({ screen: "stop", seat: entry.seat });
    this.go({ screen: "result", key: entry.key, task: `fasteners.mark:${entry.seat}` });
  }

  /** @type {(entry: Entry) => void} */
  afterUndo(entry) {
    this.refresh();
    this.go(entry.task ? { screen: "task", task: entry.task } : { screen: "next" });
  }

  /** @type {(words: string) => void} */
  say(words) {
    this.said = words;
    this.bar.write();
  }
}
