/**
 * A copy of the phone's pages, so that a reload works with the server off. Served at the root,
 * because a service worker's reach is the folder of its address.
 *
 * Pages come from the network while it answers; the copy only stands in for it. What is recorded
 * never passes through here: that is the outbox's business, and it works without any of this.
 */

const COPIES = "holdtrue-copies-1";
const PHONE = /^\/jobs\/[^/]+\/phone(\/|$)/;
const PATIENCE_MS = 6_000;
const worker = /** @type {any} */ (self);

worker.addEventListener("install", () => worker.skipWaiting());
worker.addEventListener("activate", (/** @type {any} */ event) => event.waitUntil(worker.clients.claim()));

worker.addEventListener("fetch", (/** @type {any} */ event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && PHONE.test(url.pathname)) event.respondWith(page(request, url));
  else if (url.pathname.startsWith("/assets/") || url.pathname.startsWith("/static/")) event.respondWith(asset(request));
});

/** One page holds the whole job: any of its addresses will do for all of them. @type {(url: URL) => string} */
const jobOf = (url) => /** @type {RegExpExecArray} */ (/^\/jobs\/[^/]+\/phone/.exec(url.pathname))[0];

/** @type {(request: Request, url: URL) => Promise<Response>} */
async function page(request, url) {
  const copies = await caches.open(COPIES);
  try {
    const response = await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
    if (response.status >= 500) throw new Error(`the server answered ${response.status}`);
    const isPage = response.ok && !response.redirected && response.headers.get("Content-Type")?.startsWith("text/html");
    if (isPage) await copies.put(jobOf(url), response.clone());
    return response;
  } catch (error) {
    const copy = await copies.match(jobOf(url));
    if (copy) return copy;
    throw error;
  }
}

/** Scripts and styles have a new address when they change. @type {(request: Request) => Promise<Response>} */
async function asset(request) {
  const copies = await caches.open(COPIES);
  const copy = new URL(request.url).pathname.startsWith("/assets/") ? await copies.match(request) : undefined;
  if (copy) return copy;
  try {
    const response = await fetch(request);
    if (response.ok) await copies.put(request, response.clone());
    return response;
  } catch (error) {
    const older = await copies.match(request);
    if (older) return older;
    throw error;
  }
}
