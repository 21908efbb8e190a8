// Entries that are only on this phone, told on every page: the count, the way to send them, and a
// question before somebody signs out. Works from this phone's storage alone; no dependency.

const ENTRY = /^holdtrue:outbox:([^:]+):\d+:/;
const COPIES = "holdtrue-copies-1";
const SIGN_OUT = /\/sign-?out$/;

/** Jobs with entries that are not sent. @returns {Map<string, { count: number, work: string }>} */
function unsent() {
  const jobs = new Map();
  for (let i = 0; i < localStorage.length; i += 1) {
    const name = localStorage.key(i) ?? "";
    const job = ENTRY.exec(name)?.[1];
    if (!job) continue;
    const known = jobs.get(job) ?? { count: 0, work: "" };
    jobs.set(job, { count: known.count + 1, work: known.work || workOf(localStorage.getItem(name)) });
  }
  return jobs;
}

/** The title of an entry's job; "" when it does not say. @type {(text: string | null) => string} */
function workOf(text) {
  try {
    return String(JSON.parse(text ?? "null")?.work ?? "");
  } catch {
    return ""; // kept by another version: it counts all the same
  }
}

/** @type {(count: number) => string} */
const entries = (count) => (count === 1 ? "1 entry" : `${count} entries`);

/** A line for every other job than the one on the screen, whose own outbox says it. */
function show() {
  document.getElementById("unsent")?.remove();
  const here = document.getElementById("job") && /^\/jobs\/([^/]+)\/phone/.exec(location.pathname)?.[1];
  const others = [...unsent()].filter(([job]) => job !== here);
  if (!others.length) return;
  const box = document.createElement("aside");
  box.id = "unsent";
  box.className = "unsent";
  box.setAttribute("aria-label", "Not sent yet");
  for (const [job, { count, work }] of others) {
    const line = document.createElement("span");
    const link = document.createElement("a");
    link.href = `/jobs/${encodeURIComponent(job)}/phone`;
    link.textContent = "open it to send them";
    line.append(`${entries(count)} of ${work || `job ${job}`} only on this phone: `, link, ". ");
    box.append(line);
  }
  document.getElementById("main")?.before(box);
}

/** Once asked, the same button signs out. @type {(form: HTMLFormElement, count: number) => void} */
function ask(form, count) {
  form.dataset.asked = "";
  const notice = document.createElement("p");
  notice.className = "notice notice-warn";
  notice.setAttribute("role", "alert");
  notice.textContent = `${entries(count)} only on this phone. Signed out, nothing is sent; it stays here and is sent `
    + "after you sign in again. Press once more to sign out all the same.";
  form.before(notice);
}

// In the capture phase: before anything else sends the form.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !SIGN_OUT.test(form.action)) return;
  const count = [...unsent().values()].reduce((sum, job) => sum + job.count, 0);
  if (count && !("asked" in form.dataset)) {
    event.preventDefault();
    event.stopImmediatePropagation();
    return ask(form, count);
  }
  // who signs out leaves no copy of the job's pages; what is not sent yet stays
  if ("caches" in self) void caches.delete(COPIES);
  for (const name of Object.keys(localStorage)) if (/^holdtrue:(stops|heard):/.test(name)) localStorage.removeItem(name);
}, true);

addEventListener("storage", show);
addEventListener("pageshow", show);
show();

export {};
