// Keeps the screen awake while somebody works at the wall or a number is read out, where the browser
// can; the read-out says so when it cannot. On every other screen the phone sleeps as it likes.

const AT_THE_WALL = '[data-awake], main:is([data-task^="level."], [data-task^="fasteners."], [data-task^="panels."])';

/** @type {WakeLockSentinel | null} */
let lock = null;

async function stayAwake() {
  if (!document.querySelector(AT_THE_WALL)) return letSleep();
  if (document.visibilityState !== "visible" || (lock && !lock.released)) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    // gone on meanwhile
    if (!document.querySelector(AT_THE_WALL)) await letSleep();
  } catch {
    // no secure address, an old browser, or a low battery: the person must touch the screen
    const said = document.querySelector("[data-awake-said]");
    if (said) said.textContent = "This screen may go dark: touch it now and then.";
  }
}

async function letSleep() {
  const held = lock;
  lock = null;
  if (held && !held.released) await held.release();
}

document.addEventListener("visibilitychange", stayAwake);
document.addEventListener("htmx:load", stayAwake);
document.addEventListener("holdtrue:shown", stayAwake);
stayAwake();
