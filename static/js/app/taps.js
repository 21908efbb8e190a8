/**
 * Quick taps: a seat that came out high, low, left or right of its mark by a mark of the tape or
 * two. They set the reading to the plan and that much more; what they set is echoed as if typed.
 */

import { writeEcho } from "./fields.js";
import { bare, made } from "./words.js";

const INCH_STEPS = [1, 2, 3, 4].map((sixteenths) => ({ mm: sixteenths * 1.5875, words: ["1/16", "1/8", "3/16", "1/4"][sixteenths - 1] }));
const MM_STEPS = [1, 2, 3, 5].map((mm) => ({ mm, words: String(mm) }));
/** Which field, which way: words, +1 or -1. @type {[string, string, number][]} */
const WAYS = [["above", "high", 1], ["above", "low", -1], ["x", "left", -1], ["x", "right", 1]];

/** @type {(form: HTMLFormElement, name: string) => HTMLInputElement | null} */
function planned(form, name) {
  const input = form.elements.namedItem(name);
  return input instanceof HTMLInputElement && input.dataset.planMm ? input : null;
}

/** @type {(root: ParentNode) => void} */
export function addTaps(root) {
  const form = root.querySelector(".task-fasteners-measure #task-form");
  if (!(form instanceof HTMLFormElement) || form.querySelector(".taps")) return;
  const inputs = { x: planned(form, "x"), above: planned(form, "above") };
  if (!inputs.x || !inputs.above) return;
  const unit = inputs.x.dataset.unit ?? "mm";
  const panel = made("div", "taps-panel");
  panel.id = "taps";
  panel.hidden = true;
  const steps = unit === "in" ? INCH_STEPS : MM_STEPS;
  for (const [name, word, sign] of WAYS) {
    const row = made("div", "taps", made("span", "taps-way", `${word} by`));
    row.dataset.field = name;
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", `${word} by, ${unit === "in" ? "inches" : "mm"}`);
    row.append(...steps.map(({ mm, words }) => {
      const button = made("button", "button", words);
      button.type = "button";
      button.setAttribute("aria-label", `${word} by ${words} ${unit === "in" ? "in" : "mm"}`);
      button.setAttribute("aria-pressed", "false");
      button.addEventListener("click", () => tapped(form, name, sign * mm, button));
      return button;
    }));
    panel.append(row);
  }
  form.querySelector(".field")?.before(panel);
  inputs.above.closest(".field")?.querySelector(".field-head")?.append(opener(panel));
}

/** @type {(panel: HTMLElement) => HTMLElement} */
function opener(panel) {
  const button = made("button", "button button-small", "Off by…");
  button.type = "button";
  button.setAttribute("aria-label", "Off by… high, low, left, right");
  button.setAttribute("aria-controls", panel.id);
  button.setAttribute("aria-expanded", "false");
  button.addEventListener("click", () => {
    panel.hidden = !panel.hidden;
    button.setAttribute("aria-expanded", String(!panel.hidden));
    if (!panel.hidden) panel.scrollIntoView({ block: "center" });
  });
  return button;
}

/** @type {(form: HTMLFormElement, name: string, offMm: number, button: HTMLButtonElement) => void} */
function tapped(form, name, offMm, button) {
  const input = planned(form, name);
  if (!input) return;
  const isOff = button.getAttribute("aria-pressed") === "true";
  for (const other of form.querySelectorAll(".taps button")) {
    const isSame = other.parentElement?.dataset.field === name;
    if (isSame) other.setAttribute("aria-pressed", "false");
  }
  button.setAttribute("aria-pressed", String(!isOff));
  const mm = Number(input.dataset.planMm) + (isOff ? 0 : offMm);
  input.value = bare(Math.abs(mm), input.dataset.unit ?? "mm");
  const sides = form.elements.namedItem(`${name}.side`);
  if (sides instanceof RadioNodeList) sides.value = mm < 0 ? "left" : "right";
  writeEcho(input);
  input.dispatchEvent(new Event("input", { bubbles: true }));
}
