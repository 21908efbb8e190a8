/** What others did meanwhile: the job as it stands now, fetched while somebody looks. */

/** @typedef {import("./types.js").Job} Job */
/** @typedef {{ job: Job, templates: Record<string, string>, gone: string[] }} News */

const EVERY_MS = 5_000;
const PATIENCE_MS = 8_000;

export class Sync {
  /** @param {{ url: () => string, seq: () => number, take: (news: News) => void }} page */
  constructor(page) {
    this.page = page;
    this.isAsking = false;
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

  /** @returns {Promise<void>} */
  async ask() {
    this.asksAgain = this.isAsking;
    if (this.isAsking) return;
    this.isAsking = true;
    try {
      const news = await fetched(`${this.page.url()}?since=${this.page.seq()}`);
      if (news) this.page.take(news);
    } finally {
      this.isAsking = false;
    }
    if (this.asksAgain) await this.ask();
  }
}

/** News, or null when there are none or no answer. @type {(url: string) => Promise<News | null>} */
async function fetched(url) {
  try {
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const response = await fetch(url, { headers: { Accept: "application/json" }, signal, redirect: "error", cache: "no-store" });
    return response.status === 200 ? await response.json() : null;
  } catch {
    return null; // the outbox says when nothing can be sent; looking is tried again by itself
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
