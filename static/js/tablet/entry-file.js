// Entries that cannot be sent, as a file of our own (docs/entry-files.md), and taking such a file in at the office.
import { draw } from "./draw.js";
import { add, askWho, isWaiting, link, list, onChange } from "./outbox.js";
import { kindOf, WORDS } from "./marks.js";

const FORMAT = "ohmstead entries", VERSION = 1;
const TOLD = ["key", "kind", "visit", "address", "fields", "item", "local", "needs", "chained", "person", "number", "description", "verdict", "not_tested", "made_at", "what"];

export async function exportEntries() {
  const entries = (await list()).filter(isWaiting);
  const told = await Promise.all(entries.map(async (entry) => ({
    ...Object.fromEntries(TOLD.filter((name) => entry[name] !== undefined).map((name) => [name, entry[name]])),
    fields: await Promise.all(entry.fields.map(async ([name, value]) => [name, value instanceof Blob ? await asText(value) : value])),
  })));
  const text = JSON.stringify({ format: FORMAT, version: VERSION, written_at: Date.now(), entries: told }, null, 1);
  const link_ = document.createElement("a");
  link_.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link_.download = `ohmstead-entries-${new Date().toISOString().slice(0, 10)}.json`;
  link_.click();
  setTimeout(() => URL.revokeObjectURL(link_.href), 60_000);
}

// A photo, as a data address.
const asText = (blob) => new Promise((done, failed) => {
  const reader = new FileReader();
  reader.onload = () => done({ photo: reader.result });
  reader.onerror = () => failed(reader.error);
  reader.readAsDataURL(blob);
});

function asPhoto(told) {
  const [, text] = /^data:image\/jpeg;base64,([A-Za-z0-9+/=]+)$/.exec(told?.photo) || [];
  if (!text) throw new Error("A photo in this file is not complete. Nothing was taken in.");
  const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  return new File([bytes], "photo.jpg", { type: "image/jpeg" });
}

export function readFile(text) {
  let told;
  try { told = JSON.parse(text); } catch (odd) { throw new Error("This is not a file of entries: it cannot be read."); }
  if (told?.format !== FORMAT || !Array.isArray(told.entries)) throw new Error("This is not a file of entries from a tablet.");
  if (told.version !== VERSION) throw new Error("This file was written by another version of the program. Bring this one up to date first.");
  const good = (entry) => typeof entry.key === "string" && Array.isArray(entry.fields) && /^\/visits\/\d+\/(start|items)(\/[\w-]+)?(\/(leave|put-right|photos))?$/.test(entry.address);
  if (!told.entries.every(good)) throw new Error("An entry in this file is not complete. Nothing was taken in.");
  const taken = (entry) => entry.fields.map(([name, value]) => [name, typeof value === "string" ? value : asPhoto(value)]);
  return { ...told, entries: told.entries.map((entry) => ({ ...entry, fields: taken(entry) })) };
}

// The page at the office.
export function begin(place) {
  const words = document.getElementById("entry-file-words"), take = document.getElementById("entry-file-take");
  const lines = document.getElementById("entry-file-list");
  let told = null, keys = new Set();
  document.getElementById("entry-file-chosen").addEventListener("change", async (event) => {
    try {
      told = readFile(await event.target.files[0].text());
      await askWho();
      const foreign = told.entries.some((entry) => entry.person !== Number(place.dataset.person));
      if (foreign && !place.dataset.office) throw new Error("These entries were made by somebody else. The office takes them in.");
      lines.replaceChildren(...told.entries.map((entry) => line(entry, "")));
      words.textContent = told.entries.length ? `${told.entries.length} in this file. Nothing is taken in yet.` : "There is no entry in this file.";
      take.hidden = !told.entries.length;
    } catch (problem) {
      told = null;
      take.hidden = true;
      lines.replaceChildren();
      words.textContent = problem.message;
    }
  });
  take.addEventListener("click", async () => {
    take.hidden = true;
    keys = new Set(told.entries.map((entry) => entry.key));
    const before = new Set((await list()).map((entry) => entry.key));
    for (const entry of told.entries) {
      if (before.has(entry.key)) continue;
      // The clock of the tablet is not the clock here: what counts is how long before the file it was made.
      const made_at = Date.now() - Math.max(0, told.written_at - entry.made_at);
      await add({ ...entry, made_at, for: entry.person, person: link.person.id });
    }
  });
  onChange(async () => {
    if (!keys.size) return;
    const entries = (await list()).filter((entry) => keys.has(entry.key));
    lines.replaceChildren(...entries.map((entry) => line(entry, WORDS[entry.state])));
    const waiting = entries.filter(isWaiting);
    words.textContent = waiting.length ? `${entries.length - waiting.length} of ${entries.length} taken in.` : `All ${entries.length} are saved at the office.`;
  });
}

function line(entry, state) {
  const words = entry.number ? `${entry.number} ${entry.description}` : entry.what || "Entry";
  return draw("entry", { words, state, under: [kindOf(entry), entry.reason].filter(Boolean).join(", ") });
}
