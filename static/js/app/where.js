/** Where an entry is, in words: only on this phone, or on the server's disk. */

/** @typedef {import("./queue.js").Queue} Queue */

/** @type {(queue: Queue, key: string) => string} */
export const whereWords = (queue, key) =>
  queue.all().some((entry) => entry.key === key) ? "only on this phone" : "saved";

/** Of a stop. */
export const SENT = "Sent: the lead and the others see it.";

/** "Mark A1: saved"; of a stop, who knows of it. @type {(queue: Queue, line: HTMLElement) => string} */
export const keptWords = (queue, { dataset }) => {
  const where = whereWords(queue, dataset.kept ?? "");
  if (!("stop" in dataset)) return `${dataset.what}: ${where}`;
  return where === "saved" ? SENT : `This stop is ${where}. Tell the others by voice.`;
};

/** What a result counts that nobody else knows yet. @type {(queue: Queue) => string} */
export function countsWords(queue) {
  const count = queue.waiting().length;
  return count ? `This counts ${count} ${count > 1 ? "entries" : "entry"} only on this phone.` : "";
}
