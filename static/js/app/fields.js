/** The inputs of a form on the screen: echoes under lengths, what was recorded before, more rows. */

import { LengthError, echo } from "../core/lengths.js";
import { bare, made } from "./words.js";

/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./app.js").App} App */

const MOST_ROWS = 40;

/** @type {(root: ParentNode) => HTMLInputElement[]} */
export const lengthInputs = (root) => [...root.querySelectorAll("input")].filter((input) => "length" in input.dataset);

/** Under a length: what it is understood as, with the field that says it was seen. @type {(input: HTMLInputElement) => void} */
export function writeEcho(input) {
  const box = document.getElementById(`said-${input.name}`);
  if (!box) return;
  const text = input.value.trim();
  box.replaceChildren(...(text ? echoed(input.name, text, input.dataset.unit ?? "mm") : []));
}

/** @type {(name: string, text: string, unit: string) => HTMLElement[]} */
function echoed(name, text, unit) {
  try {
    const seen = made("input");
    seen.type = "hidden";
    seen.name = `echoed.${name}`;
    seen.value = text;
    return [made("span", "echo", echo(text, unit)), seen];
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

/** Fill in what was recorded before: typed here, or known to the server. @type {(app: App, form: HTMLFormElement, task: Task) => void} */
export function refill(app, form, task) {
  const entry = app.step.local.get(task.id);
  if (entry && entry.fields.outcome !== "as_planned") {
    for (const [name, text] of Object.entries(entry.fields)) put(form, name, text);
  } else if (!entry && task.outcome && task.outcome !== "as_planned") {
    for (const [name, value] of Object.entries(task.values ?? {})) putValue(app, form, name, value);
  }
}

/** @type {(app: App, form: HTMLFormElement, name: string, value: any) => void} */
function putValue(app, form, name, value) {
  if (value === null || Array.isArray(value)) return; // studs: the list as planned already holds them
  if (typeof value !== "object") return put(form, name, String(value));
  if (typeof value.mm !== "number") return;
  put(form, name, bare(Math.abs(value.mm), app.job.unit));
  put(form, `${name}.side`, value.side ?? (value.mm < 0 ? "left" : "right"));
}

/** @type {(form: HTMLFormElement, name: string, text: string) => void} */
export function put(form, name, text) {
  const field = form.elements.namedItem(name);
  if (field instanceof RadioNodeList) field.value = text;
  else if (field instanceof HTMLInputElement && field.type !== "file" && field.type !== "hidden") field.value = text;
  else if (field instanceof HTMLSelectElement) field.value = text;
}

/** Two more rows for studs, without the server. @type {(form: HTMLFormElement) => void} */
export function moreRows(form) {
  const rows = [...form.querySelectorAll(".stud")];
  const last = rows[rows.length - 1];
  for (let i = rows.length; last && i < Math.min(rows.length + 2, MOST_ROWS); i += 1) {
    const row = /** @type {HTMLElement} */ (last.cloneNode(true));
    for (const element of row.querySelectorAll("*")) renumber(element, rows.length - 1, i);
    row.setAttribute("aria-label", `Stud ${i + 1}`);
    row.querySelector(".echo-box")?.replaceChildren();
    for (const input of row.querySelectorAll("input")) input.value = input.defaultValue = "";
    [...form.querySelectorAll(".stud")].at(-1)?.after(row);
  }
  lengthInputs(form).filter(({ value }) => !value)[0]?.focus();
}

/** @type {(element: Element, from: number, to: number) => void} */
function renumber(element, from, to) {
  for (const { name, value } of [...element.attributes]) {
    if (!["name", "id", "aria-label", "aria-describedby", "for"].includes(name)) continue;
    const told = value.replace(`[${from}]`, `[${to}]`).replace(`studs-${from}`, `studs-${to}`)
      .replace(/(tud )\d+/, `$1${to + 1}`);
    if (told !== value) element.setAttribute(name, told);
  }
}
