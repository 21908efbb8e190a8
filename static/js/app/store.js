/**
 * The outbox's storage: this phone's localStorage, one item per entry, nothing else.
 *
 * One item per entry, because then writing one is all or nothing, and two tabs of the same job
 * never overwrite each other's list. Items are never expired and never dropped when they cannot be
 * read: what a later version cannot read is still counted.
 */

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Kept} Kept */

const DIGITS = 8;

/** The phone's storage has no room: nothing was saved. */
export class FullError extends Error {}

export class Store {
  /** @param {Storage} storage @param {string} job */
  constructor(storage, job) {
    this.storage = storage;
    this.prefix = `holdtrue:outbox:${job}:`;
    this.sent = `holdtrue:stored:${job}:`;
    this.refused = `holdtrue:refused:${job}:`;
    /** What else of ours may be thrown away to make room; true when something was. */
    this.makeRoom = () => false;
  }

  /** Every entry in the order it was made. @returns {Kept[]} */
  all() {
    return this.names().flatMap((at) => {
      const entry = this.read(at);
      return entry ? [{ ...entry, at }] : [];
    });
  }

  /** Items that are here and cannot be read by this version. @returns {string[]} */
  unreadable() {
    return this.names().filter((at) => this.read(at) === null);
  }

  /** @type {(prefix?: string) => string[]} */
  names(prefix = this.prefix) {
    const names = [];
    for (let i = 0; i < this.storage.length; i += 1) {
      const name = this.storage.key(i);
      if (name?.startsWith(prefix)) names.push(name);
    }
    return names.sort();
  }

  /** @type {(at: string) => Entry | null} */
  read(at) {
    try {
      const entry = JSON.parse(this.storage.getItem(at) ?? "null");
      return entry && typeof entry.key === "string" && typeof entry.url === "string" ? entry : null;
    } catch (error) {
      if (error instanceof SyntaxError) return null;
      throw error;
    }
  }

  /** Keep a new entry behind all others. @type {(entry: Entry) => Kept} */
  add(entry) {
    const last = this.names().at(-1)?.slice(this.prefix.length, this.prefix.length + DIGITS) ?? "0";
    const number = String(Number(last) + 1).padStart(DIGITS, "0");
    const at = `${this.prefix}${number}:${entry.key}`;
    this.write(at, entry);
    return { ...entry, at };
  }

  /** @type {(at: string, entry: Entry | Kept) => void} */
  write(at, entry) {
    const { at: _, ...plain } = /** @type {Kept} */ (entry);
    const text = JSON.stringify(plain);
    try {
      this.storage.setItem(at, text);
    } catch (error) {
      // browsers name it differently; whatever was the reason, it is not saved
      if (!this.makeRoom()) throw new FullError("this phone's storage is full", { cause: error });
      this.write(at, entry);
    }
  }

  /** What the server has, for a reload from a copy of the page that is older. @type {(entry: Entry) => void} */
  remember(entry) {
    try {
      this.storage.setItem(this.sent + String(entry.stored).padStart(DIGITS, "0"), JSON.stringify(entry));
    } catch {
      // it is on the server's disk: only an old copy of the page would have wanted it
    }
  }

  /** Of what the server has, all behind an entry of its log; the rest is forgotten. @type {(seq: number) => Entry[]} */
  remembered(seq) {
    return this.names(this.sent).flatMap((at) => {
      const entry = this.read(at);
      if (entry && (entry.stored ?? 0) > seq) return [entry];
      this.storage.removeItem(at);
      return [];
    });
  }

  /** @type {(at: string) => void} */
  remove(at) {
    this.storage.removeItem(at);
  }
}
