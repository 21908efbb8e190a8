/** Something is in the way of a seat: which answers there are. */

import { isDrilled } from "./state.js";
import { slot } from "./frame.js";
import { made } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("../core/problem.js").State} State */

/** A fastener is for what is behind, as ``core/wall.js`` asks for it. @type {(behind: { into: string, material: string }) => string} */
export function intoWanted({ into, material }) {
  if (into === "edge") return material === "steel" ? "steel" : "stud";
  return into;
}

/** The other fasteners listed for this place, and whether something can be given up. @type {(app: App, main: HTMLElement, seat: string) => void} */
export function wayAnswers(app, main, seat) {
  const { math } = app.step;
  const now = math.now[seat];
  const fitting = app.job.fasteners.filter(({ name, into }) => into === intoWanted(now) && name !== now.fastener?.name);
  const others = slot(main, "others");
  const hint = others?.querySelector(".hint");
  if (hint instanceof HTMLElement) hint.hidden = fitting.length > 0;
  const none = others?.querySelector(".button-stop");
  if (none && fitting.length) none.querySelector("span")?.firstChild?.replaceWith("None of these will hold");
  none?.before(...fitting.map(({ value, name, note }) => {
    const button = made("button", "button", made("span", "", `Use ${name}`, ...(note ? [made("small", "", note)] : [])));
    Object.assign(button, { type: "submit", name: "what", value });
    return button;
  }));
  if (!isDrilled(math, seat) && !(seat in math.set)) slot(main, "given_up")?.remove();
}
