/** What goes over the line for an entry, and for one that was refused. */

/** @typedef {import("./types.js").Kept} Kept */
/** @typedef {NonNullable<import("./types.js").Entry["photo"]>} Photo */

/** The body of the request that sends an entry. @type {(entry: Kept) => FormData} */
export function bodyOf(entry) {
  const { fields, key, tapped, seen, stands, unit, as_of: asOf } = entry;
  // what is doubtful was asked when it was tapped; a reading is a fact, whatever the plan is by now
  const own = { ...shownOf(entry), ...fields, key, tapped, seen, stands, read_in: unit, late: "1", sure: "1" };
  const body = new FormData();
  for (const [name, text] of Object.entries(own)) body.append(name, text);
  // an entry kept by an older page does not say
  if (asOf) body.append("as_of", asOf);
  if (entry.of_key) body.append("of_key", entry.of_key);
  addPhoto(body, entry);
  return body;
}

/** What the lead's list gets of a refused entry: all of it. @type {(entry: Kept) => FormData} */
export function parkedBodyOf(entry) {
  const { fields, key, unit, planned } = entry;
  const plan = Object.entries(planned ?? {}).map(([name, mm]) => [`planned.${name}`, String(mm)]);
  const body = new FormData();
  body.append("key", `p${key}`);
  body.append("task", entry.task || entry.seat);
  body.append("fields", JSON.stringify({ ...shownOf(entry), ...Object.fromEntries(plan), sent_key: key, read_in: unit, ...fields }));
  body.append("tapped", entry.tapped);
  body.append("words", entry.refused ?? "");
  addPhoto(body, entry);
  return body;
}

/** The seat as the phone showed it: where the mark or the hole is. @type {(entry: Kept) => Record<string, string>} */
const shownOf = ({ shown }) =>
  Object.fromEntries(Object.entries(shown ?? {}).map(([name, value]) => [`shown.${name}`, String(value ?? "")]));

/** @type {(body: FormData, entry: Kept) => void} */
function addPhoto(body, { photo }) {
  if (!photo) return;
  const bytes = Uint8Array.from(atob(photo.data), (c) => c.charCodeAt(0));
  body.append("photo", new Blob([bytes], { type: photo.type }), photo.name);
}

/** @type {(photo: Photo) => number} */
export const bytesOf = ({ data }) => (data.length * 3) / 4 - (/=*$/.exec(data)?.[0].length ?? 0);
