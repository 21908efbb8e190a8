/** Starts the job on this phone: the page's JSON, the outbox, the first screen. */

import { App } from "./app.js";
import { listenToForms } from "./forms.js";
import { late, lateReady } from "./late.js";
import { listenToPlaces, placeOf } from "./place.js";
import { Queue } from "./queue.js";
import { Store } from "./store.js";

/** @typedef {import("./types.js").Job} Job */

const text = document.getElementById("job")?.textContent;
if (text) void start(JSON.parse(text));

/** @type {(job: Job) => Promise<void>} */
async function start(job) {
  const queue = new Queue(new Store(localStorage, job.job));
  queue.open(job.seq);
  // what is not sent yet is played before the first screen is shown, what a copy lacks put in
  const isCopy = "copy" in document.documentElement.dataset;
  if (isCopy || queue.ahead().length) await lateReady();
  if (isCopy) late().withStops(queue, job);
  const app = new App(job, queue);
  queue.watch(() => {
    app.refresh();
    app.bar.write();
  });
  addEventListener("storage", () => queue.changed());
  listenToForms(app);
  listenToPlaces(app.base, {
    go: (place, isBack) => app.go(place, isBack),
    lookAgain: (place) => void app.lookAgain(place),
  });
  firstScreen(app, isCopy);
  document.documentElement.dataset.app = "usable";
  const { begin } = await lateReady();
  app.refresh();
  begin(app);
  document.documentElement.dataset.app = "ready";
}

/** The server's own first screen stays, unless this phone knows more than it did. @type {(app: App, isCopy: boolean) => void} */
function firstScreen(app, isCopy) {
  const known = history.state?.place;
  const place = known ?? placeOf(app.base, location.href) ?? { screen: "next" };
  const main = document.getElementById("main");
  const isAsAsked = app.job.at === location.pathname + location.search;
  if (!main || app.isAhead || isCopy || !isAsAsked) return app.show(place);
  app.place = place;
  app.adopt(main);
}
