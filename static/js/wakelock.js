// Keeps the screen awake while a number is read out, where the browser can; says so when it cannot.

/** @type {WakeLockSentinel | null} */
let lock = null;

async function stayAwake() {
  if (!document.querySelector("[data-awake]")) {
    await lock?.release();
    return;
  }
  if (document.visibilityState !== "visible" || (lock && !lock.released)) return;
  const said = document.querySelector("[data-awake-said]");
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    // no secure address, an old browser, or a low battery: the person must touch the screen
    if (said) said.textContent = "This screen may go dark: touch it now and then.";
  }
}

document.addEventListener("visibilitychange", stayAwake);
document.addEventListener("htmx:load", stayAwake);
document.addEventListener("holdtrue:shown", stayAwake);
stayAwake();
