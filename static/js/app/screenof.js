/** The screen of a place, made on this phone; null when only the server can show it. */

import { copied, fill, linkTo, nextLink, slot, writeBar } from "./frame.js";
import { overviewScreen } from "./overview.js";
import { resultScreen, wayScreen } from "./other.js";
import { refusedScreen } from "./refused_screen.js";
import { readoutScreen, stopScreen, taskScreen } from "./screens.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./place.js").Place} Place */

/** @type {(app: App, place: Place) => HTMLElement | null} */
export function screenOf(app, place) {
  switch (place.screen) {
    case "all": return overviewScreen(app, place.stage);
    case "way": return wayScreen(app, place.seat, place.back);
    case "next": return screenOf(app, app.nextPlace());
    case "server": return place.url ? null : noAnswer(app);
    case "stop": {
      const task = app.task(`fasteners.mark:${place.seat}`);
      return task ? stopScreen(app, task) ?? taskScreen(app, task, { screen: "task", task: task.id }) : noAnswer(app);
    }
    case "result": {
      const entry = app.queue.ahead().find(({ key }) => key === place.key);
      // refused while the page was loaded anew: that is what became of it
      return (entry ? resultScreen(app, entry) : null) ?? screenOf(app, { ...place, screen: "refused" });
    }
    case "refused":
      return refusedScreen(app, place.key) ?? screenOf(app, place.task ? { screen: "task", task: place.task } : { screen: "next" });
    case "readout": {
      const task = app.task(place.task);
      return task ? readoutScreen(app, task, place.n) : null;
    }
    case "task": {
      const task = app.task(place.task);
      return task ? taskScreen(app, task, place) : null;
    }
  }
}

/** The server does not answer, and this screen is not on the phone. @type {(app: App) => HTMLElement | null} */
function noAnswer(app) {
  const main = copied('[data-screen="waiting"]');
  if (!main) return null;
  fill(main, "heading", "Not on this phone");
  fill(main, "what", "No answer from the server");
  fill(main, "why", "This screen can only be shown while the server answers. The tasks that are ready go on without it.");
  slot(main, "thumb")?.append(nextLink(app, null, "Do what is ready"), linkTo(app, { screen: "all" }, "All tasks"));
  writeBar(main, app, app.tasks, null);
  return main;
}
