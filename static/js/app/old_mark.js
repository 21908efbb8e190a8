/** A mark that moved after it was pencilled: the old one is rubbed out, so that nobody drills it. */

import { isDrilled } from "../core/problem.js";
import { SAME_MM, apart } from "../core/clear.js";
import { lineOf } from "../core/lines.js";
import { over } from "./live.js";
import { across, fmt, made } from "./words.js";

/** @typedef {import("../core/problem.js").State} State */

const RUB_OUT = "This mark has moved. Rub out the old one: it was at ";

/** Where it was, in the server's words; "" where no mark is to be rubbed out. @type {(math: State, seat: string, unit: string) => string} */
function oldMarkWords(math, seat, unit) {
  const mark = math.marked[seat];
  if (!mark || isDrilled(math, seat) || seat in math.set) return "";
  const [x, y] = [mark.seat_mm[0], mark.hole_y_mm];
  if (apart([x, y], math.now[seat].holeMm) <= SAME_MM) return "";
  const above = y - lineOf(math, seat).y_mm;
  return `${RUB_OUT}${across(x, unit)}, ${fmt(Math.abs(above), unit)} ${over(math, seat, above)}.`;
}

/** What the server said of the old mark gives way to what this phone knows. @type {(main: HTMLElement, math: State, seat: string, unit: string) => void} */
export function writeOldMark(main, math, seat, unit) {
  main.querySelector("[data-old-mark]")?.parentElement?.remove();
  const words = oldMarkWords(math, seat, unit);
  if (words) main.querySelector(".ask-row")?.before(made("p", "notice notice-warn heed", words));
}
