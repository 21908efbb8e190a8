/**
 * What was refused and is on the lead's list by now. It is told on this phone until somebody says
 * that they have seen it, or the lead has settled it.
 */

import { FullError } from "./store.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./store.js").Store} Store */

/** @type {(store: Store, key: string) => string} */
const nameOf = (store, key) => `${store.refused}${key}`;

/** Refused, with the lead, and not seen here yet. @type {(store: Store) => Entry[]} */
export const told = (store) => store.names(store.refused).flatMap((at) => store.read(at) ?? [])
  .sort((a, b) => (a.parked ?? 0) - (b.parked ?? 0));

/** The lead's list has it as entry ``seq``; false when this phone has no room to say so later. @type {(store: Store, entry: import("./types.js").Kept, seq: number) => boolean} */
export function tell(store, { photo: _, ...entry }, seq) {
  try {
    store.write(nameOf(store, entry.key), { ...entry, parked: seq });
    return true;
  } catch (error) {
    if (error instanceof FullError) return false;
    throw error;
  }
}

/** @type {(store: Store, key: string) => void} */
export const seen = (store, key) => store.remove(nameOf(store, key));

/** What the lead has settled is told no more. @type {(store: Store, job: import("./types.js").Job) => void} */
export function forgetSettled(store, { seq, parked }) {
  for (const entry of told(store)) {
    const at = entry.parked ?? 0;
    if (at <= seq && !parked.includes(at)) seen(store, entry.key);
  }
}
