/** What is behind each mark, and the fastener listed for it. */

/** @typedef {import("./problem.js").Behind} Behind */
/** @typedef {import("./problem.js").Fastener} Fastener */
/** @typedef {import("./problem.js").Wall} Wall */

// a stud edge entered in inches must not miss its own edge by a rounding error
const NOISE_MM = 1e-9;

/** @type {(wall: Wall, xMm: number) => Behind} */
export function behindAt(wall, xMm) {
  if (wall.behind === "solid") return { into: "solid", material: "unknown" };
  /** @type {(stud: Wall["studs"][number]) => number} */
  const beyond = (stud) => Math.abs(xMm - stud.x_mm) - stud.width_mm / 2;
  const [stud] = [...wall.studs].sort((a, b) => beyond(a) - beyond(b));
  if (stud && beyond(stud) <= NOISE_MM) {
    return { into: stud.material === "steel" ? "steel" : "stud", material: stud.material };
  }
  if (stud && beyond(stud) <= wall.clearance_mm + NOISE_MM) {
    return { into: "edge", material: stud.material };
  }
  return { into: wall.behind, material: "unknown" };
}

/**
 * The first fastener listed for what is behind; at a stud's edge that stud's.
 * @type {(behind: Behind, fasteners: readonly Fastener[]) => Fastener | null}
 */
export function fastenerFor({ into, material }, fasteners) {
  const edge = material === "steel" ? "steel" : "stud";
  const wanted = into === "edge" ? edge : into;
  return fasteners.find((fastener) => fastener.into === wanted) ?? null;
}

/**
 * What was met, as it is kept: a stud of no stated material stays unknown.
 * @type {(met: string, material?: string | null) => Behind}
 */
export function foundBehind(met, material) {
  if (met === "steel") return { into: "steel", material: "steel" };
  if (met === "stud") return { into: "stud", material: material || "unknown" };
  return { into: met, material: "unknown" };
}
