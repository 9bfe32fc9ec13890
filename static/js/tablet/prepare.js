// On the first page: one press puts one's own visits of today and of the next working day on this tablet.
import { whyNot } from "./kept.js";
import { howOld } from "./ages.js";
import { ask, begin as beginSending } from "./outbox.js";
import { allPacks, refresh } from "./packs.js";

const place = document.getElementById("prepare");
const words = document.getElementById("prepare-words");
const press = document.getElementById("prepare-press");

async function wanted() {
  const answer = await ask("/on-this-tablet/prepare");
  return answer.ok ? answer.json() : [];
}

async function show() {
  const visits = await wanted();
  if (!visits.length) { place.hidden = true; return; }
  const packs = new Map((await allPacks()).filter((pack) => pack.whole).map((pack) => [pack.visit, pack]));
  const told = visits.map(({ visit, title }) => {
    const pack = packs.get(visit);
    return pack ? `${title} is on this tablet, ${pack.items.length} items, kept ${howOld(pack.fetched_at)}` : `${title} is not on this tablet yet`;
  });
  words.textContent = `${told.join("; ")}.`;
  place.hidden = false;
}

async function prepare() {
  press.disabled = true;
  try {
    for (const { visit, title } of await wanted()) {
      words.textContent = `Preparing ${title}.`;
      await refresh(visit, (done, total) => { words.textContent = `Preparing ${title}: ${done} of ${total}.`; });
    }
    await show();
  } catch (problem) {
    words.textContent = problem?.name === "QuotaExceededError"
      ? "The storage of this tablet is full. Free some space and press again."
      : "Not prepared: the office could not be reached. Press again when the network is back.";
  }
  press.disabled = false;
}

if (place && !(await whyNot())) {
  beginSending();
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sheet-worker.js").catch(() => {});
  press.addEventListener("click", prepare);
  show().catch(() => {});
}
