/** The line that says what is only on this phone: always there, silent when all is sent. */

import { made, momentWords } from "./words.js";

/** @typedef {import("./types.js").Kept} Kept */
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
    this.list = made("ol", "outbox-list");
    this.note = made("div", "outbox-note");
    this.fold = made("details", "", this.summary, this.note, this.list);
    this.summary.append(this.count);
    this.element.append(this.fold);
    this.element.hidden = true;
    document.getElementById("main")?.before(this.element);
  }

  write() {
    const { queue, sender } = this.app;
    const [waiting, parked] = [queue.waiting(), queue.parked()];
    const unread = queue.store.unreadable().length;
    const count = waiting.length + unread;
    this.element.hidden = count + parked.length === 0 && !this.app.said;
    const words = [
      ...(this.app.said ? [this.app.said] : []),
      ...(count ? [things(count)] : []),
      ...(parked.length ? [`${parked.length} refused: for the lead to settle`] : []),
    ].join(". ");
    if (this.count.textContent !== words) this.count.textContent = words;
    this.element.classList.toggle("outbox-trouble", Boolean(sender.trouble || sender.needsSignIn || parked.length || this.app.said));
    this.note.replaceChildren(...this.notes(waiting, unread));
    this.list.replaceChildren(...[...parked, ...waiting].map((entry) => this.line(entry)));
  }

  /** @type {(waiting: Kept[], unread: number) => Node[]} */
  notes(waiting, unread) {
    const { sender, job } = this.app;
    const notes = [];
    if (sender.needsSignIn) {
      const link = made("a", "button", "Sign in again");
      link.href = job.urls.join;
      notes.push(made("p", "", "The sign-in has ended. All of this stays here and is sent after you sign in again."), link);
    } else if (sender.trouble) notes.push(made("p", "", `Last try: ${sender.trouble}. It tries again by itself.`));
    const others = waiting.find((entry) => sender.isOthers(entry));
    if (others) {
      const button = made("button", "button", `Send them as ${job.name}`);
      button.type = "button";
      button.addEventListener("click", () => this.app.sendForOthers());
      notes.push(made("p", "", `${others.name} recorded these on this phone, and ${job.name} is signed in now.`), button);
    }
    if (unread) notes.push(made("p", "", `${unread} kept by another version of this page: load the page again.`));
    return notes;
  }

  /** @type {(entry: Kept) => HTMLElement} */
  line(entry) {
    const said = Object.entries(entry.fields)
      .filter(([name, text]) => text && !/^(outcome|sure|echoed\.|rows|again|of$)/.test(name))
      .map(([name, text]) => (name === "what" ? text.replaceAll(":", " ").trim() : text)).join(", ");
    const line = made("li", "", made("b", "", entry.title), " ", said, " ", made("span", "soft", `tapped ${momentWords(entry.tapped)}`));
    if (entry.refused !== undefined) line.append(made("p", "outbox-refused", `Refused: ${entry.refused}`));
    return line;
  }
}
