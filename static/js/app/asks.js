/** A form that needs another look: why, and the buttons that go with it; nothing typed is lost. */

import { lengthInputs } from "./fields.js";
import { made } from "./words.js";

/** @typedef {"which" | "sure" | "wrong" | "full"} How */

/** The very texts a "yes" says yes to: a later change is asked again. @type {(form: HTMLFormElement) => string} */
export function signature(form) {
  const raw = new FormData(form);
  return lengthInputs(form).filter(({ value }) => value.trim())
    .map(({ name, value }) => `${name} ${value.trim()} ${raw.get(`${name}.side`) ?? ""}`).join("; ");
}

/** Say why at the head of the form, and put the fitting buttons under the thumb. @type {(form: HTMLFormElement, how: How, words: string, measured: string) => void} */
export function ask(form, how, words, measured) {
  settle(form);
  const notice = made("p", "notice notice-warn", words);
  notice.setAttribute("role", "alert");
  notice.dataset.ask = how;
  notice.tabIndex = -1;
  form.before(notice);
  for (const above of [...(form.parentElement?.children ?? [])]) {
    // the form is about its inputs now: they come into view
    if (above instanceof HTMLElement && above.matches(".drawing, .numbers, .section-row, .task-line, .lines") && !above.hidden) {
      above.hidden = true;
      above.dataset.aside = "";
    }
  }
  if (how === "which") swapButtons(form, [[measured, wordsOf(form, measured)], ["as_planned", `${wordsOf(form, "as_planned")} all the same`]]);
  if (how === "sure") swapButtons(form, [[measured, "Yes, save it"]]);
  if (how !== "wrong") form.dataset.asked = signature(form);
  scrollTo(0, 0);
  notice.focus({ preventScroll: true });
}

/** What the task's own button says. @type {(form: HTMLFormElement, outcome: string) => string} */
function wordsOf(form, outcome) {
  return form.querySelector(`.thumb > button[value="${outcome}"]`)?.textContent ?? "";
}

/** @type {(form: HTMLFormElement, buttons: [string, string][]) => void} */
function swapButtons(form, buttons) {
  const thumb = form.querySelector(".thumb");
  for (const old of thumb?.querySelectorAll(":scope > button[name=outcome]") ?? []) {
    if (old instanceof HTMLElement) {
      old.hidden = true;
      old.setAttribute("disabled", "");
      old.dataset.aside = "";
    }
  }
  thumb?.prepend(...buttons.map(([value, words], i) => {
    const button = made("button", i ? "button" : "button button-main", words);
    Object.assign(button, { type: "submit", name: "outcome", value });
    button.dataset.asks = "";
    return button;
  }));
}

/** The form as it was before it was asked about. @type {(form: HTMLFormElement) => void} */
export function settle(form) {
  const main = form.parentElement;
  for (const own of main?.querySelectorAll("[data-ask], [data-asks], [data-wrong]") ?? []) own.remove();
  for (const aside of main?.querySelectorAll("[data-aside]") ?? []) {
    if (!(aside instanceof HTMLElement)) continue;
    aside.hidden = false;
    aside.removeAttribute("disabled");
    delete aside.dataset.aside;
  }
  for (const input of form.querySelectorAll("[aria-invalid]")) input.removeAttribute("aria-invalid");
  delete form.dataset.asked;
}

/** What is wrong, at the field it is about. @type {(form: HTMLFormElement, path: string, remedy: string) => void} */
export function wrongAt(form, path, remedy) {
  settle(form);
  const name = path.replace(/\.side$/, "");
  const input = [...form.elements].find((element) => element.getAttribute("name") === name && element.getAttribute("type") !== "hidden")
    ?? [...form.elements].find((element) => element.getAttribute("name") === path)
    ?? [...form.elements].find((element) => element.getAttribute("name")?.startsWith(`${name}[`));
  const field = input?.closest(".stud, .field");
  if (!(input instanceof HTMLElement) || !field) {
    ask(form, "wrong", `${remedy[0].toUpperCase()}${remedy.slice(1)}.`, "");
    return;
  }
  input.closest("details")?.setAttribute("open", "");
  const error = made("p", "error", remedy);
  error.id = `wrong-${name}`;
  error.dataset.wrong = "";
  error.setAttribute("role", "alert");
  (field.querySelector(".said") ?? field.lastElementChild)?.before(error);
  if (input.tagName !== "BUTTON") input.setAttribute("aria-invalid", "true");
  input.setAttribute("aria-describedby", `${error.id} ${input.getAttribute("aria-describedby") ?? ""}`.trim());
  input.focus();
  field.scrollIntoView({ block: "center" });
}
