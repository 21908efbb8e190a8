/** Starts the job on this phone: the page's JSON, the outbox, the screens. */

import "../fractions.js";
import "../wakelock.js";
import "./taps.js";
import { App } from "./app.js";
import { dropCopies, keepForReload } from "./copies.js";
import { Drawings } from "./drawings.js";
import { listenToForms } from "./forms.js";
import { listenToPlaces, placeOf } from "./place.js";
import { Queue } from "./queue.js";
import { Sender } from "./send.js";
import { Store } from "./store.js";
import { Sync, fetchedScreen } from "./sync.js";
import { takeNews } from "./news.js";
import { showLocalTimes } from "./times.js";

/** @typedef {import("./types.js").Job} Job */

const text = document.getElementById("job")?.textContent;
if (text) start(JSON.parse(text));

/** @type {(job: Job) => void} */
function start(job) {
  const queue = new Queue(new Store(localStorage, job.job));
  const drawings = new Drawings(localStorage, job.job, () => job.urls.drawings);
  queue.store.makeRoom = () => drawings.giveWay();
  const app = new App(job, queue, drawings, (own) => new Sender(queue, {
    csrf: () => own.job.csrf,
    person: () => own.job,
    renew: (csrf) => { own.job.csrf = csrf; },
    parkedUrl: () => own.job.urls.parked,
  }));
  const sync = new Sync({
    url: () => app.job.urls.pack,
    seq: () => app.job.seq,
    take: (news) => {
      takeNews(app, news);
      void drawings.fetch();
    },
  });
  queue.watch(() => {
    app.refresh();
    app.bar.write();
    for (const line of document.querySelectorAll("[data-kept]")) {
      if (line instanceof HTMLElement) line.textContent = app.keptWords(line);
    }
  });
  app.sender.onStored = (entry, seq) => void stored(app, sync, entry, seq);
  addEventListener("storage", () => queue.changed());
  document.addEventListener("holdtrue:shown", (event) => showLocalTimes(/** @type {CustomEvent} */ (event).detail.elt));
  listenToForms(app);
  listenToPlaces(app.base, (place, isBack) => app.go(place, isBack));
  firstScreen(app);
  app.sender.listen();
  sync.listen();
  document.documentElement.dataset.app = "ready";
  void drawings.fetch();
  void keepForReload(app.base);
  dropCopies();
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
  const main = await fetchedScreen(url);
  if (!main || app.place !== place) return;
  history.replaceState({ place: { screen: "server", url } }, "", url);
  app.place = { screen: "server", url };
  document.getElementById("main")?.replaceWith(main);
  app.adopt(main);
}
