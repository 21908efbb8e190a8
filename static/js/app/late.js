/**
 * What is only needed after the first tap: the recompute, results, the other screens. It is fetched
 * as soon as the first screen can be used, so that it does not keep anybody waiting for that.
 */

/** @typedef {typeof import("./later.js")} Later */

const AGAIN_MS = 1_000;
/** @type {Later | null} */
let here = null;
/** @type {Promise<Later> | null} */
let coming = null;

/** All of it; only ask once ``lateReady`` has answered. @returns {Later} */
export function late() {
  if (!here) throw new Error("the rest of the page is not there yet");
  return here;
}

/** @returns {boolean} */
export const isLateHere = () => here !== null;

/** @returns {Promise<Later>} when all of it has arrived, however often it must be asked for */
export function lateReady() {
  coming ??= fetched();
  return coming;
}

/** @returns {Promise<Later>} */
async function fetched() {
  for (let tries = 0; !here; tries += 1) {
    try {
      // another address each time: browsers remember a module that did not come
      here = await (tries ? import(`./later.js?again=${tries}`) : import("./later.js"));
    } catch {
      await new Promise((done) => setTimeout(done, AGAIN_MS));
    }
  }
  return /** @type {Later} */ (here);
}
