/** The line that says what is only on this phone: always there, silent when all is sent. */

import { isLateHere, late } from "./late.js";
import { made } from "./words.js";

/** @typedef {import("./app.js").App} App */

/** How many, in words. @type {(count: number) => string} */
const things = (count) => `${count} not sent: only on this phone`;

export class Bar {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.element = made("aside", "unsent outbox");
    this.element.id = "outbox";
    this.element.setAttribute("aria-label", "Not sent yet");
    this.summary = made("summary");
    this.count = made("span", "outbox-count");
    this.count.setAttribute("role", "status");
    this.inside = made("div");
    this.summary.append(this.count);
    this.element.append(made("details", "", this.summary, this.inside));
    this.element.hidden = true;
    document.getElementById("main")?.before(this.element);
  }

  write() {
    const { queue, said } = this.app;
    const count = queue.waiting().length + queue.store.unreadable().length;
    const more = isLateHere() ? late().outboxOf(this.app) : null;
    const words = [said, count && things(count), more?.words].filter(Boolean).join(". ");
    this.element.hidden = !words;
    if (this.count.textContent !== words) this.count.textContent = words;
    this.element.classList.toggle("outbox-trouble", Boolean(said || more?.isTrouble));
    this.inside.replaceChildren(...(more?.inside ?? []));
  }
}
