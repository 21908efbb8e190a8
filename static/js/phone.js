// What every phone screen needs beside htmx: the time of the tap, the device's own clock on the
// page, and a plain word when nothing was saved. No dependency; works without any of it.

const NOT_SAVED = "Not saved: no answer from the server. It is all still here; try again.";

/** @param {ParentNode} root */
function showLocalTimes(root) {
  for (const time of root.querySelectorAll("time[datetime]")) {
    const moment = new Date(time.getAttribute("datetime") ?? "");
    if (!Number.isNaN(moment.getTime())) {
      time.textContent = moment.toLocaleString([], {
        day: "numeric", month: "short", hour: "2-digit", minute: "2-digit",
      });
    }
  }
}

/** @param {string} text */
function say(text) {
  let bar = document.getElementById("not-saved");
  if (text && !bar) {
    bar = document.createElement("p");
    bar.id = "not-saved";
    bar.className = "unsent";
    bar.setAttribute("role", "alert");
    document.body.prepend(bar);
  }
  if (bar) {
    bar.textContent = text;
    bar.hidden = !text;
  }
}

// In the capture phase: before htmx collects the form's values.
document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  const tapped = form.elements.namedItem("tapped");
  if (tapped instanceof HTMLInputElement) tapped.value = new Date().toISOString();
}, true);

/** An echo that does not come is no loss; only a form that was sent counts. @param {any} event */
const isForm = (event) =>
  (event.detail.requestConfig?.elt ?? event.detail.elt) instanceof HTMLFormElement;

for (const name of ["htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(name, (event) => { if (isForm(event)) say(NOT_SAVED); });
}
document.addEventListener("htmx:beforeRequest", (event) => { if (isForm(event)) say(""); });

// An error page is shown, not swallowed: in place of the screen when it is one, else above it.
document.addEventListener("htmx:beforeSwap", (event) => {
  const detail = /** @type {any} */ (event).detail;
  if (detail.xhr.status < 400 || detail.shouldSwap || !isForm(event)) return;
  const main = document.getElementById("main");
  if (!main) return;
  detail.shouldSwap = true;
  detail.target = main;
  const isScreen = detail.xhr.responseText.includes('id="main"');
  detail.swapOverride = isScreen ? "outerHTML show:window:top" : "afterbegin show:window:top";
  if (isScreen) detail.selectOverride = "#main";
});

document.addEventListener("htmx:load", (event) => {
  showLocalTimes(/** @type {any} */ (event).detail.elt);
});
showLocalTimes(document);
