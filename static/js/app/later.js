/** What comes after the first screen: one module that brings all of it. */

import "../fractions.js";
import "../wakelock.js";
import { board, nextTask } from "./board.js";
import { dropCopies, keepForReload } from "./copies.js";
import { Drawings } from "./drawings.js";
import { takeNews } from "./news.js";
import { sentOnline } from "./online.js";
import { outboxOf } from "./outbox.js";
import { keptPhoto } from "./photo.js";
import { moreRows } from "./refill.js";
import { forgetSettled } from "./refused.js";
import { resultOf } from "./result.js";
import { screenOf } from "./screenof.js";
import { startSending } from "./sending.js";
import { after } from "./steps.js";
import { Sync, fetchedScreen } from "./sync.js";
import { addTaps } from "./taps.js";
import { showLocalTimes } from "./times.js";

/** @typedef {import("./app.js").App} App */

export { after, board, fetchedScreen, keptPhoto, moreRows, nextTask, outboxOf, resultOf, screenOf, sentOnline };

/** Send, look for what others did, fetch the drawings, keep a copy for reloads. @type {(app: App) => void} */
export function begin(app) {
  const drawings = new Drawings(app, localStorage);
  app.queue.store.makeRoom = () => drawings.giveWay();
  const sync = new Sync({
    hear: () => void drawings.fetch(),
    url: () => app.job.urls.pack,
    seq: () => app.job.seq,
    take: (news) => {
      takeNews(app, news);
      forgetSettled(app.queue.store, app.job);
      app.bar.write();
      drawings.look();
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
  forgetSettled(app.queue.store, app.job);
  startSending(app);
  sync.listen();
  void drawings.fetch();
  void keepForReload(app.base);
  dropCopies();
}
