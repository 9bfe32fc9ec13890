// The list of a visit with what this tablet has entered since: which items are done, added, waiting, saved or refused.
import { draw } from "./draw.js";
import { list } from "./outbox.js";

export const WORDS = { here: "on this tablet", sending: "sending", saved: "saved at the office", refused: "refused" };

// What an entry says, in a word or two.
export const kindOf = (entry) => ({
  new: "new item", leave: `not tested: ${entry.not_tested}`, item: entry.verdict || "readings", photo: "photo", "put-right": "put right on the spot",
})[entry.kind] || "";

// Entries that the pack does not show yet: those still here, and those saved since it was made.
function isNews(entry, pack) {
  if (entry.visit !== pack.visit) return false;
  if (entry.state !== "saved") return true;
  const item = pack.items.find((each) => each.id === entry.answer?.item_id);
  if (item && entry.kind === "photo") return !item.photos.includes(entry.answer.photo_id);
  return Boolean(entry.answer?.item_id) && (!item || item.version < entry.answer.version);
}

// All that the pack does not show yet, in order.
export const newsFor = async (pack) => (await list()).filter((entry) => isNews(entry, pack));

// Of this what is about one item. id: the office's, or the one of this tablet.
export const entriesOf = (news, id) => news.filter((entry) => entry.item === String(id) && entry.kind !== "new");

// What the entries of an item come to. latest: the readings or the reason of now; again: what put it right, if that is
// the last that was done and it is still to be tested anew. Nothing where no entry says anything.
export function standingOf(entries) {
  let latest = null, again = null;
  for (const entry of entries.filter((each) => each.state !== "refused")) {
    if (entry.kind === "put-right") { again = entry; latest = null; }
    else if (entry.kind !== "photo") { latest = entry; again = null; }
  }
  return { latest, again };
}

// Whether the office has saved something of this tablet that the pack does not show yet, and whether more is on its way.
export const statesOf = (news) => ({ saved: news.some((entry) => entry.state === "saved"), here: news.some((entry) => entry.state === "here") });

// The items in the order of the list, those added here among them, each with whether it is done.
export const numbersOf = async (pack) => rowsOf(pack, await newsFor(pack));

function rowsOf(pack, entries) {
  const rows = pack.items.map((item) => ({ ...item, done: isDone(entries, item.id, item.done) }));
  for (const entry of entries.filter((each) => each.kind === "new")) {
    const row = { id: entry.local, number: entry.number, description: entry.description, location: entry.location, place: entry.where, verdict: "", done: isDone(entries, entry.local, false) };
    const last = rows.findLastIndex((each) => each.location === entry.location);
    rows.splice(last < 0 ? rows.length : last + 1, 0, row);
  }
  return rows;
}

function isDone(entries, id, before) {
  const { latest, again } = standingOf(entries.filter((entry) => entry.item === String(id)));
  if (again) return false;
  return before || latest?.kind === "leave" || ["pass", "fail"].includes(latest?.verdict);
}

// Mark the rows of the list that stands under root. current: the item that is open.
export function mark(root, pack, entries, current = "") {
  root.querySelectorAll(".item-row").forEach((row) => { row.dataset.item = row.getAttribute("href").split("/").pop(); });
  for (const entry of entries.filter((each) => each.kind === "new")) addRow(root, pack, entry);
  for (const row of root.querySelectorAll(".item-row")) {
    const own = entries.filter((entry) => entry.item === row.dataset.item);
    if (own.length) markRow(row, own);
    if (row.dataset.item === current) row.setAttribute("aria-current", "true");
  }
  const rows = rowsOf(pack, entries);
  const done = rows.filter((row) => row.done).length;
  const line = root.querySelector(".progress");
  if (line) {
    const bar = line.querySelector("progress");
    Object.assign(bar, { value: done, max: rows.length || 1 });
    bar.setAttribute("aria-label", `${done} of ${rows.length} items done`);
    line.querySelector(".progress-words").replaceChildren(strong(done), ` of ${rows.length} items done`);
  }
  for (const place of root.querySelectorAll(".location")) {
    const own = rows.filter((row) => String(row.location) === place.id.replace("location-", ""));
    const count = place.querySelector(".location-count");
    if (count) count.textContent = `${own.filter((row) => row.done).length} of ${own.length}`;
  }
  const count = root.querySelector(".sheet-count > .soft");
  if (count) count.firstChild.textContent = `${done} of ${rows.length}`;
  const next = Array.from(root.querySelectorAll(".page-head a")).find((each) => each.textContent.trim() === "Next open item");
  const left = rows.find((row) => !row.done);
  if (next && left) next.setAttribute("href", `/visits/${pack.visit}/items/${left.id}`);
  if (next && !left) next.remove();
}

function addRow(root, pack, entry) {
  if (root.querySelector(`.item-row[data-item="${entry.local}"]`)) return;
  const like = root.querySelector(".item-row");
  if (!like) return;
  const line = like.closest("li").cloneNode(true);
  const row = line.querySelector(".item-row");
  row.removeAttribute("aria-current");
  row.setAttribute("href", `/visits/${pack.visit}/items/${entry.local}`);
  row.dataset.item = entry.local;
  row.querySelector(".item-number").textContent = entry.number;
  row.querySelector(".item-words").textContent = entry.description;
  row.querySelectorAll(".verdict, .item-open").forEach((piece) => piece.remove());
  const open = document.createElement("span");
  open.className = "item-open";
  open.textContent = "to do";
  row.append(open);
  const place = root.querySelector(`#location-${entry.location} .item-list`) || root.querySelector(".location:last-of-type .item-list") || like.closest(".item-list");
  place.append(line);
}

function markRow(row, entries) {
  const said = entries.filter((entry) => entry.kind !== "photo");
  const last = said.filter((entry) => entry.kind !== "new").at(-1) || said.at(-1);
  if (!last) return;
  row.querySelectorAll(".item-note, .item-open, .verdict").forEach((piece) => piece.remove());
  const note = document.createElement("span");
  note.className = `item-note item-${last.state}`;
  const what = last.not_tested ? `not tested: ${last.not_tested}, ` : last.kind === "put-right" ? "put right, " : "";
  note.textContent = what + WORDS[last.state];
  row.querySelector(".item-words").append(note);
  if (last.verdict) row.append(draw(`verdict-${last.verdict}`));
  else if (last.kind === "new" || last.kind === "put-right") {
    const open = document.createElement("span");
    open.className = "item-open";
    open.textContent = last.kind === "new" ? "to do" : "to test again";
    row.append(open);
  }
}

function strong(text) {
  const piece = document.createElement("strong");
  piece.textContent = text;
  return piece;
}
