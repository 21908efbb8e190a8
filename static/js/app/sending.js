/** The outbox at work: what each answer of the server means for the screen. */

import { seeAnew } from "./news.js";
import { addressOf } from "./place.js";
import { tell } from "./refused.js";
import { Sender } from "./send.js";
import { fetchedScreen } from "./sync.js";
import { keptWords } from "./where.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./types.js").Kept} Kept */

const SOON_MS = 1_500;
const LOOK_MS = 50;

/** The server has all of this phone's entries and has said what follows; or it does not answer soon. @type {(app: App) => Promise<void>} */
export async function caughtUp({ queue, sender }) {
  const end = Date.now() + SOON_MS;
  while (queue.ahead().length && !sender?.trouble && Date.now() < end) {
    await new Promise((done) => setTimeout(done, LOOK_MS));
  }
}

/** @type {(app: App) => void} */
export function startSending(app) {
  const { queue } = app;
  const sender = new Sender(queue, {
    csrf: () => app.job.csrf,
    person: () => app.job,
    renew: (csrf) => { app.job.csrf = csrf; },
    parkedUrl: () => app.job.urls.parked,
    isAnswered: () => app.askServer(),
  });
  sender.onStored = (entry, seq) => void stored(app, entry, seq);
  sender.onRefused = (entry) => void refused(app, entry);
  sender.onParked = (entry, seq) => {
    if (!tell(queue.store, entry, seq)) app.said = `${entry.title}: refused, with the lead`;
    queue.changed();
    // at its result, too, what became of it is shown once it was refused
    if ("key" in app.place && app.place.key === entry.key) app.show(app.place);
  };
  queue.watch(() => writeKept(app));
  app.sender = sender;
  app.bar.write();
  sender.listen();
}

/** "Mark A1: saved" as it is by now. @type {(app: App) => void} */
function writeKept({ queue }) {
  for (const line of document.querySelectorAll("[data-kept]")) {
    if (line instanceof HTMLElement) keptWords(queue, line);
  }
}

/** On the server's disk: the result as the server draws it, and what it means for the rest. @type {(app: App, entry: Kept, seq: number) => Promise<void>} */
async function stored(app, entry, seq) {
  if (entry.task === "join.ways" && entry.fields.unit !== app.job.unit && !app.queue.waiting().length) {
    location.reload(); // every number on the page is to be written in the other unit
    return;
  }
  await app.askServer();
  const { place } = app;
  if (place.screen !== "result" || place.key !== entry.key || app.queue.waiting().length) return;
  const url = `${app.job.urls.result}${seq}`;
  const main = await fetchedScreen(url);
  if (!main || app.place !== place) return;
  app.place = { screen: "server", url };
  history.replaceState({ place: app.place }, "", url);
  putUnderEyes(app, main);
}

/** The same in better words: what somebody opened stays open, and they stay where they read. @type {(app: App, main: HTMLElement) => void} */
function putUnderEyes(app, main) {
  const opened = [...document.querySelectorAll("#main details[open] > summary")].map((summary) => summary.textContent);
  const y = scrollY;
  for (const fold of main.querySelectorAll("details")) {
    if (opened.includes(fold.querySelector("summary")?.textContent ?? null)) fold.open = true;
  }
  app.put(main);
  scrollTo(0, y);
}

/** What it changed on the screen is not so: say what stands, whose it is, and where this one went. @type {(app: App, entry: Kept) => Promise<void>} */
async function refused(app, entry) {
  await app.askServer();
  const { place } = app;
  const isItsResult = (place.screen === "result" && place.key === entry.key)
    || (place.screen === "stop" && place.seat === entry.seat)
    || (place.screen === "task" && place.task === entry.task && !document.getElementById("task-form"));
  if (!isItsResult) return seeAnew(app);
  app.place = { screen: "refused", key: entry.key, task: entry.task };
  history.replaceState({ place: app.place }, "", addressOf(app.base, app.place));
  app.show(app.place);
}
