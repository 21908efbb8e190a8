/** What others did meanwhile: the job as it stands now, fetched while somebody looks. */

import { isOurs } from "./ours.js";

/** @typedef {import("./types.js").Job} Job */
/** others: names of who else wrote since. @typedef {{ job: Job, templates: Record<string, string>, gone: string[], others: string[] }} News */
/** @typedef {import("./reach.js").How} How */

const EVERY_MS = 5_000;
const PATIENCE_MS = 8_000;

export class Sync {
  /**
   * @param {{ url: () => string, seq: () => number, take: (news: News) => void,
   *   hear: (how: How) => void }} page
   */
  constructor(page) {
    this.page = page;
    /** @type {Promise<boolean> | null} */
    this.running = null;
    this.asksAgain = false;
  }

  listen() {
    setInterval(() => {
      if (document.visibilityState === "visible") void this.ask();
    }, EVERY_MS);
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void this.ask();
    });
  }

  /** @returns {Promise<boolean>} whether the server answered something asked from now on */
  ask() {
    this.asksAgain = this.running !== null;
    this.running ??= this.askAll().finally(() => { this.running = null; });
    return this.running;
  }

  /** @returns {Promise<boolean>} */
  async askAll() {
    /** @type {How} */
    let how;
    do {
      this.asksAgain = false;
      const news = await fetched(`${this.page.url()}?since=${this.page.seq()}`);
      how = typeof news === "object" ? "answered" : news;
      if (typeof news === "object") this.page.take(news);
      this.page.hear(how);
    } while (this.asksAgain);
    return how === "answered";
  }
}

/** The news, or how the server answered when there are none. @type {(url: string) => Promise<News | How>} */
async function fetched(url) {
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const response = await fetch(url, { headers: { Accept: "application/json" }, signal, redirect: "error", cache: "no-store" });
    if (!isOurs(response)) return "lost";
    if (response.status === 200) return await response.json();
    return response.ok ? "answered" : response.status < 500 ? "signed out" : "lost";
  } catch {
    return "lost"; // the line under the outbox's says so; looking is tried again by itself
  }
}

/** A screen only the server can show, or null when it does not answer. @type {(url: string) => Promise<HTMLElement | null>} */
export async function fetchedScreen(url) {
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const response = await fetch(url, { headers: { "HX-Request": "true" }, signal, redirect: "error", cache: "no-store" });
    if (!response.ok || !isOurs(response)) return null;
    const parsed = new DOMParser().parseFromString(await response.text(), "text/html");
    const main = parsed.getElementById("main");
    return main ? document.importNode(main, true) : null;
  } catch {
    return null; // offline: the caller says so on the screen
  }
}
