// The entries on their way to the office: kept first, sent one after the other, each with its own key, and called saved
// only by the office's answer. A repeat of a key gets the first answer, so sending again never does anything twice.
import { all, change, newKey, put, remove, removeAll } from "./kept.js";

const SHORTEST = 2_000, LONGEST = 300_000, PATIENCE = 20_000, SAVED_KEPT = 400;
const listeners = new Set();
export const link = { reached: true, signedOut: false, person: null, sending: null, trouble: "" };
let timer = 0, wait = SHORTEST, running = null, again = false;

export function onChange(deed) { listeners.add(deed); }
function tell() { listeners.forEach((deed) => deed()); }

export const list = () => all("entries");
export const isWaiting = (entry) => entry.state !== "saved";

// Keep an entry; it is on this tablet once this is done. Raises what the browser says when it cannot be kept.
export async function add(entry) {
  const kept = { key: newKey(), state: "here", made_at: Date.now(), awake: 0, reason: "", ...entry };
  if (kept.place === undefined) delete kept.place;
  kept.place = await put("entries", kept);
  tell();
  send();
  return kept;
}

// Put a corrected entry in the place of a refused one, with a key of its own.
export function replace(refused, changed) {
  return add({ ...refused, ...changed, key: newKey(), state: "here", reason: "", mistakes: null, theirs: null, answer: null });
}

export async function drop(entry) {
  await remove("entries", entry.place);
  tell();
}

export function send() {
  if (running) { again = true; return running; }
  running = sendAll().finally(() => {
    running = null;
    link.sending = null;
    tell();
    if (again) { again = false; send(); }
  });
  return running;
}

async function sendAll() {
  clearTimeout(timer);
  const waiting = (await list()).filter((entry) => entry.state === "here");
  if (!waiting.length) { wait = SHORTEST; return; }
  if (!(await askWho())) { later(); return; }
  let stuck = false;
  for (const { place } of waiting) {
    const entries = await list();
    const entry = entries.find((each) => each.place === place);
    if (!entry || entry.state !== "here" || entry.person !== link.person.id) continue;
    const ready = made(entry, entries);
    if (!ready) continue;
    link.sending = entry.place;
    tell();
    const answer = await post(entry, ready);
    if (answer === null) { later(); return; }
    if (answer === "later") { stuck = true; continue; }
    await change("entries", (each) => (each.place === place && each.key === entry.key ? { ...each, ...answer } : null));
    tell();
  }
  await tidy();
  if (stuck) later(); else wait = SHORTEST;
}

// Who is signed in, and whether the office can be reached at all.
export async function askWho() {
  try {
    const answer = await ask("/on-this-tablet/person");
    link.reached = true;
    link.signedOut = answer.status === 401;
    if (!answer.ok) return false;
    link.person = await answer.json();
    return true;
  } catch (unreachable) {
    link.reached = false;
    return false;
  } finally { tell(); }
}

export function ask(address, more = {}, patience = PATIENCE) {
  return fetch(address, { ...more, headers: { Accept: "application/json", ...more.headers }, cache: "no-store", signal: AbortSignal.timeout(patience) });
}

// The address and the fields of an entry with what earlier ones have brought, or nothing while one of those is not saved.
function made(entry, entries) {
  const before = entries.filter((each) => each.place < entry.place && each.visit === entry.visit);
  let address = entry.address, fields = entry.fields;
  for (const need of entry.needs || []) {
    const found = entries.find((each) => each.local === need);
    if (!found || found.state !== "saved") return null;
    address = address.replace(need, found.answer.item_id);
  }
  // A photo changes no readings, so it neither waits for them nor holds them up.
  const same = entry.kind === "photo" ? [] : before.filter((each) => each.item === entry.item && each.kind !== "start" && each.kind !== "photo");
  if (same.some((each) => each.state !== "saved")) return null;
  const last = same.at(-1);
  if (entry.chained && last && last.answer.version) {
    fields = fields.map(([name, value]) => [name, name === "version" ? String(last.answer.version) : value]);
  }
  return { address, fields };
}

async function post(entry, { address, fields }) {
  const age = Math.max(0, Math.floor((Date.now() - entry.made_at) / 1000));
  const headers = { "X-CSRF": link.person.csrf, "Entry-Key": entry.key, "Entry-Age": String(age) };
  if (entry.for) headers["Entry-For"] = String(entry.for);
  const withFile = fields.some(([, value]) => value instanceof Blob);
  const body = withFile ? new FormData() : new URLSearchParams();
  fields.forEach(([name, value]) => body.append(name, value));
  try {
    const answer = await ask(address, { method: "POST", headers, body, redirect: "error" });
    link.reached = true;
    const told = await answer.json().catch(() => ({}));
    if (answer.ok && told.to) return { state: "saved", answer: told, fields: [], reason: "", saved_at: Date.now() };
    if (answer.status === 401) { link.signedOut = true; return null; }
    if (answer.status === 409 || answer.status === 422 || answer.status === 404 || answer.status === 413) {
      const reason = told.message || Object.values(told.mistakes || {}).join(" ") || "The office did not take this.";
      return { state: "refused", reason, mistakes: told.mistakes || null, theirs: told.theirs || null, saved: told.saved || null };
    }
    link.trouble = told.message || "";
    return "later";
  } catch (unreachable) {
    link.reached = false;
    return null;
  }
}

// Try again by a timer that waits longer each time, by a little more or less, so that not all tablets come at once.
function later() {
  clearTimeout(timer);
  timer = setTimeout(send, wait * (0.75 + Math.random() / 2));
  wait = Math.min(wait * 2, LONGEST);
}

// What is saved is kept only as long as later entries may refer to it; readings are not kept once they are saved.
async function tidy() {
  const entries = await list();
  const waiting = entries.filter(isWaiting);
  const old = entries.filter((entry) => entry.state === "saved" && !waiting.some((each) => each.visit === entry.visit));
  const spare = old.slice(0, Math.max(0, old.length - SAVED_KEPT));
  if (spare.length) await removeAll("entries", spare.map((entry) => entry.place));
}

// How long an entry has waited, in ms: by the clock, but never less than the time for which a page of ours was awake
// meanwhile. A clock that is set back cannot silence the banner; one that leaps ahead only brings it early.
export const age = (entry) => Math.max(Date.now() - entry.made_at, entry.awake || 0, 0);

let ticked = performance.now();
async function tick() {
  const passed = performance.now() - ticked;
  ticked = performance.now();
  await change("entries", (entry) => (entry.state === "here" && passed > 0 ? { ...entry, awake: (entry.awake || 0) + passed } : null));
  tell();
}

export function begin() {
  window.addEventListener("online", () => { wait = SHORTEST; send(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { wait = SHORTEST; send(); } });
  setInterval(() => tick().catch(() => {}), 30_000);
  send();
}
