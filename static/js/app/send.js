/**
 * The outbox's policy: when to send, and what follows from each answer.
 *
 * One entry at a time, oldest first; nothing overtakes. Whether the browser thinks it is online is
 * not asked: it is often wrong.
 */

import { post } from "./answers.js";
import { bodyOf, bytesOf, parkedBodyOf } from "./bodies.js";

/** @typedef {import("./types.js").Kept} Kept */
/** @typedef {import("./answers.js").Answer} Answer */

const AGAIN_MS = [1_000, 2_000, 4_000, 8_000, 15_000];
const NO_PHOTO = "the photo did not arrive whole";
/** So many faults on one entry, while the server answers others, are that entry's own. */
const FAULTS = 4;

/** The server falls over this entry and answers others. @type {(sender: Sender, entry: Kept) => boolean} */
export const isStuck = ({ stuck }, { key }) => stuck === key;

export class Sender {
  /**
   * @param {import("./queue.js").Queue} queue
   * @param {{ csrf: () => string, person: () => { person: string, name: string }, renew: (csrf: string) => void,
   *   parkedUrl: () => string, isAnswered: () => Promise<boolean> }} session
   */
  constructor(queue, session) {
    this.queue = queue;
    this.session = session;
    this.tries = 0;
    this.isRunning = false;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
    /** Why the last try did not end well; "" when it did. */
    this.trouble = "";
    this.needsSignIn = false;
    /** Entries of somebody else on this phone may be sent as who is signed in now. */
    this.sendsForOthers = false;
    /** Key of an entry to how often the server fell over it. @type {Map<string, number>} */
    this.faults = new Map();
    this.stuck = "";
    /** @type {(entry: Kept, seq: number) => void} */
    this.onStored = () => undefined;
    /** @type {(entry: Kept) => void} */
    this.onRefused = () => undefined;
    /** The lead's list has it. @type {(entry: Kept, seq: number) => void} */
    this.onParked = () => undefined;
  }

  listen() {
    for (const name of ["online", "pageshow", "focus"]) addEventListener(name, () => this.kick());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") this.kick();
    });
    this.kick();
  }

  /** Try now, whatever was said before. */
  kick() {
    clearTimeout(this.timer);
    this.timer = undefined;
    if (!this.isRunning) void this.run();
  }

  async run() {
    this.isRunning = true;
    let isDone = false;
    try {
      isDone = await this.sendAll();
    } finally {
      this.isRunning = false;
      this.queue.changed();
    }
    if (isDone) this.tries = 0;
    else this.timer = setTimeout(() => this.kick(), AGAIN_MS[Math.min(this.tries++, AGAIN_MS.length - 1)]);
  }

  /** Whose entry would be sent under another's name: that is asked first. @type {(entry: Kept) => boolean} */
  isOthers(entry) {
    const { person, name } = this.session.person();
    // who joins once more by the code is a new person to the server, with the same name
    return entry.person !== person && entry.name !== name && !this.sendsForOthers;
  }

  /** @returns {Promise<boolean>} whether nothing is left that may be sent */
  async sendAll() {
    for (let next = this.queue.waiting()[0]; next; next = this.queue.waiting()[0]) {
      if (this.isOthers(next)) return true;
      if (!(await this.sendOne(next))) return false;
    }
    let isDone = true;
    // one that the lead's list cannot take keeps no other from it
    for (const entry of this.queue.parked()) {
      if (this.isOthers(entry)) return true;
      isDone = (await this.park(entry)) && isDone;
    }
    return isDone;
  }

  /** @type {(url: string, body: FormData) => Promise<Answer>} */
  async ask(url, body) {
    let answer = await post(url, body, this.session.csrf());
    if (answer.how === "sign-in" && answer.csrf) {
      // signed in again meanwhile, perhaps in another tab: this page's token was the old one
      this.session.renew(answer.csrf);
      answer = await post(url, body, this.session.csrf());
    }
    this.needsSignIn = answer.how === "sign-in";
    this.trouble = answer.how === "later" ? answer.words : "";
    return answer;
  }

  /** @type {(entry: Kept) => Promise<boolean>} */
  async sendOne(entry) {
    const answer = await this.ask(entry.url, bodyOf(entry));
    await this.count(entry, answer);
    if (answer.how === "stored" && this.isWhole(entry, answer.photo)) {
      this.tries = 0;
      this.queue.acknowledge(entry, answer.seq);
      this.onStored(entry, answer.seq);
      return true;
    }
    if (answer.how !== "refused") return false;
    this.queue.refuse(entry, answer.words);
    this.onRefused(entry);
    return true;
  }

  /** No photo leaves this phone that the server does not say it has. @type {(entry: Kept, bytes: number) => boolean} */
  isWhole({ photo }, bytes) {
    const isWhole = !photo || bytes === bytesOf(photo);
    if (!isWhole) this.trouble = NO_PHOTO;
    return isWhole;
  }

  /** Whether it is this entry that the server falls over. @type {(entry: Kept, answer: Answer) => Promise<void>} */
  async count({ key }, answer) {
    if (answer.how !== "later" || !answer.isFault) {
      if (answer.how !== "later") this.faults.delete(key);
      this.stuck = "";
      return;
    }
    const times = (this.faults.get(key) ?? 0) + 1;
    this.faults.set(key, times);
    if (times >= FAULTS && (await this.session.isAnswered())) this.stuck = key;
  }

  /** Somebody lets an entry go to the lead's list that the server fails on: the rest goes on. @type {(entry: Kept) => void} */
  giveUp(entry) {
    this.stuck = "";
    this.queue.refuse(entry, `The server failed on it, ${this.faults.get(entry.key)} times.`);
    this.kick();
  }

  /** An entry this phone has no room to keep: sent while somebody waits, behind all others. @type {(entry: import("./types.js").Entry) => Promise<boolean>} */
  async straight(entry) {
    if (!this.isRunning) await this.run();
    if (this.queue.waiting().length) return false;
    const kept = { ...entry, at: "" };
    const answer = await this.ask(entry.url, bodyOf(kept));
    if (answer.how === "refused") this.trouble = answer.words;
    if (answer.how !== "stored" || !this.isWhole(kept, answer.photo)) return false;
    this.queue.acknowledge(kept, answer.seq);
    this.onStored(kept, answer.seq);
    return true;
  }

  /** @type {(entry: Kept) => Promise<boolean>} whether nothing more can be done about it now */
  async park(entry) {
    const answer = await this.ask(this.session.parkedUrl(), parkedBodyOf(entry));
    if (answer.how === "refused") {
      // as it is the list will never take it: it stays here, and is tried when somebody looks again
      this.trouble = answer.words;
      return true;
    }
    if (answer.how !== "stored" || !this.isWhole(entry, answer.photo)) return false;
    this.queue.handedOver(entry);
    this.onParked(entry, answer.seq);
    return true;
  }
}
