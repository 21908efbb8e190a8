/**
 * The drawings of all tasks: fetched once the first screen can be used, asked for until they are
 * here, kept on this phone while there is room, put into a screen when it is shown.
 */

import { drawAsKnown } from "./drawn.js";
import { isOurs } from "./ours.js";
import { made } from "./words.js";

/** @typedef {import("./app.js").App} App */

const PATIENCE_MS = 30_000;
const AGAIN_MS = [2_000, 4_000, 8_000, 15_000, 30_000];
const NOT_HERE = "Drawing not on this phone yet";

export class Drawings {
  /** @param {App} app @param {Storage} storage */
  constructor(app, storage) {
    this.app = app;
    this.storage = storage;
    this.name = `holdtrue:drawings:${app.job.job}`;
    /** @type {Record<string, string>} */
    this.known = this.kept();
    this.isAsking = false;
    /** Something is lacking, as far as is known. */
    this.isLacking = true;
    this.tries = 0;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
  }

  /** @returns {Record<string, string>} */
  kept() {
    try {
      return JSON.parse(this.storage.getItem(this.name) ?? "{}");
    } catch {
      return {}; // a copy that cannot be read is fetched again
    }
  }

  /** Names of the drawings a piece of the page asks for. @type {(root: ParentNode) => string[]} */
  wanted(root) {
    return [...root.querySelectorAll("[data-drawing]")].map((one) => one.getAttribute("data-drawing") ?? "");
  }

  /** Names of all drawings that a screen of this job may show. @returns {Set<string>} */
  all() {
    const templates = [...document.querySelectorAll("#pack template")];
    const named = templates.flatMap((one) => (one instanceof HTMLTemplateElement ? this.wanted(one.content) : []));
    return new Set([...named, this.app.job.wall].filter(Boolean));
  }

  /** The screens changed: other drawings may be needed. */
  look() {
    this.isLacking = true;
    void this.fetch();
  }

  /** Fetch what the page's screens need and this phone lacks; once more later when it does not come. @returns {Promise<void>} */
  async fetch() {
    if (this.isAsking || !this.isLacking) return;
    const all = this.all();
    const lacking = [...all].filter((id) => !(id in this.known));
    this.isLacking = lacking.length > 0;
    if (!this.isLacking) return;
    clearTimeout(this.timer);
    this.isAsking = true;
    const drawings = await fetched(this.app.job.urls.drawings + (lacking.length === all.size ? "" : `?ids=${lacking.join(",")}`));
    this.isAsking = false;
    if (drawings) this.take(drawings, all);
    else this.timer = setTimeout(() => void this.fetch(), AGAIN_MS[Math.min(this.tries++, AGAIN_MS.length - 1)]);
  }

  /** @type {(drawings: Record<string, string>, all: ReadonlySet<string>) => void} */
  take(drawings, all) {
    this.tries = 0;
    this.isLacking = false; // what the server has no more comes under another name, with news
    Object.assign(this.known, drawings);
    this.keep(all);
    this.fill(document);
  }

  /** Entries come first: drawings are only kept while the outbox has room beside them. @type {(used: ReadonlySet<string>) => void} */
  keep(used) {
    this.known = Object.fromEntries(Object.entries(this.known).filter(([id]) => used.has(id)));
    try {
      this.storage.setItem(this.name, JSON.stringify(this.known));
    } catch {
      this.storage.removeItem(this.name); // no room for copies
    }
  }

  /** Give the copies' room to an entry. @returns {boolean} whether there was any */
  giveWay() {
    const had = this.storage.getItem(this.name) !== null;
    this.storage.removeItem(this.name);
    return had;
  }

  /** Put drawings into a screen, as far as they are here. @type {(root: ParentNode) => void} */
  fill(root) {
    for (const place of root.querySelectorAll("[data-drawing]")) {
      if (place.querySelector("svg")) continue;
      const svg = this.known[place.getAttribute("data-drawing") ?? ""];
      if (!svg) {
        place.replaceChildren(made("p", "reach", NOT_HERE));
        continue;
      }
      // our own server's markup, from this job's own address
      place.innerHTML = svg;
      drawAsKnown(this.app, place);
    }
  }
}

/** @type {(url: string) => Promise<Record<string, string> | null>} null: not now */
async function fetched(url) {
  try {
    const response = await fetch(url, { signal: AbortSignal.timeout(PATIENCE_MS), redirect: "error" });
    return response.ok && isOurs(response) ? await response.json() : null;
  } catch {
    return null; // no network: screens go on without drawings
  }
}
