// What waits on this tablet, said on every page of the sheet: how much, since when, and each entry with its state.
import { button, clock, count, draw, link as drawLink } from "./draw.js";
import { exportEntries } from "./entry-file.js";
import { age, drop, isWaiting, link, list, onChange, send } from "./outbox.js";
import { isLeaving } from "./leaving.js";
import { kindOf, WORDS } from "./marks.js";

const HOUR = 3_600_000, DAY = 24 * HOUR;
let strip = null, dialog = null;

export function begin() {
  strip = draw("strip");
  document.querySelector(".page").prepend(strip);
  dialog = draw("entries");
  document.body.append(dialog);
  strip.querySelector("[data-show-entries]").addEventListener("click", () => { show(); dialog.showModal(); });
  dialog.querySelector("[data-close-entries]").addEventListener("click", () => dialog.close());
  dialog.querySelector("[data-send]").addEventListener("click", () => send());
  dialog.querySelector("[data-export]").addEventListener("click", () => exportEntries());
  onChange(show);
  window.addEventListener("online", show);
  window.addEventListener("offline", () => { link.reached = false; show(); });
  window.addEventListener("beforeunload", warn);
  show();
}

let waitingNow = 0;

async function show() {
  const entries = await list().catch(() => []);
  const waiting = entries.filter(isWaiting);
  waitingNow = waiting.length;
  say(waiting);
  fillList(dialog.querySelector("[data-list]"), entries);
  dialog.querySelector("[data-words]").textContent = waiting.length
    ? `${count(waiting.length, "entry")} not at the office yet. They stay on this tablet until the office has saved them.`
    : "Every entry made on this tablet is saved at the office.";
  dialog.querySelector("[data-send]").hidden = dialog.querySelector("[data-export]").hidden = !waiting.length;
}

function say(waiting) {
  const refused = waiting.filter((entry) => entry.state === "refused").length;
  const foreign = link.person ? waiting.filter((entry) => entry.person !== link.person.id).length : 0;
  const oldest = Math.max(0, ...waiting.map(age));
  const noNetwork = !link.reached || !navigator.onLine;
  let words = "";
  if (waiting.length) {
    words = `${count(waiting.length, "entry")} on this tablet`;
    if (oldest >= HOUR) words += `, the oldest for ${oldest >= DAY ? count(Math.floor(oldest / DAY), "day") : count(Math.floor(oldest / HOUR), "hour")}`;
    words += refused ? `; ${refused} refused by the office: look at ${refused === 1 ? "it" : "them"}.`
      : link.signedOut ? ". You are signed out: sign in again, and they are sent."
      : foreign === waiting.length ? ", made by somebody else: sent when that person signs in."
      : noNetwork ? ". No network: they are sent when it is back."
      : link.sending !== null ? ", sending." : ", waiting to be sent.";
    if (oldest >= DAY) words += " Bring the tablet to the network today, or export them.";
  } else if (noNetwork) {
    words = "No network. What you save stays on this tablet until it is back.";
  }
  strip.hidden = !words;
  strip.querySelector("[data-words]").textContent = words;
  strip.classList.toggle("is-quiet", !waiting.length);
  strip.classList.toggle("is-late", oldest >= HOUR);
  strip.classList.toggle("is-very-late", oldest >= DAY);
  strip.querySelector("[data-show-entries]").hidden = !waiting.length;
  strip.querySelector(".strip-sign-in")?.remove();
  if (link.signedOut && waiting.length) {
    const there = drawLink("Sign in", `/sign-in?next=${encodeURIComponent(location.pathname)}`);
    there.classList.add("strip-sign-in");
    strip.append(there);
  }
}

// Waiting ones first, newest first; then the last that were saved.
export function fillList(place, entries) {
  const waiting = entries.filter(isWaiting).reverse();
  const saved = entries.filter((entry) => !isWaiting(entry)).reverse().slice(0, 20);
  place.replaceChildren(...[...waiting, ...saved].map(drawEntry));
}

function drawEntry(entry) {
  const state = link.sending === entry.place ? "sending" : entry.state;
  const words = entry.number ? `${entry.number} ${entry.description}` : entry.what || "Entry";
  const piece = draw("entry", { words, state: WORDS[state], under: [kindOf(entry), clock(entry.saved_at || entry.made_at), entry.reason].filter(Boolean).join(", ") });
  piece.querySelector("[data-state]").classList.add(`tablet-${state}`);
  if (entry.state === "refused") {
    piece.querySelector("[data-acts]").append(
      entry.item ? drawLink("Look at it", entry.kind === "new" ? `/visits/${entry.visit}/items/new?refused=${entry.place}` : `/visits/${entry.visit}/items/${entry.item}?refused=${entry.place}`)
        : button("Drop it", () => drop(entry)),
    );
  }
  return piece;
}

export const closeList = () => dialog?.close();

function warn(event) {
  if (waitingNow && !isLeaving()) event.preventDefault();
}
