// The page that shows what this tablet keeps, and the press on the first page that prepares the next visits.
import { howOld } from "./ages.js";
import { button, count } from "./draw.js";
import { exportEntries } from "./entry-file.js";
import { isWaiting, list, onChange, send } from "./outbox.js";
import { allPacks, forget } from "./packs.js";
import { fillList } from "./strip.js";

export function begin() {
  onChange(show);
  show();
}

async function show() {
  const place = document.getElementById("kept-visits");
  if (!place) return;
  const packs = (await allPacks()).filter((pack) => pack.whole).sort((a, b) => a.booked_on.localeCompare(b.booked_on));
  if (packs.length) place.replaceChildren(...packs.map(line));
  const entries = await list();
  const waiting = entries.filter(isWaiting);
  fillList(document.getElementById("kept-entries"), entries);
  document.getElementById("kept-words").textContent = waiting.length
    ? `${count(waiting.length, "entry")} not at the office yet.`
    : "Nothing waits here: every entry made on this tablet is saved at the office.";
  document.getElementById("kept-acts").replaceChildren(...(waiting.length ? [button("Send now", send), button("Export what is not sent", exportEntries)] : []));
}

function line(pack) {
  const item = document.createElement("li");
  const head = document.createElement("span");
  head.className = "line-head";
  const there = document.createElement("a");
  there.href = `/visits/${pack.visit}/sheet`;
  there.textContent = pack.title;
  const under = document.createElement("span");
  under.className = "line-under";
  under.textContent = `${pack.customer}, ${new Date(pack.booked_on).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short" })}, ${count(pack.items.length, "item")}, kept ${howOld(pack.fetched_at)}`;
  head.append(there, under);
  item.append(head, button("Forget", async () => { await forget(pack.visit); await show(); }));
  return item;
}
