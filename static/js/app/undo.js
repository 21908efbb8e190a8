/** What one tap takes back: the last thing this person recorded, here or on the server. */

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./app.js").App} App */

/**
 * @typedef {object} Last
 * @property {string} text what it was, in a word or two
 * @property {string} of its number on the server; "" while that is not known
 * @property {string} [of_key] its key, when it was made here
 * @property {string} task the screen it belongs to
 */

/** @type {(app: App) => Last | null} */
export function lastOwn({ job, queue }) {
  const ahead = queue.ahead();
  const undone = new Set(ahead.map(({ of_key: key }) => key));
  const isUndoable = (/** @type {Entry} */ entry) =>
    entry.kind !== "undo" && !(entry.kind === "way" && entry.fields.what.startsWith("stop:"));
  const last = ahead.filter((entry) => isUndoable(entry) && !undone.has(entry.key)).at(-1);
  if (last) {
    const task = last.task || `fasteners.mark:${last.seat}`;
    return { text: last.title, of: last.stored ? String(last.stored) : "", of_key: last.key, task };
  }
  // the server's word on what comes before is only good while nothing was taken back here
  if (!job.undo || ahead.some(({ kind }) => kind === "undo")) return null;
  const { of, text, task } = job.undo;
  return { text, of: String(of), task: job.tasks.some(({ id }) => id === task) ? task : "" };
}
