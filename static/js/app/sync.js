/** What others did meanwhile: the job as it stands now, fetched while somebody looks. */

/** @typedef {import("./types.js").Job} Job */
/** others: names of who else wrote since. @typedef {{ job: Job, templates: Record<string, string>, gone: string[], others: string[] }} News */

const EVERY_MS = 5_000;
const PATIENCE_MS = 8_000;

export class Sync {
  /** @param {{ url: () => string, seq: () => number, take: (news: News) => void, hear: () => void }} page */
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
    let isAnswered = false;
    do {
      this.asksAgain = false;
      const news = await fetched(`${this.page.url()}?since=${this.page.seq()}`);
      isAnswered = news !== "no answer";
      if (typeof news === "object") this.page.take(news);
      if (isAnswered) this.page.hear();
    } while (this.asksAgain);
    return isAnswered;
  }
}

/** @type {(url: string) => Promise<News | "no news" | "no answer">} */
async function fetched(url) {
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const response = await fetch(url, { headers: { Accept: "application/json" }, signal, redirect: "error", cache: "no-store" });
    if (response.status === 200) return await response.json();
    return response.ok ? "no news" : "no answer";
  } catch {
    return "no answer"; // the outbox says when nothing can be sent; looking is tried again by itself
  }
}

/** A screen only the server can show, or null when it does not answer. @type {(url: string) => Promise<HTMLElement | null>} */
export async function fetchedScreen(url) {
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const response = await fetch(url, { headers: { "HX-Request": "true" }, signal, redirect: "error", cache: "no-store" });
    if (!response.ok) return null;
    const parsed = new DOMParser().parseFromString(await response.text(), "text/html");
    const main = parsed.getElementById("main");
    return main ? document.importNode(main, true) : null;
  } catch {
    return null; // offline: the caller says so on the screen
  }
}
