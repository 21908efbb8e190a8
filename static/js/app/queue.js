/**
 * The outbox's order: what is to be sent next, what was stored, what was refused.
 *
 * Rules: first made, first sent; an entry leaves only when the server has acknowledged its key, or,
 * refused, when the lead's list on the server holds it; a stored one stays known until the page
 * itself shows it.
 */

import { FullError } from "./store.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Kept} Kept */

export class Queue {
  /** @param {import("./store.js").Store} store */
  constructor(store) {
    this.store = store;
    /** Stored on the server, not yet in the page's job. @type {Entry[]} */
    this.stored = [];
    /** Kept only by the running page, for want of storage. @type {Kept[]} */
    this.unwritten = [];
    /** @type {(() => void)[]} */
    this.watchers = [];
  }

  /** @type {(watcher: () => void) => void} */
  watch(watcher) {
    this.watchers.push(watcher);
  }

  changed() {
    for (const watcher of this.watchers) watcher();
  }

  /** All that is still here, oldest first. @returns {Kept[]} */
  all() {
    const changed = new Map(this.unwritten.map((entry) => [entry.at, entry]));
    return this.store.all().map((entry) => changed.get(entry.at) ?? entry);
  }

  /** To be sent, oldest first. @returns {Kept[]} */
  waiting() {
    return this.all().filter((entry) => entry.refused === undefined);
  }

  /** Refused by the server, not yet on the lead's list. @returns {Kept[]} */
  parked() {
    return this.all().filter((entry) => entry.refused !== undefined);
  }

  /** Everything the page's job does not hold yet, oldest first. @returns {Entry[]} */
  ahead() {
    const waiting = this.waiting();
    const sent = new Set(this.stored.map(({ key }) => key));
    return [...this.stored, ...waiting.filter(({ key }) => !sent.has(key))];
  }

  /** A page was opened that stands after this entry of the log. @type {(seq: number) => void} */
  open(seq) {
    this.stored = this.store.remembered(seq);
  }

  /** Throws FullError when the phone has no room; then nothing is kept. @type {(entry: Entry) => Kept} */
  add(entry) {
    const known = this.all().find(({ key }) => key === entry.key);
    const kept = known ?? this.store.add(entry);
    this.changed();
    return kept;
  }

  /** The server has this entry on its disk. @type {(entry: Kept, seq: number) => void} */
  acknowledge(entry, seq) {
    const { at: _, photo: __, ...plain } = entry;
    const stored = { ...plain, stored: seq };
    this.stored.push(stored);
    this.store.remember(stored);
    this.store.remove(entry.at);
    this.forget(entry.at);
    this.changed();
  }

  /** The server will not take it: it is the lead's to settle. @type {(entry: Kept, words: string) => void} */
  refuse(entry, words) {
    const parked = { ...entry, refused: words };
    try {
      this.store.write(entry.at, parked);
    } catch (error) {
      if (!(error instanceof FullError)) throw error;
      // the entry itself is still there and would be refused once more: nothing is lost
      this.unwritten.push(parked);
    }
    this.changed();
  }

  /** The lead's list on the server has it. @type {(entry: Kept) => void} */
  handedOver(entry) {
    this.store.remove(entry.at);
    this.forget(entry.at);
    this.changed();
  }

  /** The page's job now stands after this entry of the log. @type {(seq: number) => void} */
  caughtUp(seq) {
    this.stored = this.stored.filter((entry) => (entry.stored ?? 0) > seq);
  }

  /** @type {(at: string) => void} */
  forget(at) {
    this.unwritten = this.unwritten.filter((entry) => entry.at !== at);
  }
}
