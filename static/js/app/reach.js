/** Whether the server answers, in a quiet line: since when not, and of when a copy is. */

import { clock } from "./times.js";
import { made } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** answered: so it stands. signed out: it answers, but not this phone. lost: no answer of ours. @typedef {"answered" | "signed out" | "lost"} How */

const MINUTE_MS = 60_000;

export class Reach {
  /** @param {App} app @param {Storage} storage */
  constructor(app, storage) {
    this.app = app;
    this.storage = storage;
    this.name = `holdtrue:heard:${app.job.job}`;
    this.isCopy = "copy" in document.documentElement.dataset;
    /** @type {How} */
    this.how = this.isCopy ? "lost" : "answered";
    /** @type {string | null} */
    this.said = null;
    this.element = made("p", "reach");
    this.element.id = "reach";
    this.element.setAttribute("role", "status");
    document.getElementById("outbox")?.after(this.element);
    /** When it last answered, ISO 8601, and the entry of the log the job stood at then. @type {{ at: string, seq: number }} */
    this.heard = this.kept() ?? { at: "", seq: 0 };
    if (this.isCopy) this.write();
    else this.hear("answered");
  }

  /** @type {(how: How) => void} */
  hear(how) {
    this.how = how;
    if (how !== "lost") {
      this.isCopy = false;
      delete document.documentElement.dataset.copy;
    }
    if (how === "answered") this.note();
    this.write();
  }

  note() {
    const { at, seq } = this.heard;
    const now = new Date();
    const isNews = seq !== this.app.job.seq || !(now.getTime() - Date.parse(at) < MINUTE_MS);
    this.heard = { at: now.toISOString(), seq: this.app.job.seq };
    if (!isNews) return; // the phone's storage is not worn out for seconds
    try {
      this.storage.setItem(this.name, JSON.stringify(this.heard));
    } catch {
      // no room even for this: a reload then tells the time of an earlier answer
    }
  }

  /** @returns {{ at: string, seq: number } | null} */
  kept() {
    try {
      return JSON.parse(this.storage.getItem(this.name) ?? "null");
    } catch {
      return null; // torn: as if nothing had been heard
    }
  }

  write() {
    const words = this.words();
    if (this.said === words) return;
    this.said = words;
    this.element.hidden = !words;
    this.element.replaceChildren(words);
    if (this.how !== "signed out") return;
    const link = made("a", "", "sign in again");
    link.href = this.app.job.urls.join;
    this.element.append(": ", link);
  }

  /** @returns {string} */
  words() {
    const time = clock(this.heard.at);
    if (this.how === "answered") return "";
    if (this.how === "signed out") return "Signed out, what others do is not shown here";
    if (!this.isCopy) return time ? `Server not reached since ${time}` : "Server not reached";
    const isOlder = this.app.job.seq < this.heard.seq;
    return `Copy ${isOlder ? "from before" : "of"} ${time || "an unknown time"}, server not reached`;
  }
}
