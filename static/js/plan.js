// A plan form larger than the server takes is not sent: the refusal would stand in the place of all
// that was typed. Without scripts the browser sends it, and the server's page says so.

const form = /** @type {HTMLFormElement} */ (document.getElementById("plan-form"));

/** What is too much, or nothing. @param {SubmitEvent} event */
function tooMuch(event) {
  const fields = new URLSearchParams(/** @type {any} */ (new FormData(form, event.submitter)));
  const { mostBytes, mostFields } = form.dataset;
  if (fields.toString().length > Number(mostBytes)) return "more text than a plan can hold";
  return [...fields].length > Number(mostFields) ? "more fields than a plan can have" : "";
}

form.addEventListener("submit", (event) => {
  document.getElementById("not-sent")?.remove();
  const what = tooMuch(event);
  if (!what) return;
  event.preventDefault();
  const said = document.createElement("p");
  said.id = "not-sent";
  said.className = "error";
  said.setAttribute("role", "alert");
  said.textContent = `Not sent: this is ${what}. It is all still here; take some of it out.`;
  (event.submitter ?? form).after(said);
});
