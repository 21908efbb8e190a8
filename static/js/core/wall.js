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
export function fastenerFor(behind, fasteners) {
  const wanted = intoWanted(behind);
  return fasteners.find((fastener) => fastener.into === wanted) ?? null;
}

/** What a fastener must be meant for; at a stud's edge, that stud. @type {(behind: Behind) => string} */
export function intoWanted({ into, material }) {
  if (into === "edge") return material === "steel" ? "steel" : "stud";
  return into;
}

/**
 * Whether a hole at x meets, by all that is known of the wall, what is said to be behind; a stud's
 * edge may as well become its middle.
 * @type {(wall: Wall, behind: Behind, xMm: number) => boolean}
 */
export function isSameGround(wall, behind, xMm) {
  const there = behindAt(wall, xMm);
  return behind.into === "edge" ? intoWanted(there) === intoWanted(behind) : there.into === behind.into;
}

/**
 * What was met, as it is kept: a stud of no stated material stays unknown; one met where its edge
 * was expected is that edge, for how far in it is nobody knows.
 * @type {(met: string, material: string | null | undefined, known: Behind) => Behind}
 */
export function foundBehind(met, material, known) {
  const isSteel = met === "steel" || (met === "stud" && material === "steel");
  if (!isSteel && met !== "stud") return { into: met, material: "unknown" };
  const found = isSteel ? "steel" : material || "unknown";
  if (known.into === "edge") return { into: "edge", material: found };
  return { into: isSteel ? "steel" : "stud", material: found };
}

/** Whether no hole may go there: a closed area, or beyond an end of the wall. @type {(wall: Wall, hole: import("./problem.js").Point) => boolean} */
export function isClosedAt({ closed, ends_mm: [left, right], end_zone_mm: zone }, [x, y]) {
  return closed.some(([x0, y0, x1, y1]) => x0 <= x && x <= x1 && y0 <= y && y <= y1)
    || (left !== null && x <= left + zone) || (right !== null && x >= right - zone);
}
