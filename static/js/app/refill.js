/** A form filled with what was recorded before, and more rows for studs: without the server. */

import { lengthInputs } from "./fields.js";
import { bare } from "./words.js";

/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./app.js").App} App */

const MOST_ROWS = 40;

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
  if (Array.isArray(value)) return tick(form, name, value);
  if (value === null) return;
  if (typeof value !== "object") return put(form, name, String(value));
  if (typeof value.mm !== "number") return;
  put(form, name, bare(Math.abs(value.mm), app.job.unit));
  put(form, `${name}.side`, value.side ?? (value.mm < 0 ? "left" : "right"));
}

/** The seats that were ticked; of studs the list as planned already holds them. @type {(form: HTMLFormElement, name: string, value: readonly unknown[]) => void} */
function tick(form, name, value) {
  for (const box of form.querySelectorAll(`input[type=checkbox][name^="${CSS.escape(name)}["]`)) {
    if (box instanceof HTMLInputElement) box.checked = value.includes(box.value);
  }
}

/** @type {(form: HTMLFormElement, name: string, text: string) => void} */
export function put(form, name, text) {
  const field = form.elements.namedItem(name);
  if (field instanceof HTMLInputElement && field.type === "checkbox") field.checked = field.value === text;
  else if (field instanceof RadioNodeList) field.value = text;
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
    for (const box of row.querySelectorAll(".echo-box")) box.replaceChildren();
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
