/**
 * A copy of the page for a reload with the server off, where the browser allows one.
 *
 * The service worker keeps a page as it came. What others did since is written into it here, so that
 * a reload knows what this phone knew. Addresses, headers and scripts stay those of the page that
 * came from the server.
 */

import { isOurs } from "./ours.js";

/** @typedef {import("./app.js").App} App */

const COPIES = "holdtrue-copies-1";
/** After the first screen: what is needed at once comes first. */
const IDLE_MS = 3_000;
/** News that come one upon the other are written once. */
const PAUSE_MS = 500;

export class Copy {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
  }

  /** @returns {boolean} */
  get isAllowed() {
    return isSecureContext && "serviceWorker" in navigator;
  }

  /** The worker for the next opening, and a copy of this one, which was there before its worker. */
  first() {
    if (!this.isAllowed) return;
    const isFirst = !navigator.serviceWorker.controller;
    void navigator.serviceWorker.register("/sw.js").catch(said);
    if (isFirst) setTimeout(() => void this.withAssets().catch(said), IDLE_MS);
  }

  soon() {
    if (!this.isAllowed) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.write().catch(said), PAUSE_MS);
  }

  async withAssets() {
    await this.write();
    const parts = document.querySelectorAll('link[rel="stylesheet"], link[rel="icon"], script[src]');
    const urls = [...parts].map((part) => part.getAttribute("href") ?? part.getAttribute("src") ?? "");
    const script = document.querySelector("script[src]")?.getAttribute("src") ?? "";
    await (await caches.open(COPIES)).addAll([...urls, script.replace(/[^/]*$/, "later.js")]);
  }

  /** The page with the job and the templates as they are now. @returns {Promise<void>} */
  async write() {
    const copies = await caches.open(COPIES);
    const { base } = this.app;
    const known = (await copies.match(base)) ?? (await fetch(location.href, { method: "HEAD", cache: "no-store", redirect: "error" }));
    if (!isOurs(known, "phone")) return;
    const headers = new Headers(known.headers);
    for (const name of ["Content-Length", "Content-Encoding"]) headers.delete(name);
    await copies.put(base, new Response(pageOf(this.app), { headers }));
  }
}

/** An untrusted certificate, storage that is off, no network: the outbox needs none of this. @type {(error: unknown) => void} */
const said = (error) => console.info(`no copy for reloads is kept: ${error}`);

/** What the server sends, without a screen of its own: a start makes the one that was asked for. @type {(app: App) => string} */
function pageOf({ job }) {
  const { lang, dataset } = document.documentElement;
  const json = JSON.stringify({ ...job, at: "" }).replaceAll("<", "\\u003c");
  return `<!doctype html>
<html lang="${lang}" data-look="${dataset.look ?? ""}" data-hand="${dataset.hand ?? ""}">
${document.head.outerHTML}
<body><main id="main" class="task"><h1 class="ask">One moment</h1></main>
${document.getElementById("pack")?.outerHTML ?? ""}
<script type="application/json" id="job">${json}</script>
</body></html>`;
}
