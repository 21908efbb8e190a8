/** Keys of entries: made here, so that what is sent twice is stored once. */

/** 128 random bits in hex. @returns {string} */
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
