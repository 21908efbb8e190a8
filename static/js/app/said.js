/** Recorded values, and large numbers to read out, in words. */

import { formatLength } from "../core/readout.js";
import { valuesOf } from "./effects.js";
import { large, side, unparted } from "./words.js";

/** @typedef {import("./types.js").Field} Field */
/** @typedef {import("./types.js").Task} Task */
/** @typedef {import("./app.js").App} App */
/** @typedef {{ what: string, where: string, value: (Node | string)[] }} LargeNumber */

/** One recorded value as people read it; "" when there is none. @type {(field: Field, value: any, unit: string) => string} */
export function valueWords(field, value, unit) {
  if (value === undefined || value === null || value === "") return "";
  switch (field.kind) {
    case "length": return unparted(formatLength(value.mm, unit));
    case "across": return acrossWords(value.mm, unit);
    case "choice": return (field.choices.find(([one]) => one === value)?.[1] ?? String(value)).toLowerCase();
    case "studs": return value.map((/** @type {any} */ stud) => `${acrossWords(stud.x.mm, unit)} ${stud.material}`).join("; ") || "none";
    case "seats": return value.join(", ");
    default: return field.kind === "photo" ? "a photo" : String(value);
  }
}

/** @type {(mm: number, unit: string) => string} */
function acrossWords(mm, unit) {
  if (Math.abs(mm) < 0.05) return "on the line";
  return `${unparted(formatLength(Math.abs(mm), unit))} ${mm < 0 ? "left" : "right"}`;
}

/** Who lifts, as counted on this phone and not yet known to the page. @type {(app: App, main: HTMLElement) => void} */
export function writeCrew({ job, step }, main) {
  const line = main.querySelector("[data-crew]");
  const entry = step.local.get("before.people");
  if (!line || !entry) return;
  const { people, platform } = valuesOf(job, entry);
  const stood = (job.fields["before.people"] ?? []).find(({ name }) => name === "platform");
  line.textContent = `Counted for the lift: ${people} people, on ${stood ? valueWords(stood, platform, job.unit) : platform}.`;
}

/**
 * The numbers somebody on the floor calls up: those set large on the form, else the planned ones.
 * @type {(app: App, task: Task, form: HTMLElement) => LargeNumber[]}
 */
export function numbersOf(app, task, form) {
  const rows = [...form.querySelectorAll(".number-row")].map((row) => ({
    what: row.querySelector("dt")?.firstChild?.textContent?.trim() ?? "",
    where: row.querySelector(".number-where")?.textContent?.trim() ?? "",
    value: [...(row.querySelector("dd")?.childNodes ?? [])].map((node) => node.cloneNode(true)),
  }));
  if (rows.length) return rows;
  const fields = app.job.fields[task.kind] ?? [];
  return fields.flatMap(({ name, kind, label, required }) => {
    const input = form.querySelector(`input[name="${CSS.escape(name)}"]`);
    const mm = input instanceof HTMLInputElement ? Number(input.dataset.planMm ?? NaN) : NaN;
    if (!required || Number.isNaN(mm)) return [];
    return [{ what: label, where: kind === "across" ? side(mm) : "", value: large(Math.abs(mm), app.job.unit) }];
  });
}

