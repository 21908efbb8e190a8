// Lengths with one thumb: fraction buttons, because phone keypads have no slash, and one-mark
// nudges, so that most readings need no keypad at all. What a length means is decided by the
// server, which echoes it; here texts are only put together.

const MM_PER_IN = 25.4;
const PAD_STEPS = 16;

/** @param {number} top @param {number} bottom */
function reduced(top, bottom) {
  while (top % 2 === 0 && bottom > 1) { top /= 2; bottom /= 2; }
  return `${top}/${bottom}`;
}

/** Text of a length as this module writes it, to a count of 64ths (in) or tenths (mm, cm); null
 * when it is anything else. @param {string} text @param {string} unit */
function stepsOf(text, unit) {
  if (unit === "in") {
    const found = /^(\d{1,5})?(?:(?:^| )(\d{1,2})\/(2|4|8|16|32|64))?$/.exec(text.trim());
    if (!found || !found[0]) return null;
    return Number(found[1] ?? 0) * 64 + Number(found[2] ?? 0) * (64 / Number(found[3] ?? 64));
  }
  if (!/^\d{1,6}([.,]\d{1,2})?$/.test(text.trim())) return null;
  return Math.round(Number(text.trim().replace(",", ".")) * (unit === "cm" ? 100 : 10));
}

/** @param {number} steps @param {string} unit */
function textOf(steps, unit) {
  if (unit !== "in") return String(steps / (unit === "cm" ? 100 : 10));
  const whole = Math.floor(steps / 64), rest = steps % 64;
  if (!rest) return String(whole);
  return whole ? `${whole} ${reduced(rest, 64)}` : reduced(rest, 64);
}

/** One mark of the tape, in the same steps. @param {HTMLInputElement} input */
function oneMark(input) {
  const unit = input.dataset.unit ?? "mm";
  const mm = Number(input.dataset.graduationMm) || 1;
  if (unit === "in") return Math.max(1, Math.round((mm / MM_PER_IN) * 64)) || 4;
  return Math.max(1, Math.round(mm)) * 10;
}

/** @param {HTMLInputElement} input @param {string} text */
function put(input, text) {
  if (text.length > 32) return;
  input.value = text;
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

/** The two radio buttons beside an input across the reference line. @param {HTMLInputElement} input */
function sidesOf(input) {
  const found = input.form?.elements.namedItem(`${input.name}.side`);
  return found instanceof RadioNodeList ? found : null;
}

/** @param {HTMLInputElement} input @param {number} way */
function nudge(input, way) {
  const unit = input.dataset.unit ?? "mm";
  const steps = stepsOf(input.value || "0", unit);
  if (steps === null) { input.focus(); return; }
  const sides = sidesOf(input);
  const sign = sides && sides.value === "left" ? -1 : 1;
  const moved = sign * steps + way * oneMark(input);
  if (sides && moved !== 0) sides.value = moved < 0 ? "left" : "right";
  put(input, textOf(sides ? Math.abs(moved) : Math.max(0, moved), unit));
}

/** @param {HTMLInputElement} input */
function makePad(input) {
  const pad = document.createElement("div");
  pad.id = "pad";
  pad.className = "pad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Fractions of an inch");
  for (let k = 1; k < PAD_STEPS; k += 1) pad.append(padButton(reduced(k, PAD_STEPS)));
  pad.append(padButton("clear"));
  input.closest(".field, .stud")?.after(pad);
  // the bar under the thumb covers what lies low: html's scroll-padding keeps the pad above it
  pad.scrollIntoView({ block: "nearest" });
}

/** @param {string} text */
function padButton(text) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button button-small";
  button.dataset.pad = text;
  const [top, bottom] = text.split("/");
  if (!bottom) { button.textContent = text; return button; }
  const frac = document.createElement("span");
  frac.className = "frac";
  for (const [tag, part] of [["sup", top], ["", "\u2044"], ["sub", bottom]]) {
    const piece = tag ? document.createElement(tag) : document.createTextNode(part);
    if (piece instanceof HTMLElement) piece.textContent = part;
    frac.append(piece);
  }
  button.append(frac);
  return button;
}

/** A fraction behind the whole inches that stand there; one that stood there gives way.
 * @param {HTMLInputElement} input @param {string} text */
function putFraction(input, text) {
  if (text === "clear") { put(input, ""); input.focus(); return; }
  const whole = /^\s*(\d+)(?!\/)\b(?!\s*\/)/.exec(input.value);
  put(input, whole ? `${whole[1]} ${text}` : text);
}

/** @type {HTMLInputElement | null} */
let inHand = null;

document.addEventListener("focusin", (event) => {
  const input = event.target;
  if (!(input instanceof HTMLInputElement) || !("length" in input.dataset)) return;
  if (input !== inHand || !document.getElementById("pad")) {
    document.getElementById("pad")?.remove();
    inHand = input;
    if (input.dataset.unit === "in") makePad(input);
    input.select();
  }
});

// Keep the input focused while its buttons are tapped, or the keypad would jump up and down.
document.addEventListener("pointerdown", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-pad]")) event.preventDefault();
});

document.addEventListener("click", (event) => {
  if (!(event.target instanceof Element)) return;
  const pad = event.target.closest("[data-pad]");
  if (pad instanceof HTMLElement && inHand?.isConnected) putFraction(inHand, pad.dataset.pad ?? "");
  const step = event.target.closest("[data-nudge]");
  if (step instanceof HTMLElement) {
    const input = document.getElementById(step.dataset.for ?? "");
    if (input instanceof HTMLInputElement) nudge(input, Number(step.dataset.nudge));
  }
});

/** Buttons that only work with this module stay hidden until it runs. @param {ParentNode} root */
function reveal(root) {
  for (const button of root.querySelectorAll("[data-nudge][hidden]")) {
    button.removeAttribute("hidden");
  }
}
for (const name of ["htmx:load", "holdtrue:shown"]) {
  document.addEventListener(name, (event) => reveal(/** @type {any} */ (event).detail.elt));
}
reveal(document);
