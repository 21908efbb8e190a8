/**
 * The rows of the quadratic form, made from where the hangers are on their panels: as the server
 * makes them, for a hanger that was measured otherwise than planned.
 */

/** @typedef {import("./form.js").Point} Point */
/** @typedef {import("./problem.js").Frame} Frame */
/** @typedef {import("./problem.js").Problem} Problem */
/** Rows over all deviations that give a panel's pose: sideways, up, turned. @typedef {{ a: number[], b: number[], t: number[] }} Pose */

/** Share of a row's largest coefficient below which one is a sum that came out as zero. */
const NOISE = 1e-13;

/** The problem's rows once more, of the same kinds and tolerances. @type {(problem: Problem) => Problem["rows"]} */
export function rowsOf({ frame, rows, seats }) {
  const made = coefficients(frame, seats.length);
  return rows.map(([kind, label, toleranceMm], i) => [kind, label, toleranceMm, sparse(made[i])]);
}

/** @type {(row: number[]) => [number, number][]} */
function sparse(row) {
  const least = NOISE * Math.max(...row.map(Math.abs));
  return row.flatMap((value, at) => (Math.abs(value) > least ? [/** @type {[number, number]} */ ([at, value])] : []));
}

/** In the order of ``core/quality.py``: panel by panel, pair by pair, group by group. @type {(frame: Frame, n: number) => number[][]} */
function coefficients({ panels, neighbours, groups }, n) {
  /** @type {number[][]} */
  const rows = [];
  const poses = posesOf(panels, n);
  let first = 0;
  panels.forEach((panel, k) => {
    rows.push(...panelRows(panel, poses[k], first, n));
    first += panel.hangers_mm.length;
  });
  for (const [p, q, how] of neighbours) rows.push(...pairRows(panels[p], panels[q], poses[p], poses[q], how));
  for (const group of groups) {
    for (const part of /** @type {("a" | "b")[]} */ (["a", "b"])) {
      const all = group.map((k) => poses[k][part]);
      rows.push(all[0].map((_, at) => mean(all.map((row) => row[at]))));
    }
  }
  return rows;
}

/** @type {(values: readonly number[]) => number} */
const mean = (values) => values.reduce((sum, value) => sum + value, 0) / values.length;

/** One row plus some times another. @type {(row: number[], times: number, other: number[]) => number[]} */
export const plus = (row, times, other) => row.map((value, at) => value + times * other[at]);

/** Of every panel. @type {(panels: Frame["panels"], n: number) => Pose[]} */
export function posesOf(panels, n) {
  let first = 0;
  return panels.map(({ hangers_mm: hangers }) => {
    first += hangers.length;
    return poseRows(hangers, first - hangers.length, n);
  });
}

/** @type {(hangers: readonly Point[], first: number, n: number) => Pose} */
function poseRows(hangers, first, n) {
  const [u, v] = [hangers.map(([x]) => x), hangers.map(([, y]) => y)];
  const [middleU, middleV, share] = [mean(u), mean(v), 1 / hangers.length];
  const spread = u.reduce((sum, x) => sum + (x - middleU) ** 2, 0);
  const none = new Array(2 * n).fill(0);
  const [a, b, t] = [[...none], [...none], [...none]];
  hangers.forEach((_, i) => {
    if (hangers.length > 1) t[n + first + i] = (u[i] - middleU) / spread;
    b[n + first + i] = share;
    a[first + i] = share;
  });
  return { a: plus(a, middleV, t), b: plus(b, -middleU, t), t };
}

/** @type {(panel: Frame["panels"][number], pose: Pose, first: number, n: number) => number[][]} */
function panelRows({ width_mm: width, hangers_mm: hangers }, { b, t }, first, n) {
  const none = new Array(2 * n).fill(0);
  const rows = hangers.length > 1 ? [plus(none, width, t)] : [];
  for (let i = 0; i + 1 < hangers.length; i += 1) {
    const row = plus(none, hangers[i + 1][1] - hangers[i][1], t);
    row[first + i + 1] += 1;
    row[first + i] -= 1;
    rows.push(row);
  }
  if (hangers.length < 3) return rows;
  hangers.forEach(([u], i) => {
    const row = plus(plus(none, -1, b), -u, t);
    row[n + first + i] += 1;
    rows.push(row);
  });
  return rows;
}

/** @type {(p: Frame["panels"][number], q: Frame["panels"][number], atP: Pose, atQ: Pose, how: string) => number[][]} */
function pairRows(p, q, atP, atQ, how) {
  const gap = how === "beside" ? plus(atQ.a, -1, atP.a) : plus(atP.b, -1, atQ.b);
  return [gap, stepRow(p, q, atP, atQ, how)];
}

/** How far p's edge is beyond q's: higher, or to the right of it. @type {(p: Frame["panels"][number], q: Frame["panels"][number], atP: Pose, atQ: Pose, how: string) => number[]} */
export function stepRow(p, q, atP, atQ, how) {
  const [edgeP, edgeQ] = how === "beside"
    ? [plus(atP.b, p.width_mm / 2, atP.t), plus(atQ.b, -q.width_mm / 2, atQ.t)]
    : [plus(atP.a, p.height_mm / 2, atP.t), plus(atQ.a, -q.height_mm / 2, atQ.t)];
  return plus(edgeP, -1, edgeQ);
}
