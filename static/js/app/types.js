/**
 * The shapes the phone's modules share; nothing here runs.
 *
 * @typedef {"waiting" | "ready" | "done" | "stopped"} Status
 *
 * @typedef {object} Task a task as the server last said it stands
 * @property {string} id
 * @property {string} kind
 * @property {string} stage
 * @property {string} title
 * @property {string} ask
 * @property {string} subject
 * @property {string | null} panel
 * @property {Status} status
 * @property {string} why
 * @property {string[]} needs tasks (or "stage:...") that must be done before this one is ready
 * @property {boolean} [awaited] false: no later stage waits for it
 * @property {string} bar why it cannot be ready whatever is done; "" when nothing bars it
 * @property {boolean} done it is recorded and the record still holds, also while a stop locks it
 * @property {boolean} optional
 * @property {boolean} lead_only
 * @property {boolean} has_plan
 * @property {number} stands seq of the record that stands, or 0
 * @property {Values} [values] of that record
 * @property {Record<string, number>} [planned] what the plan read in its lengths then, mm
 * @property {Values[]} [touches] advised for a trim
 * @property {string} [outcome]
 * @property {string} [who]
 * @property {string} [when]
 *
 * @typedef {{ mm: number, typed?: string, side?: string }} LengthValue
 * @typedef {Record<string, any>} Values
 *
 * @typedef {object} Field
 * @property {string} name
 * @property {"length" | "across" | "choice" | "text" | "name" | "count" | "studs" | "seats" | "photo"} kind
 * @property {string} label
 * @property {boolean} required
 * @property {number | null} far_mm
 * @property {[string, string][]} choices
 *
 * @typedef {{ seq: number, seat: string, what: string, note: string, at_mm: [number, number],
 *   who: string, when: string }} Stop
 *
 * @typedef {{ seats: string[], width_mm: number, height_mm: number, spacing_mm: number }} Panel
 *
 * @typedef {object} Job the page's JSON
 * @property {string} job
 * @property {string} person
 * @property {string} name
 * @property {string} title
 * @property {"in" | "mm" | "cm"} unit
 * @property {string} hand
 * @property {boolean} is_lead
 * @property {number} seq
 * @property {number} revision
 * @property {string | null} way of working, as released; null: not released
 * @property {string} wall name of the drawing of the whole wall
 * @property {number[]} parked refused entries that the lead has not settled
 * @property {string} at the address this page answered
 * @property {Record<string, string>} urls
 * @property {string} csrf
 * @property {Task[]} tasks
 * @property {Task[]} [spares]
 * @property {{ name: string, title: string, note: string }[]} stages
 * @property {Record<string, Field[]>} fields
 * @property {import("../core/problem.js").Problem} problem
 * @property {Stop[]} stops
 * @property {string[]} heeds what must be read of the job as a whole
 * @property {{ seat: string, text: string }[]} findings
 * @property {{ value: string, name: string, into: string, note: string }[]} fasteners
 * @property {Record<string, Panel>} panels
 * @property {Record<string, number>} tolerance
 * @property {Record<string, string[]>} [carries]
 * @property {Record<string, string[]>} [tight] of those, what fails if a hanger is a little off plan
 * @property {{ of: number, text: string, task: string } | null} undo
 * @property {string} review
 * @property {string | null} way of working, as released; null before that
 *
 * @typedef {object} Shown the seat as the phone showed it when the button was tapped
 * @property {number} x_mm
 * @property {number} y_mm
 * @property {number} hole_y_mm
 * @property {number} above_mm over its level line
 * @property {string | null} fastener
 *
 * @typedef {object} Entry one thing recorded on this phone, to be sent once
 * @property {string} key made once for the form it was typed in
 * @property {"task" | "way" | "undo"} kind
 * @property {string} url
 * @property {string} task task id; "" for an undo
 * @property {string} seat of a "way" entry
 * @property {string} title what it is in words, for the list
 * @property {Record<string, string>} fields as typed
 * @property {string} tapped the phone's clock, ISO 8601
 * @property {string} [as_of] number of the job's last entry as this phone knew it
 * @property {string} person who was signed in
 * @property {string} name
 * @property {string} unit of bare numbers
 * @property {string} [work] title of the job, for the pages of other jobs
 * @property {string} seen
 * @property {string} stands
 * @property {Shown | null} shown
 * @property {Record<string, number>} planned what the plan read in each length's field, mm
 * @property {string} [of_key] an undo of an entry the server had not acknowledged yet
 * @property {{ name: string, type: string, data: string }} [photo] data: base64
 * @property {number} [stored] the server's number for it: it is on the server's disk
 * @property {string} [refused] the server's words; parked for the lead
 * @property {number} [parked] the number of the lead's list for it
 *
 * @typedef {Entry & { at: string }} Kept an entry and the name it is kept under
 */

export {};
