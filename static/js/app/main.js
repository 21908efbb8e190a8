/** Starts the job on this phone: the page's JSON, the outbox, the first screen. */

import { App } from "./app.js";
import { listenToForms } from "./forms.js";
import { late, lateReady } from "./late.js";
import { listenToPlaces, placeOf } from "./place.js";
import { Queue } from "./queue.js";
import { Sender } from "./send.js";
import { Store } from "./store.js";
import { keptWords } from "./where.js";

/** @typedef {import("./types.js").Job} Job */
/** @typedef {import("./sync.js").Sync} Sync */

const text = document.getElementById("job")?.textContent;
if (text) void start(JSON.parse(text));

/** @type {(job: Job) => Promise<void>} */
async function start(job) {
  const queue = new Queue(new Store(localStorage, job.job));
  queue.open(job.seq);
  // what is not sent yet is played before the first screen is shown
  if (queue.ahead().length) await lateReady();
  const app = new App(job, queue, (own) => new Sender(queue, {
    csrf: () => own.job.csrf,
    person: () => own.job,
    renew: (csrf) => { own.job.csrf = csrf; },
    parkedUrl: () => own.job.urls.parked,
  }));
  queue.watch(() => {
    app.refresh();
    app.bar.write();
    for (const line of document.querySelectorAll("[data-kept]")) {
      if (line instanceof HTMLElement) line.textContent = keptWords(queue, line);
    }
  });
  addEventListener("storage", () => queue.changed());
  listenToForms(app);
  listenToPlaces(app.base, {
    go: (place, isBack) => app.go(place, isBack),
    lookAgain: (place) => void app.lookAgain(place),
  });
  firstScreen(app);
  document.documentElement.dataset.app = "usable";
  const { begin } = await lateReady();
  app.refresh();
  const sync = begin(app);
  app.askServer = () => sync.ask();
  app.sender.onStored = (entry, seq) => void stored(app, sync, entry, seq);
  app.sender.listen();
  document.documentElement.dataset.app = "ready";
}

/** The server's own first screen stays, unless this phone knows more than it did. @type {(app: App) => void} */
function firstScreen(app) {
  const known = history.state?.place;
  const place = known ?? placeOf(app.base, location.href) ?? { screen: "next" };
  const main = document.getElementById("main");
  const isAsAsked = app.job.at === location.pathname + location.search;
  if (!main || app.isAhead || !isAsAsked) return app.show(place);
  app.place = place;
  app.adopt(main);
}

/** On the server's disk: the result as the server draws it, and what it means for the rest. @type {(app: App, sync: Sync, entry: import("./types.js").Kept, seq: number) => Promise<void>} */
async function stored(app, sync, entry, seq) {
  if (entry.task === "join.ways" && entry.fields.unit !== app.job.unit && !app.queue.waiting().length) {
    location.reload(); // every number on the page is to be written in the other unit
    return;
  }
  await sync.ask();
  const { place } = app;
  if (place.screen !== "result" || place.key !== entry.key || app.queue.waiting().length) return;
  const url = `${app.job.urls.result}${seq}`;
  const main = await late().fetchedScreen(url);
  if (!main || app.place !== place) return;
  history.replaceState({ place: { screen: "server", url } }, "", url);
  app.place = { screen: "server", url };
  document.getElementById("main")?.replaceWith(main);
  app.adopt(main);
}
