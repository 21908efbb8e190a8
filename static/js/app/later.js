/** What comes after the first screen: one module that brings all of it. */

import "../fractions.js";
import "../unsent.js";
import "../wakelock.js";
import { board, nextTask } from "./board.js";
import { Copy } from "./copies.js";
import { Drawings } from "./drawings.js";
import { keepStops, withStops } from "./kept_stops.js";
import { takeNews } from "./news.js";
import { sentOnline } from "./online.js";
import { outboxOf } from "./outbox.js";
import { keptPhoto } from "./photo.js";
import { Reach } from "./reach.js";
import { moreRows } from "./refill.js";
import { forgetSettled } from "./refused.js";
import { resultOf } from "./result.js";
import { screenOf } from "./screenof.js";
import { caughtUp, startSending } from "./sending.js";
import { after } from "./steps.js";
import { Sync, fetchedScreen } from "./sync.js";
import { addTaps } from "./taps.js";
import { showLocalTimes } from "./times.js";

/** @typedef {import("./app.js").App} App */

export { after, board, caughtUp, fetchedScreen, keptPhoto, moreRows, nextTask, outboxOf, resultOf, screenOf, sentOnline, withStops };

/** Send, look for what others did, fetch the drawings, keep a copy for reloads. @type {(app: App) => void} */
export function begin(app) {
  const drawings = new Drawings(app, localStorage);
  const copy = new Copy(app);
  const reach = new Reach(app, localStorage);
  app.queue.store.makeRoom = () => drawings.giveWay();
  const sync = new Sync({
    url: () => app.job.urls.pack,
    seq: () => app.job.seq,
    take: (news) => {
      takeNews(app, news);
      keepStops(app);
      forgetSettled(app.queue.store, app.job);
      app.bar.write();
      copy.soon();
      drawings.look();
    },
    hear: (how) => {
      reach.hear(how);
      if (how === "answered") void drawings.fetch();
    },
  });
  app.askServer = () => sync.ask();
  /** @type {(root: ParentNode) => void} */
  const dress = (root) => {
    drawings.fill(root);
    addTaps(root);
    showLocalTimes(root);
  };
  document.addEventListener("holdtrue:shown", (event) => dress(/** @type {CustomEvent} */ (event).detail.elt));
  dress(document);
  if (!reach.isCopy) keepStops(app);
  forgetSettled(app.queue.store, app.job);
  startSending(app);
  sync.listen();
  void drawings.fetch();
  copy.first();
}
