/** Moments on the page in the phone's own clock and language. */

import { momentWords } from "./words.js";

/** @type {(root: ParentNode) => void} */
export function showLocalTimes(root) {
  for (const time of root.querySelectorAll("time[datetime]")) {
    const words = momentWords(time.getAttribute("datetime") ?? "");
    if (words) time.textContent = words;
  }
}
