/** Whether our own server answered: a portal, a proxy or a stranger on its port is nobody's word. */

/** @type {(response: Response, what?: string) => boolean} what: "phone" for a whole page of the phone */
export function isOurs({ headers }, what) {
  const mark = headers.get("X-Holdtrue");
  return what ? mark === what : mark !== null;
}
