/** How thick the shims of a ring should be, in the words of its screen. */

import { shimsForMm } from "../core/shims.js";
import { small } from "./words.js";

/** @typedef {import("../core/problem.js").State} State */
/** @typedef {import("./live.js").Live} Live */

/** @type {(math: State, what: string, seat: string, unit: string) => Live | null} */
export function shimValue(math, what, seat, unit) {
  const thick = shimsForMm(math, seat);
  const { shims } = math.problem;
  if (thick === null || !shims) return null;
  if (what === "shim-thick") return { mm: thick };
  const count = Math.round(thick / shims.step_mm);
  return { words: count ? `${count} shim${count === 1 ? "" : "s"} of ${small(shims.step_mm, unit)}, between ring and fastener.` : "No shim in this ring." };
}
