/** What readings on hung panels say of the criteria, and when a tolerance is too near to tell: the server's rules (``core/judging.py``). */

import { hangOf, hungPanels, times, variance } from "./hanging.js";
import { hungRows, isStacked } from "./hung.js";

/** @typedef {import("./problem.js").State} State */
/** A criterion by all that is known of where the panels hang, and its standard uncertainty. @typedef {{ mm: number, uMm: number }} Likely */

const GUARD_U = 1.5;
const NEAR_U = 2;
/** Of the same, at most. */
export const MOST_READINGS = 3;

/** Within what a criterion is clear of its tolerance. @type {(toleranceMm: number, uMm: number) => number} */
export const guardedMm = (toleranceMm, uMm) => Math.max(toleranceMm - GUARD_U * uMm, toleranceMm / 2);

/** Whether a reading more can tell on which side of its tolerance it is. @type {(likely: Likely, toleranceMm: number) => boolean} */
export const isNear = ({ mm, uMm }, toleranceMm) => Math.abs(Math.abs(mm) - toleranceMm) < NEAR_U * uMm;

/** What a task reads, as rows or as numbers by their names, as the criteria it is judged by. @type {<A>(read: (key: string) => A, where: string, isLevel: boolean, sum: (parts: [number, A][]) => A, stacked: boolean) => [string, A][]} */
export function criteriaOf(read, where, isLevel, sum, stacked) {
  if (isLevel) return [["level", read(`level ${where}`)]];
  const [first, second] = [read(`gap first ${where}`), read(`gap second ${where}`)];
  // turned left, the first panel opens the top of a gap beside it, the right of one below it
  const turn = stacked ? -1 : 1;
  return [
    ["gap", sum([[0.5, first], [0.5, second]])],
    ["taper", sum([[turn, first], [-turn, second]])],
    ["step", read(`step ${where}`)],
  ];
}

/** The likely level, gap, taper and step of what hangs; none where nothing was read. @type {(state: State, where: string, isLevel: boolean) => Map<string, Likely>} */
export function likelyOf(state, where, isLevel) {
  const [hang, hung] = [hangOf(state), hungPanels(state)];
  if (!hang || !where.split("|").every((panel) => hung.includes(panel))) return new Map();
  const rows = hungRows(state.problem);
  const read = (/** @type {string} */ key) => rows.get(key) ?? [];
  const found = criteriaOf(read, where, isLevel, sumOf, isStacked(state.problem, where));
  return new Map(found.filter(([, row]) => row.length).map(([kind, row]) => [kind, likely(state, row)]));
}

/** @type {(parts: [number, readonly number[]][]) => number[]} */
const sumOf = (parts) => parts[0][1].map((_, at) => parts.reduce((sum, [by, row]) => sum + by * row[at], 0));

/** The likely fall along a row or column; null where not all of it hangs. @type {(state: State, chain: readonly string[], share: (panel: string) => number) => Likely | null} */
export function likelyFall(state, chain, share) {
  const hung = hungPanels(state);
  if (!hangOf(state) || !chain.every((panel) => hung.includes(panel))) return null;
  const rows = hungRows(state.problem);
  const steps = chain.slice(1).map((panel, i) => rows.get(`step ${chain[i]}|${panel}`) ?? []);
  const levels = chain.map((panel) => (rows.get(`level ${panel}`) ?? []).map((by) => -share(panel) * by));
  const parts = [...steps, ...levels].filter((row) => row.length);
  return likely(state, sumOf(parts.map((row) => [1, row])));
}

/** @type {(state: State, row: readonly number[]) => Likely} */
function likely(state, row) {
  const { d, p } = /** @type {import("./hanging.js").Hang} */ (hangOf(state));
  return { mm: times(row, d), uMm: Math.sqrt(Math.max(variance(p, row), 0)) };
}
