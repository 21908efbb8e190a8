/** Where the work hangs: the whole group put where the venue's mark says, as the server puts it. */

/** @typedef {import("./form.js").Point} Point */
/** @typedef {import("./problem.js").Frame} Frame */
/** What the mark means (plan, centre, left, right) and what of the work is how high. @typedef {{ meaning: string, height_of: string, height_mm: number }} ReferenceRead */
/** @typedef {{ left: number, bottom: number, right: number, top: number }} Box */

/** As the server writes a length into the job's file: to a nanometre. @type {(mm: number) => number} */
export const stored = (mm) => Number(mm.toFixed(6)) + 0;

/** Around panels with their centres here. @type {(panels: Frame["panels"], centres: readonly Point[]) => Box} */
export function boxMm(panels, centres) {
  /** @type {(of: (panel: Frame["panels"][number], centre: Point) => number) => number[]} */
  const each = (of) => panels.map((panel, k) => of(panel, centres[k]));
  return {
    left: Math.min(...each(({ width_mm: width }, [x]) => x - width / 2)),
    bottom: Math.min(...each(({ height_mm: height }, [, y]) => y - height / 2)),
    right: Math.max(...each(({ width_mm: width }, [x]) => x + width / 2)),
    top: Math.max(...each(({ height_mm: height }, [, y]) => y + height / 2)),
  };
}

/** The centre, top or bottom of a box. @type {(box: Box, of: string) => number} */
const heightOf = ({ bottom, top }, of) => (of === "top" ? top : of === "bottom" ? bottom : (bottom + top) / 2);

/** @type {(frame: Frame, read: ReferenceRead) => Frame} */
export function placedBy(frame, read) {
  const { panels, layout } = frame;
  const box = boxMm(panels, panels.map(({ centre_mm: centre }) => centre));
  if (!layout) return withCentres(frame, freeCentres(panels, box, read));
  const half = (box.right - box.left) / 2;
  const offset = read.meaning === "plan" ? layout.offset_mm
    : stored(read.meaning === "left" ? half : read.meaning === "right" ? -half : 0);
  const own = boxMm(panels, layout.centres_mm);
  const [dx, dy] = [offset - (own.left + own.right) / 2, read.height_mm - heightOf(own, read.height_of)];
  const centres = layout.centres_mm.map(([x, y]) => /** @type {Point} */ ([x + dx, y + dy]));
  return withCentres({ ...frame, layout: { ...layout, offset_mm: offset } }, centres);
}

/** A free layout has no offset of its own. @type {(panels: Frame["panels"], box: Box, read: ReferenceRead) => Point[]} */
function freeCentres(panels, box, { meaning, height_of: of, height_mm: height }) {
  const held = { plan: 0, centre: (box.left + box.right) / 2, left: box.left, right: box.right }[meaning] ?? 0;
  const dy = height - heightOf(box, of);
  return panels.map(({ centre_mm: [x, y] }) => [stored(x - held), stored(y + dy)]);
}

/** @type {(frame: Frame, centres: readonly Point[]) => Frame} */
const withCentres = (frame, centres) =>
  ({ ...frame, panels: frame.panels.map((panel, k) => ({ ...panel, centre_mm: centres[k] })) });
