// The place on the sheet where somebody is, and keeping what they enter there as an entry of the outbox.
import { say } from "./draw.js";
import { add, ask, isWaiting, list, replace } from "./outbox.js";

// refused: the refused entry that is being put right; place: the location last worked in; screen, mark: what is
// drawn and judged by.
export const open = { visit: 0, pack: null, item: "", refused: null, place: "", screen: null, mark: "" };
export const here = () => `/visits/${open.visit}`;
// Somebody waits for this answer, so a network that lets them wait counts as none.
export const reachable = () => ask("/on-this-tablet/person", {}, 8_000).then((answer) => answer.ok, () => false);

export async function isStarted() {
  return open.pack.state !== "booked" || (await list()).some((entry) => entry.local === `start-${open.visit}` && entry.state !== "refused");
}

// Keep an entry of this visit. Gives nothing where it could not be kept, which is then said.
export async function keep(entry, form = null, submitter = null) {
  try {
    const needs = [...(entry.needs || [])];
    if (open.pack.state === "booked" && entry.kind !== "start") needs.push(`start-${open.visit}`);
    const whole = { visit: open.visit, person: open.pack.person, ...entry, needs };
    return open.refused && open.refused.kind === entry.kind ? await replace(open.refused, whole) : await add(whole);
  } catch (problem) {
    const full = problem && problem.name === "QuotaExceededError";
    const why = full ? "The storage of this tablet is full" : "This tablet could not keep the entry";
    // Nothing is kept here, so it goes the plain way, as without script; without the network it stays in the form.
    if (form && navigator.onLine && (await reachable()) && !open.item.startsWith("new-")) {
      form.dataset.plain = "yes";
      form.requestSubmit(submitter);
    } else {
      say("refused", `Not saved: ${why.toLowerCase()}. What you typed is still on this page. Free some space, or save again when the network is there.`);
    }
    return null;
  }
}

// What every entry tells of its item.
export function about(item) {
  const needs = String(item.id).startsWith("new-") ? [String(item.id)] : [];
  return { item: String(item.id), number: item.number, description: item.description, needs };
}

// Whether readings of this item are on their way, so that the next entry takes the version which they bring.
export async function isChained() {
  const own = (await list()).filter((entry) => entry.visit === open.visit && entry.item === open.item && isWaiting(entry));
  return own.some((entry) => entry.kind !== "photo" && entry.place !== open.refused?.place);
}
