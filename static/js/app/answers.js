/**
 * One post to the server, and what its answer means.
 *
 * Only a JSON answer of our own server counts: a page with status 200 from a portal or a proxy is
 * no acknowledgement.
 */

/**
 * stored: on the server's disk, with a photo of so many bytes. refused: never to be taken as it is.
 * sign-in: the session is gone. later: no answer, or none that says what became of it; isFault: the
 * server fell over it.
 * @typedef {{ how: "stored", seq: number, photo: number } | { how: "refused", words: string }
 *   | { how: "sign-in", csrf: string | null } | { how: "later", words: string, isFault?: boolean }} Answer
 */

const PATIENCE_MS = 8_000;
/** A photo on a slow line. */
const PHOTO_PATIENCE_MS = 60_000;
const NO_ANSWER = "no answer from the server";
/** The store cannot be written: no entry's fault. */
const UNAVAILABLE = 503;

/**
 * Post and say what became of it; never throws for what a network does.
 * @type {(url: string, body: FormData, csrf: string) => Promise<Answer>}
 */
export async function post(url, body, csrf) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), body.has("photo") ? PHOTO_PATIENCE_MS : PATIENCE_MS);
  try {
    const response = await fetch(url, {
      method: "POST", body, redirect: "error", signal: patience.signal, cache: "no-store",
      headers: { Accept: "application/json", "X-Outbox": "1", "X-CSRF": csrf },
    });
    return answerOf(response.status, await response.text());
  } catch {
    // refused, timed out, cut off half way: whether it was stored is not known, so it stays
    return { how: "later", words: NO_ANSWER };
  } finally {
    clearTimeout(timer);
  }
}

/** @type {(status: number, text: string) => Answer} */
export function answerOf(status, text) {
  const said = readJson(text);
  if (status === 200 && Number.isInteger(said?.stored)) {
    return { how: "stored", seq: said.stored, photo: said.photo ?? 0 };
  }
  if (status === 401 && said) return { how: "sign-in", csrf: said.csrf ?? null };
  if (typeof said?.refused === "string") return { how: "refused", words: said.refused };
  if (status === 413) return { how: "refused", words: "The server takes nothing this large." };
  const isFault = status >= 500 && status !== UNAVAILABLE;
  const what = isFault ? "the server has a fault" : status === 429 ? "the server is busy" : "";
  const own = status === UNAVAILABLE ? said?.error : "";
  return { how: "later", words: own || `${what || NO_ANSWER} (${status})`, isFault };
}

/** @type {(text: string) => any} */
function readJson(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null; // a page, not an answer
  }
}
