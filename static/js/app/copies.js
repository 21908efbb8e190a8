/** A copy of the page for a reload with the server off, where the browser allows one. */

const COPIES = "holdtrue-copies-1";
const IDLE_MS = 3_000;

/** @type {(base: string) => Promise<void>} */
export async function keepForReload(base) {
  if (!isSecureContext || !("serviceWorker" in navigator)) return;
  try {
    const isFirst = !navigator.serviceWorker.controller;
    await navigator.serviceWorker.register("/sw.js");
    if (!isFirst) return;
    await new Promise((done) => setTimeout(done, IDLE_MS));
    // this page was opened before its worker was there to copy it
    const copies = await caches.open(COPIES);
    const page = await fetch(location.href, { cache: "no-store" });
    if (page.ok && page.headers.get("Content-Type")?.startsWith("text/html")) await copies.put(base, page);
    const parts = document.querySelectorAll('link[rel="stylesheet"], link[rel="icon"], script[src]');
    const urls = [...parts].map((part) => part.getAttribute("href") ?? part.getAttribute("src") ?? "");
    const script = document.querySelector("script[src]")?.getAttribute("src") ?? "";
    await copies.addAll([...urls, script.replace(/[^/]*$/, "later.js")]);
  } catch (error) {
    // an untrusted certificate, storage that is off, no network: the outbox needs none of this
    console.info(`no copy for reloads is kept: ${error}`);
  }
}

/** Who signs out leaves no copy of the job's pages; what is not sent yet stays. */
export function dropCopies() {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form instanceof HTMLFormElement && /\/sign-?out$/.test(form.action) && "caches" in self) void caches.delete(COPIES);
  });
}
