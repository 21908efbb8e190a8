/**
 * A copy of the phone's pages, so that a reload works with the server off. Served at the root,
 * because a service worker's reach is the folder of its address.
 *
 * Pages come from the network while our own server answers; the copy only stands in for it. What a
 * portal, a proxy or a stranger on its port answers is neither shown in its place nor kept. What is
 * recorded never passes through here: that is the outbox's business, and it works without any of
 * this.
 */

const COPIES = "holdtrue-copies-1";
const PHONE = /^\/jobs\/[^/]+\/phone(\/|$)/;
const PATIENCE_MS = 6_000;
const MARK = "X-Holdtrue";
const worker = /** @type {any} */ (self);
/** A page that a redirect of ours led to, for the opening of its address that follows at once. @type {Map<string, Response>} */
const led = new Map();

worker.addEventListener("install", () => worker.skipWaiting());
worker.addEventListener("activate", (/** @type {any} */ event) => event.waitUntil(worker.clients.claim()));

worker.addEventListener("fetch", (/** @type {any} */ event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && PHONE.test(url.pathname)) event.respondWith(page(event, url));
  else if (url.pathname.startsWith("/assets/") || url.pathname.startsWith("/static/")) event.respondWith(asset(request));
});

/** One page holds the whole job: any of its addresses will do for all of them. @type {(url: URL) => string} */
const jobOf = (url) => PHONE.test(url.pathname) ? /** @type {RegExpExecArray} */ (/^\/jobs\/[^/]+\/phone/.exec(url.pathname))[0] : "";

/** @type {(event: any, url: URL) => Promise<Response>} */
async function page(event, url) {
  try {
    return await answered(event, url);
  } catch (error) {
    const copy = await (await caches.open(COPIES)).match(jobOf(url));
    if (copy) return marked(copy);
    // nothing to stand in for it: what the browser itself makes of it, a portal's sign-in too
    return fetch(event.request);
  }
}

/** What our server answers; an error when it does not. @type {(event: any, url: URL) => Promise<Response>} */
async function answered(event, url) {
  const at = url.pathname + url.search;
  const response = led.get(at) ?? (await fetched(event.request, at));
  led.clear();
  if (!response.headers.has(MARK)) throw new Error("somebody else answered");
  if (response.status >= 500) throw new Error(`the server answered ${response.status}`);
  const final = new URL(response.url);
  const isPage = response.ok && response.headers.get(MARK) === "phone" && jobOf(final) === jobOf(url);
  if (final.pathname + final.search !== at) {
    if (isPage) led.set(final.pathname + final.search, response);
    return Response.redirect(final.href, 303);
  }
  if (isPage) event.waitUntil(keep(jobOf(url), plain(response.clone())));
  return plain(response);
}

/** @type {(job: string, response: Response) => Promise<void>} */
const keep = async (job, response) => (await caches.open(COPIES)).put(job, response);

/** Patience ends when it begins to answer: a slow line may take its time. @type {(request: Request, at: string) => Promise<Response>} */
async function fetched({ headers }, at) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const accept = headers.get("Accept") ?? "text/html";
    return await fetch(at, { headers: { Accept: accept }, cache: "no-store", signal: patience.signal });
  } finally {
    clearTimeout(timer);
  }
}

/** An answer that was reached by a redirect is not taken for the address asked for. @type {(response: Response) => Response} */
const plain = (response) => (response.redirected
  ? new Response(response.body, { status: response.status, statusText: response.statusText, headers: response.headers }) : response);

/** The copy says that it is one, until the page hears from the server. @type {(copy: Response) => Promise<Response>} */
async function marked(copy) {
  const html = (await copy.text()).replace("<html ", '<html data-copy="" ');
  return new Response(html, { headers: copy.headers });
}

/** Scripts and styles have a new address when they change. @type {(request: Request) => Promise<Response>} */
async function asset(request) {
  const copies = await caches.open(COPIES);
  const copy = new URL(request.url).pathname.startsWith("/assets/") ? await copies.match(request) : undefined;
  if (copy) return copy;
  try {
    const response = await fetch(request);
    if (response.headers.get("Content-Type")?.startsWith("text/html")) throw new Error("a page in a file's place");
    if (response.ok) await copies.put(request, response.clone());
    return response;
  } catch (error) {
    const older = await copies.match(request);
    if (older) return older;
    throw error;
  }
}
