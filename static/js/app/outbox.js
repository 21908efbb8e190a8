/** What stands inside the outbox's line: why it waits, what it is, what was refused. */

import { isStuck } from "./send.js";
import { seen, told } from "./refused.js";
import { made, momentWords } from "./words.js";

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").Kept} Kept */
/** @typedef {import("./app.js").App} App */

/** @type {(app: App) => { words: string, isTrouble: boolean, inside: Node[] }} */
export function outboxOf(app) {
  const { queue, sender } = app;
  const [waiting, parked, withLead] = [queue.waiting(), queue.parked(), told(queue.store)];
  const words = [
    ...(parked.length ? [`${parked.length} refused: for the lead to settle`] : []),
    ...(withLead.length ? [`${withLead.length} refused: with the lead`] : []),
  ].join(". ");
  const notes = made("div", "outbox-note", ...notesOf(app, waiting));
  const list = made("ol", "outbox-list",
    ...withLead.map((entry) => refusedLine(app, entry, true)),
    ...parked.map((entry) => refusedLine(app, entry, false)),
    ...waiting.map((entry) => line(entry)));
  return { words, isTrouble: Boolean(words || sender?.trouble || sender?.needsSignIn), inside: [notes, list] };
}

/** @type {(app: App, waiting: Kept[]) => Node[]} */
function notesOf({ queue, sender, job, bar }, waiting) {
  const notes = [];
  if (sender?.needsSignIn) {
    const link = made("a", "button", "Sign in again");
    link.href = job.urls.join;
    notes.push(made("p", "", "The sign-in has ended. All of this stays here and is sent after you sign in again."), link);
  } else if (sender?.trouble) notes.push(made("p", "", `Last try: ${sender.trouble}. It tries again by itself.`));
  const stuck = sender && waiting.find((entry) => isStuck(sender, entry));
  if (sender && stuck) {
    notes.push(
      made("p", "", `${stuck.title} makes the server fail, and all that was tapped after it waits behind it. `
        + `Tell the lead what was typed: ${saidIn(stuck)}.`),
      button("Hand it to the lead's list", () => sender.giveUp(stuck)),
    );
  }
  const others = sender && waiting.find((entry) => sender.isOthers(entry));
  if (sender && others) {
    notes.push(
      made("p", "", `${others.name} recorded these on this phone, and ${job.name} is signed in now.`),
      button(`Send them as ${job.name}`, () => {
        sender.sendsForOthers = true;
        sender.kick();
      }),
    );
  }
  const unread = queue.store.unreadable().length;
  if (unread) notes.push(made("p", "", `${unread} kept by another version of this page: load the page again.`));
  return notes;
}

/** @type {(words: string, tapped: () => void) => HTMLElement} */
function button(words, tapped) {
  const element = made("button", "button", words);
  element.type = "button";
  element.addEventListener("click", tapped);
  return element;
}

/** What was typed and chosen, in short. @type {(entry: Entry) => string} */
export function saidIn({ fields }) {
  return Object.entries(fields)
    .filter(([name, text]) => text && !/^(outcome|sure|late|echoed\.|shown\.|rows|again|of$)/.test(name))
    .map(([name, text]) => (name === "what" ? text.replaceAll(":", " ").trim() : text)).join(", ")
    || (fields.outcome ?? "").replace("_", " ");
}

/** @type {(entry: Entry) => HTMLElement} */
const line = (entry) => made("li", "", made("b", "", entry.title), " ", saidIn(entry), " ",
  made("span", "soft", `tapped ${momentWords(entry.tapped)}`));

/** A refused one stays until somebody has seen it. @type {(app: App, entry: Entry, isWithLead: boolean) => HTMLElement} */
function refusedLine(app, entry, isWithLead) {
  const item = line(entry);
  item.append(made("p", "outbox-refused", `Refused: ${entry.refused}`));
  const look = button("Look at it", () => app.go({ screen: "refused", key: entry.key, task: entry.task }));
  if (!isWithLead) item.append(made("p", "", "Not on the lead's list yet: only on this phone."), look);
  else {
    item.append(look, button("Seen", () => {
      seen(app.queue.store, entry.key);
      app.bar.write();
    }));
  }
  return item;
}
