/** Where an entry is, in words: only on this phone, or on the server's disk. */

import { told } from "./refused.js";

/** @typedef {import("./queue.js").Queue} Queue */

/** @type {(queue: Queue, key: string) => "only on this phone" | "refused, with the lead" | "saved"} */
export function whereWords(queue, key) {
  if (queue.all().some((entry) => entry.key === key)) return "only on this phone";
  return told(queue.store).some((entry) => entry.key === key) ? "refused, with the lead" : "saved";
}

/** Of a stop. */
export const SENT = "Sent: the lead and the others see it.";

/** "Mark A1: saved", in its line; of a stop, who knows of it. @type {(queue: Queue, line: HTMLElement) => void} */
export function keptWords(queue, line) {
  const { what, kept } = line.dataset;
  const where = whereWords(queue, kept ?? "");
  if (!("stop" in line.dataset)) line.textContent = `${what}: ${where}`;
  else line.textContent = where === "saved" ? SENT : `This stop is ${where}. Tell the others by voice.`;
  if (where.startsWith("refused")) line.className = "notice notice-warn";
}

/** What a result counts that nobody else knows yet. @type {(queue: Queue) => string} */
export function countsWords(queue) {
  const count = queue.waiting().length;
  return count ? `This counts ${count} ${count > 1 ? "entries" : "entry"} only on this phone.` : "";
}
