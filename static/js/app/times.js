/** Moments on the page in the phone's own clock and language. */

import { momentWords } from "./words.js";

/** @type {(root: ParentNode) => void} */
export function showLocalTimes(root) {
  for (const time of root.querySelectorAll("time[datetime]")) {
    const words = momentWords(time.getAttribute("datetime") ?? "");
    if (words) time.textContent = words;
  }
}

/** The time of today, with the day when it is another. @type {(iso: string) => string} */
export function clock(iso) {
  const moment = new Date(iso);
  const isToday = moment.toDateString() === new Date().toDateString();
  return isToday ? moment.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }) : momentWords(iso);
}
