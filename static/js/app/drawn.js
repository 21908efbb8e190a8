/**
 * A drawing is as old as the server's last word. While this phone knows more, its numbers are written
 * anew, seats set or given up since are drawn so, and what cannot be drawn is said.
 */

import { writeLive } from "./live.js";
import { isWorkMoved } from "./resurvey.js";
import { made } from "./words.js";

/** @typedef {import("./app.js").App} App */

const SVG = "http://www.w3.org/2000/svg";
/** As ``drawing/parts.py`` draws them. */
const SET = { class: "d-seat-set", r: "6" };
const OPEN = { class: "d-seat", r: "4.5" };
const MOVED = "Drawn anew once this phone is online: the work hangs elsewhere";
const SINCE = "Since this was drawn:";

/** @type {(app: App, place: Element) => void} */
export function drawAsKnown(app, place) {
  if (!app.isAhead) return;
  const { math, stops } = app.step;
  if (place.querySelector(".d-reference") && isWorkMoved(app.job, math)) {
    // no picture is better than one of the work where it will not hang
    place.replaceChildren(made("p", "reach", MOVED));
    return;
  }
  writeLive(place, math, app.job.unit);
  const drawn = [];
  for (const seat of place.querySelectorAll("[data-seat]")) {
    const name = seat.getAttribute("data-seat") ?? "";
    const [isDrawnSet, isSet] = [seat.getAttribute("data-state") === "set", name in math.set];
    if (isDrawnSet === isSet || !["set", "open"].includes(seat.getAttribute("data-state") ?? "")) continue;
    redraw(seat, isSet);
    drawn.push(isSet ? `${name} is set` : `${name} is given up`);
  }
  const notDrawn = stops.filter(({ seq }) => !seq).map(({ seat }) => `stop at ${seat}`);
  const said = place.querySelector("svg > desc");
  if (said && drawn.length + notDrawn.length) {
    said.textContent = `${said.textContent} ${SINCE} ${[...drawn, ...notDrawn].join(", ")}.`;
  }
  if (notDrawn.length && place.tagName === "FIGURE") {
    place.append(made("figcaption", "", `${SINCE} ${notDrawn.join(", ")}.`));
  }
}

/** @type {(seat: Element, isSet: boolean) => void} */
function redraw(seat, isSet) {
  const circle = seat.querySelector("circle");
  if (!circle) return;
  for (const [name, value] of Object.entries(isSet ? SET : OPEN)) circle.setAttribute(name, value);
  seat.setAttribute("data-state", isSet ? "set" : "open");
  seat.querySelector("path")?.remove();
  if (!isSet) return;
  const tick = document.createElementNS(SVG, "path");
  const [x, y] = ["cx", "cy"].map((name) => Number(circle.getAttribute(name)));
  tick.setAttribute("class", "d-seat-tick");
  tick.setAttribute("d", `M${x - 3} ${y + 0.2}l2.1 2.4 4.1-5.2`);
  seat.append(tick);
}
