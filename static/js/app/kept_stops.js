/**
 * Open stops, kept on this phone the moment they are heard of: a copy of the page may be older than
 * somebody's stop, and a start from it must not forget that.
 */

/** @typedef {import("./types.js").Job} Job */

/** @type {(job: string) => string} */
const nameOf = (job) => `holdtrue:stops:${job}`;

/** Those of the job as it is known now. @type {(app: Pick<import("./app.js").App, "job" | "queue">) => void} */
export function keepStops({ job, queue }) {
  const text = JSON.stringify({ seq: job.seq, stops: job.stops });
  const { storage } = queue.store;
  try {
    storage.setItem(nameOf(job.job), text);
  } catch (error) {
    // they come before any copy of a drawing; without room for them an older list must not stand
    if (queue.store.makeRoom()) keepStops({ job, queue });
    else storage.removeItem(nameOf(job.job));
  }
}

/** A copy of the page is given the stops that were heard of after it was made. @type {(queue: import("./queue.js").Queue, job: Job) => void} */
export function withStops({ store, stored }, job) {
  const kept = read(store.storage.getItem(nameOf(job.job)));
  if (!kept || kept.seq <= job.seq) return;
  // this phone's own are played as entries
  const own = new Set(stored.map(({ stored: seq }) => seq));
  job.stops = kept.stops.filter(({ seq }) => !own.has(seq));
}

/** @type {(text: string | null) => { seq: number, stops: import("./types.js").Stop[] } | null} */
function read(text) {
  try {
    return JSON.parse(text ?? "null");
  } catch {
    return null; // torn: as if nothing had been kept
  }
}
