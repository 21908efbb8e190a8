/** What goes over the line for an entry, and for one that was refused. */

/** @typedef {import("./types.js").Kept} Kept */

/** The body of the request that sends an entry. @type {(entry: Kept) => FormData} */
export function bodyOf(entry) {
  const body = new FormData();
  const { fields, key, tapped, seen, stands, unit, shown, as_of: asOf } = entry;
  // what is doubtful was asked when it was tapped; a reading is a fact, whatever the plan is by now
  const own = { ...fields, key, tapped, seen, stands, read_in: unit, late: "1", sure: "1" };
  for (const [name, text] of Object.entries(own)) body.append(name, text);
  for (const [name, value] of Object.entries(shown ?? {})) body.append(`shown.${name}`, String(value ?? ""));
  // an entry kept by an older page does not say
  if (asOf) body.append("as_of", asOf);
  if (entry.of_key) body.append("of_key", entry.of_key);
  if (entry.photo) {
    const bytes = Uint8Array.from(atob(entry.photo.data), (c) => c.charCodeAt(0));
    body.append("photo", new Blob([bytes], { type: entry.photo.type }), entry.photo.name);
  }
  return body;
}

/** What the lead's list gets of a refused entry. @type {(entry: Kept) => FormData} */
export function parkedBodyOf(entry) {
  const body = new FormData();
  body.append("key", `p${entry.key}`);
  body.append("task", entry.task || entry.seat);
  body.append("fields", JSON.stringify({ ...entry.fields, sent_key: entry.key, read_in: entry.unit }));
  body.append("tapped", entry.tapped);
  body.append("words", entry.refused ?? "");
  return body;
}
