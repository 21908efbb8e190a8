/**
 * The outbox's policy: when to send, and what each answer means.
 *
 * One entry at a time, oldest first; nothing overtakes. Only a JSON answer of our own server counts:
 * a page with status 200 from a portal or a proxy is no acknowledgement. Whether the browser thinks
 * it is online is not asked: it is often wrong.
 */

import { bodyOf, parkedBodyOf } from "./bodies.js";

/** @typedef {import("./types.js").Kept} Kept */
/**
 * stored: on the server's disk. refused: never to be taken as it is. sign-in: the session is gone.
 * later: no answer, or none that says what became of it.
 * @typedef {{ how: "stored", seq: number, latest: number } | { how: "refused", words: string }
 *   | { how: "sign-in", csrf: string | null } | { how: "later", words: string }} Answer
 */

const PATIENCE_MS = 8_000;
const AGAIN_MS = [1_000, 2_000, 4_000, 8_000, 15_000];
const NO_ANSWER = "no answer from the server";

/**
 * Post and say what became of it; never throws for what a network does.
 * @type {(url: string, body: FormData, csrf: string) => Promise<Answer>}
 */
export async function post(url, body, csrf) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const response = await fetch(url, {
      method: "POST", body, redirect: "error", signal: patience.signal, cache: "no-store",
      headers: { Accept: "application/json", "X-Outbox": "1", "X-CSRF": csrf },
    });
    return answerOf(response.status, await response.text());
  } catch {
    // refused, timed out, cut off half way: whether it was stored is not known, so it stays
    return { how: "later", words: NO_ANSWER };
  } finally {
    clearTimeout(timer);
  }
}

/** @type {(status: number, text: string) => Answer} */
export function answerOf(status, text) {
  const said = readJson(text);
  if (status === 200 && Number.isInteger(said?.stored)) {
    return { how: "stored", seq: said.stored, latest: said.seq ?? said.stored };
  }
  if (status === 401 && said) return { how: "sign-in", csrf: said.csrf ?? null };
  if (typeof said?.refused === "string") return { how: "refused", words: said.refused };
  if (status === 413) return { how: "refused", words: "The server takes nothing this large." };
  const what = status >= 500 ? "the server has a fault" : status === 429 ? "the server is busy" : "";
  return { how: "later", words: `${what || NO_ANSWER} (${status})` };
}

/** @type {(text: string) => any} */
function readJson(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null; // a page, not an answer
  }
}

export class Sender {
  /**
   * @param {import("./queue.js").Queue} queue
   * @param {{ csrf: () => string, person: () => { person: string, name: string }, renew: (csrf: string) => void,
   *   parkedUrl: () => string }} session
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
    /** @type {(entry: Kept, seq: number) => void} */
    this.onStored = () => undefined;
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
    for (const entry of this.queue.parked()) {
      if (this.isOthers(entry)) return true;
      if (!(await this.park(entry))) return false;
    }
    return true;
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
    if (answer.how === "stored") {
      this.tries = 0;
      this.queue.acknowledge(entry, answer.seq);
      this.onStored(entry, answer.seq);
      return true;
    }
    if (answer.how === "refused") this.queue.refuse(entry, answer.words);
    return answer.how === "refused";
  }

  /** An entry this phone has no room to keep: sent while somebody waits, behind all others. @type {(entry: import("./types.js").Entry) => Promise<boolean>} */
  async straight(entry) {
    if (!this.isRunning) await this.run();
    if (this.queue.waiting().length) return false;
    const kept = { ...entry, at: "" };
    const answer = await this.ask(entry.url, bodyOf(kept));
    if (answer.how === "refused") this.trouble = answer.words;
    if (answer.how !== "stored") return false;
    this.queue.acknowledge(kept, answer.seq);
    this.onStored(kept, answer.seq);
    return true;
  }

  /** @type {(entry: Kept) => Promise<boolean>} */
  async park(entry) {
    const answer = await this.ask(this.session.parkedUrl(), parkedBodyOf(entry));
    if (answer.how === "stored") this.queue.handedOver(entry);
    if (answer.how === "refused") this.trouble = answer.words;
    return answer.how === "stored";
  }
}
