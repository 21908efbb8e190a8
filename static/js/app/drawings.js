/**
 * The drawings of all tasks: fetched once the first screen can be used, kept on this phone while
 * there is room, put into a screen when it is shown.
 */

/** @typedef {import("./app.js").App} App */

const PATIENCE_MS = 30_000;

export class Drawings {
  /** @param {Storage} storage @param {string} job @param {() => string} url @param {(figure: Element) => void} dress what else a drawing needs that was just put in */
  constructor(storage, job, url, dress) {
    this.storage = storage;
    this.name = `holdtrue:drawings:${job}`;
    this.url = url;
    this.dress = dress;
    /** @type {Record<string, string>} */
    this.known = this.kept();
    this.isAsking = false;
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

  /** Fetch what the page's screens need and this phone lacks. @returns {Promise<void>} */
  async fetch() {
    const templates = [...document.querySelectorAll("#pack template")];
    const all = new Set(templates.flatMap((one) => (one instanceof HTMLTemplateElement ? this.wanted(one.content) : [])));
    const lacking = [...all].filter((id) => !(id in this.known));
    if (!lacking.length || this.isAsking) return;
    this.isAsking = true;
    try {
      const query = lacking.length === all.size ? "" : `?ids=${lacking.join(",")}`;
      const response = await fetch(this.url() + query, { signal: AbortSignal.timeout(PATIENCE_MS), redirect: "error" });
      if (!response.ok) return;
      Object.assign(this.known, await response.json());
      this.keep(all);
      this.fill(document);
    } catch {
      // no network: screens go on without drawings, and the next news asks again
    } finally {
      this.isAsking = false;
    }
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

  /** Put drawings into a screen. @type {(root: ParentNode) => void} */
  fill(root) {
    for (const figure of root.querySelectorAll("[data-drawing]:empty")) {
      const svg = this.known[figure.getAttribute("data-drawing") ?? ""];
      if (!svg) continue;
      // our own server's markup, from this job's own address
      figure.innerHTML = svg;
      this.dress(figure);
    }
  }
}
