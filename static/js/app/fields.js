/** The inputs of a form on the screen: what stands in them, echoes under lengths. */

import { LengthError, echo } from "../core/lengths.js";
import { made } from "./words.js";

/** @type {(root: ParentNode) => HTMLInputElement[]} */
export const lengthInputs = (root) => [...root.querySelectorAll("input")].filter((input) => "length" in input.dataset);

/** Under a length: what it is understood as, with the field that says it was seen. @type {(input: HTMLInputElement) => void} */
export function writeEcho(input) {
  const box = document.getElementById(`said-${input.name}`);
  if (!box) return;
  const text = input.value.trim();
  box.replaceChildren(...(text ? echoed(input.name, text, input.dataset.unit ?? "mm") : []));
  // while the plan is what stands there, it is said once
  const plan = box.parentElement?.querySelector(".planned");
  plan?.toggleAttribute("hidden", plan.textContent?.replaceAll("\u00a0", " ") === `plan ${text} ${input.dataset.unit}`);
}

/** @type {(name: string, text: string, unit: string) => HTMLElement[]} */
function echoed(name, text, unit) {
  try {
    const seen = made("input");
    seen.type = "hidden";
    seen.name = `echoed.${name}`;
    seen.value = text;
    return [made("span", "echo", echo(text, unit).replace(/ (?=[\da-z])/g, "\u00a0")), seen];
  } catch (error) {
    if (error instanceof LengthError) return [made("span", "echo-not", "not a length yet")];
    throw error;
  }
}

/** Everything in a form by name, as it stands; hidden bookkeeping and files left out. @type {(form: HTMLFormElement) => Record<string, string>} */
export function rawOf(form) {
  /** @type {Record<string, string>} */
  const raw = {};
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string" && !["csrf", "key", "tapped", "seen", "stands", "sure"].includes(name)) raw[name] = value;
  }
  return raw;
}

/** What the plan reads in each length of a form, unrounded. @type {(form: HTMLFormElement) => Record<string, number>} */
export function plannedOf(form) {
  return Object.fromEntries(lengthInputs(form)
    .filter(({ dataset }) => dataset.planMm)
    .map(({ name, dataset }) => [name, Number(dataset.planMm)]));
}

/** Whether a length was typed that is not what stood there first. @type {(form: HTMLFormElement) => HTMLInputElement | undefined} */
export const typedOver = (form) =>
  lengthInputs(form).find(({ value, defaultValue }) => value.trim() && value.trim() !== defaultValue.trim());
