// One screen of the sheet after the other, in the same page, from the pack of the visit: the list, an item, a new item.
// Without a pack nothing here happens, and links and forms work as they do without script.
import { isUnsaved, openForm } from "../sheet.js";
import { button, draw, hush, link as drawLink, parse, say } from "./draw.js";
import { blame, follow, leftToOffice, mistakesIn, valuesOf } from "./live.js";
import { about, here, isChained, isStarted, keep, open, reachable } from "./keeping.js";
import { isWaiting, link, list, drop } from "./outbox.js";
import { screenOf } from "./packs.js";
import { showPhotos } from "./photos.js";
import { drawPutRight, screenAfter } from "./putting-right.js";
import { inTurn } from "./turns.js";
import { entriesOf, mark, newsFor, numbersOf, standingOf } from "./marks.js";

const OWN_FIELDS = ["number", "description", "location_id", "new_location", "make", "model", "serial", "equipment_type_id", "csrf", "interval_months", "interval_reason", "notes"];
//: Facts on which only limits hang, not which checks there are.
const LIMIT_FACTS = ["cord_length_m", "cord_csa_mm2", "fuse_a", "rated_power_w"];

const main = () => document.getElementById("main");

export function takePack(pack) {
  open.visit = pack.visit;
  open.pack = pack;
}

function put(parsed, title) {
  // An answer about the screen that goes away has no place on the one that comes.
  const asker = document.getElementById("asker");
  if (asker) window.htmx?.trigger(asker, "htmx:abort");
  // The list is brought up to date with the pack, together with what this tablet has entered.
  parsed.querySelectorAll("[data-refresh]").forEach((piece) => {
    delete piece.dataset.refresh;
    piece.removeAttribute("hx-get");
    piece.removeAttribute("hx-trigger");
  });
  main().replaceChildren(...Array.from(parsed.body.childNodes).filter((node) => node.id !== "notice"));
  warnOfExpiry();
  document.title = `${title} · Ohmstead`;
  document.body.classList.add("on-site");
  window.htmx?.process(main());
}

// The calibration can run out while the network is away.
function warnOfExpiry() {
  const [until, words] = open.pack.expiry || [];
  const today = new Date().toLocaleDateString("en-CA");
  if (!until || until >= today) return;
  const piece = draw("notice-refused", { words });
  piece.querySelector("[data-acts]").remove();
  main().prepend(piece);
}

function go(path, how) {
  if (how === "push" && location.pathname + location.search !== path) history.pushState({ ours: true }, "", path);
  if (how !== "quiet") window.scrollTo(0, 0);
}

// how: "push" for a step that Back undoes, "stay" for none, "quiet" where the tablet draws by itself, which takes nothing
// away that somebody has typed meanwhile.
// The list --------------------------------------------------------------------------------------------------------
export async function openList(how = "push", only = null) {
  const started = await isStarted(), news = await newsFor(open.pack);
  const typed = typedInFinder(how);
  open.item = open.place = "";
  open.refused = null;
  go(`${here()}/sheet`, how);
  put(parse(open.pack.list), `Visit sheet, ${open.pack.title}`);
  if (!started) offerStart();
  mark(main(), open.pack, news);
  if (only) {
    main().querySelectorAll(".item-row").forEach((row) => { row.closest("li").hidden = !only.includes(row.dataset.item); });
    main().querySelectorAll(".location").forEach((place) => { place.hidden = !place.querySelector("li:not([hidden]) > .item-row"); });
  }
  openForm();
  document.getElementById("find-number")?.focus({ preventScroll: true });
  typeInFinder(typed);
}

const typedInFinder = (how) => (how === "quiet" && document.getElementById("find-number")?.value) || "";

function typeInFinder(typed) {
  const finder = document.getElementById("find-number");
  if (!finder || !typed) return;
  finder.value = typed;
  finder.focus({ preventScroll: true });
}

// A visit that was not started when it was prepared is started here.
function offerStart() {
  say("note", "This visit has not started. Starting it puts every item of these premises on its list.", button("Start the visit", async () => {
    await keep({ kind: "start", item: "", local: `start-${open.visit}`, address: `${here()}/start`, fields: [], what: "Start of the visit" });
    hush();
  }));
}

// An item ---------------------------------------------------------------------------------------------------------
// id: a number, or new-… for an item that was added on this tablet and has no number of the office's yet.
export async function openItem(id, how = "push", refused = null) {
  const found = await findItem(id);
  if (!found) return false;
  if (!(await isStarted())) { await openList(how); return true; }
  const { item } = found;
  const news = await newsFor(open.pack), kept = await list();
  if (how === "quiet" && isUnsaved()) return false;
  // From here on nothing is waited for, so that nobody meets a screen that is half drawn.
  const typed = typedInFinder(how);
  const entries = entriesOf(news, item.id);
  const { again } = standingOf(entries);
  const screen = again ? screenAfter(found.screen, again) : found.screen;
  open.mark = found.screen.mark;
  open.screen = screen;
  // An item that was added here is opened under the office's own id as soon as it has one.
  open.item = String(item.id);
  open.refused = refused;
  open.place = String(item.location);
  if (String(id) !== open.item && how !== "push") history.replaceState({ ours: true }, "", `${here()}/items/${item.id}`);
  go(`${here()}/items/${item.id}`, how);
  const parsed = parse(screen.html);
  parsed.querySelector(".sheet-items").replaceChildren(...listParts());
  // The office does not know this item yet, so there is nobody to ask as somebody types.
  if (found.added) parsed.getElementById("asker")?.remove();
  put(parsed, `${item.number} ${item.description}`);
  if (found.added) nameNew(item);
  mark(main(), open.pack, news, open.item);
  const form = document.getElementById("item-form");
  form.dataset.item = open.item;
  fillLatest(form, kept, refused?.kind === "put-right" ? null : refused);
  drawPutRight(form, screen, entries, refused);
  showPhotos(news);
  openForm();
  follow(form, screen, open.pack.units);
  const blamed = refused?.kind === "put-right" ? document.querySelector(".put-right-body") : form;
  if (refused?.mistakes && blamed) blame(blamed, refused.mistakes);
  if (refused) showRefused(form, refused);
  document.querySelector('.sheet-items [aria-current="true"]')?.scrollIntoView({ block: "nearest" });
  typeInFinder(typed);
  return true;
}

// The list beside an item as the office has it now, and the item itself where that has something newer of it and nobody
// has begun to change it.
export async function redrawItem() {
  const news = await newsFor(open.pack);
  const beside = document.querySelector(".sheet-items");
  if (beside && open.item) {
    beside.replaceChildren(...listParts());
    mark(main(), open.pack, news, open.item);
  }
  const found = open.item && !open.refused && (await findItem(open.item));
  if (!found || found.screen.mark === open.mark) return;
  if ((await list()).some((entry) => entry.visit === open.visit && entry.item === open.item && isWaiting(entry))) return;
  const at = [window.scrollX, window.scrollY];
  if (await openItem(open.item, "quiet")) window.scrollTo(...at);
}

// The version of an item that this tablet keeps a screen of; nothing where it keeps none.
export async function versionKept(id) {
  const found = await findItem(id);
  return found ? Number(parse(found.screen.html).querySelector('#item-form [name="version"]')?.value || 0) : null;
}

async function findItem(id) {
  const item = open.pack.items.find((each) => String(each.id) === String(id));
  if (item) {
    const screen = await screenOf(open.visit, "item", item.id);
    return screen && { screen, item };
  }
  const entry = (await list()).find((each) => each.local === String(id));
  if (!entry) return null;
  if (entry.state === "saved") {
    const kept = open.pack.items.find((each) => each.id === entry.answer.item_id);
    if (kept) return findItem(kept.id);
  }
  const screen = await screenOf(open.visit, entry.like ? "item" : "type", entry.like || entry.type);
  const item_ = { id, number: entry.number, description: entry.description, location: entry.location, line: entry.line };
  if (!screen) return null;
  return { screen: entry.changed ? leftToOffice(screen) : screen, item: item_, added: true };
}

function listParts() {
  const parsed = parse(open.pack.list);
  return [parsed.querySelector(".progress"), parsed.getElementById("groups")].filter(Boolean);
}

function nameNew(item) {
  const head = main().querySelector(".item-head");
  head.querySelector("h1").textContent = `${item.number} ${item.description}`;
  main().querySelectorAll(".item-acts > a, .reading-last, .recorded").forEach((piece) => piece.remove());
  const version = main().querySelector('#item-form [name="version"]');
  if (version) version.value = "1";
}

// What this tablet has entered for the item since the pack was made, so that a correction begins with it.
function fillLatest(form, kept, refused) {
  const entries = kept.filter((entry) => entry.visit === open.visit && entry.item === open.item);
  const from = entries.findLastIndex((entry) => entry.kind === "put-right" && entry.state !== "refused");
  const waiting = refused || entries.filter((entry, place) => place > from && isWaiting(entry) && entry.kind === "item").at(-1);
  if (waiting) fill(form, waiting.fields);
  catchUp(form, kept);
}

// What this tablet saved itself while the form was open is no change by somebody else: the form follows it.
export function catchUp(form, kept) {
  const entries = kept.filter((entry) => entry.visit === open.visit && entry.item === open.item);
  const saved = entries.filter((entry) => entry.state === "saved" && entry.answer.version).at(-1);
  const version = form.elements.version;
  if (saved && Number(saved.answer.version) > Number(version.value || 0)) version.value = saved.answer.version;
}

export function fill(form, fields) {
  const values = new Map(fields);
  for (const field of form.elements) {
    if (!field.name || ["csrf", "version"].includes(field.name) || field.type === "submit" || field.type === "file") continue;
    if (field.type === "radio" || field.type === "checkbox") field.checked = values.get(field.name) === field.value;
    else field.value = values.get(field.name) ?? "";
  }
}

// Saving ----------------------------------------------------------------------------------------------------------
export async function saveItem(form, submitter) {
  const found = await findItem(open.item);
  const screen = open.screen || found.screen, item = found.item;
  const forward = submitter?.value === "next";
  const wrong = mistakesIn(form, screen, open.pack.units);
  if (blame(form, wrong)) return;
  catchUp(form, await list());
  const fields = Array.from(new FormData(form)).filter(([name, value]) => !["csrf", "then"].includes(name) && value !== "");
  if (!fields.some(([name]) => !["version", "lead"].includes(name))) {
    if (forward) await openNext(item.id);
    else say("refused", "Nothing is entered yet, so there is nothing to save.");
    return;
  }
  const verdict = document.getElementById("so-far").dataset.verdict || "";
  const kept = await keep({ ...about(item), kind: "item", address: `${here()}/items/${item.id}`, fields: [...fields, ["then", "stay"]], verdict, chained: await isChained() }, form, submitter);
  if (!kept) return;
  open.refused = null;
  if (forward) await openNext(item.id); else await openItem(item.id, "stay");
  tellKept(kept);
}

export async function saveLeave(form, submitter) {
  const item = (await findItem(open.item)).item;
  const note = form.elements.not_tested_note.value.trim();
  if (submitter?.value === "other" && !note) {
    say("refused", "Say in the note why the item was not tested.");
    form.elements.not_tested_note.focus();
    return;
  }
  catchUp(document.getElementById("item-form"), await list());
  const fields = [["version", document.querySelector('#item-form [name="version"]').value], ["reason", submitter.value], ["not_tested_note", note]];
  const kept = await keep({ ...about(item), kind: "leave", address: `${here()}/items/${item.id}/leave`, fields, not_tested: submitter.value, chained: await isChained() }, form, submitter);
  if (!kept) return;
  await openNext(item.id);
  tellKept(kept);
}

function tellKept(entry) {
  const words = `On this tablet: ${entry.number} ${entry.description}${entry.not_tested ? `, not tested, ${entry.not_tested}` : ""}${entry.verdict ? "," : "."}`;
  const acts = [drawLink("Correct it", `${here()}/items/${entry.item}`)];
  if (entry.verdict === "fail") acts.push(drawLink("Put it right on the spot", `${here()}/items/${entry.item}#put-right`));
  const piece = say(entry.verdict === "fail" ? "refused" : "saved", words, ...acts);
  if (!piece) return;
  piece.id = "after";
  piece.dataset.entry = entry.key;
  const place = piece.querySelector("p");
  if (entry.verdict) place.append(" ", draw(`verdict-${entry.verdict}`), ".");
  if (entry.verdict === "fail") {
    const strong = document.createElement("strong");
    strong.textContent = " Take it out of use now, and label it so that nobody uses it.";
    place.append(strong);
  }
}

async function openNext(id) {
  const rows = await numbersOf(open.pack);
  const place = rows.findIndex((row) => String(row.id) === String(id));
  const next = [...rows.slice(place + 1), ...rows.slice(0, place)].find((row) => !row.done);
  if (next) await openItem(next.id); else await openList();
}

// What the office refused ------------------------------------------------------------------------------------------
function showRefused(form, entry) {
  if (!entry.theirs) {
    say("refused", `Refused: ${entry.reason} Put it right and save again.`, button("Drop this entry", () => dropEntry(entry)));
    return;
  }
  const piece = draw("both", { theirs: `At the office, by ${entry.saved.by || "somebody else"}` });
  const mine = new Map(entry.fields);
  for (const [name, label] of labelsOf(form)) {
    const ours = mine.get(name) || "", theirs = entry.theirs[name] || "";
    if (ours === theirs) continue;
    const row = piece.querySelector("tbody").insertRow();
    for (const [place, text] of [label, ours || "nothing", theirs || "nothing"].entries()) {
      const cell = document.createElement(place ? "td" : "th");
      cell.textContent = text;
      row.append(cell);
    }
  }
  piece.querySelector("[data-acts]").append(
    button("Let the office’s stand", () => dropEntry(entry)),
    button("Save mine in its place", () => {
      form.elements.version.value = entry.saved.version;
      form.requestSubmit(form.querySelector('button[value="stay"]'));
    }),
  );
  say("refused", `${entry.reason} Nothing of yours was saved.`);
  form.before(piece);
}

function labelsOf(form) {
  const labels = new Map();
  for (const field of form.elements) {
    if (!field.name || labels.has(field.name) || ["version", "csrf", "then"].includes(field.name)) continue;
    const near = field.type === "radio" ? field.closest(".step")?.querySelector("h2") : field.labels?.[0] || field.closest("label");
    labels.set(field.name, (near?.textContent || field.name).replace(/^Step \d+: /, "").trim());
  }
  return labels;
}

const dropEntry = (entry) => inTurn(async () => {
  await drop(entry);
  open.refused = null;
  await openItem(open.item, "stay");
  hush();
});

// Finding ---------------------------------------------------------------------------------------------------------
export async function findNumber(typed) {
  const number = typed.trim().toUpperCase();
  if (!number) return openList();
  const rows = await numbersOf(open.pack);
  const plain = (text) => text.replace(/^0+/, "");
  const exact = rows.filter((row) => row.number === number);
  const padded = rows.filter((row) => plain(row.number) === plain(number));
  const found = exact.length ? exact : padded.length ? padded : rows.filter((row) => row.number.endsWith(number));
  if (found.length === 1) return openItem(found[0].id);
  if (found.length) {
    await openList("push", found.map((row) => String(row.id)));
    say("note", `${found.length} numbers end in ${number}. Which one is it?`);
    return true;
  }
  if (link.reached && navigator.onLine && (await reachable())) return false;
  // Labels of this customer were taken apart before (scan.js), so this one is somebody else's.
  const foreign = /\/L\/[0-9]{1,9}\/([A-Z0-9.:-]{1,20})$/.exec(number);
  if (foreign) {
    say("refused", `This label, number ${foreign[1].replace(/:/g, "/")}, was printed for another customer. If the item belongs here now, add it as a new item and put a new label over the old one.`);
    return true;
  }
  const known = open.pack.numbers[number];
  if (known !== undefined) {
    say("refused", `Item ${number} is on the register${known ? `: ${known}` : ""}, but not on this visit. It can be put on it when the network is there.`);
    return true;
  }
  await openNew({ number, location: open.place });
  say("note", `No item here has the number ${number}, or one that ends so. Add it as a new one.`);
  return true;
}

// A new item ------------------------------------------------------------------------------------------------------
export async function openNew({ number = "", location: place = "", type = "", like = "" }, how = "push", refused = null) {
  const query = new URLSearchParams(Object.entries({ number, location: place, type, like }).filter(([, value]) => value));
  const address = `${here()}/items/new${query.size ? `?${query}` : ""}`;
  if (!type && !like && !refused) {
    go(address, how);
    open.item = "";
    open.refused = null;
    const parsed = parse(open.pack.new_type);
    const form = parsed.querySelector('form[action$="/items/new"]');
    for (const [name, value] of Object.entries({ number, location: place })) {
      const field = parsed.createElement("input");
      Object.assign(field, { type: "hidden", name, value });
      if (value) form.append(field);
    }
    put(parsed, "New item");
    openForm();
    return true;
  }
  const [kind, id] = refused ? (refused.like ? ["item", refused.like] : ["type", refused.type]) : like ? ["item", like] : ["type", type];
  const screen = await screenOf(open.visit, kind, Number(id));
  if (!screen) return false;
  const entries = (await list()).filter((entry) => entry.visit === open.visit && entry.kind === "new");
  go(address, how);
  put(parse(open.pack.new), "New item");
  openForm();
  open.item = "";
  open.refused = refused;
  const form = main().querySelector('form[action$="/items"]');
  fill(form, refused ? refused.fields : Object.entries(screen.like));
  form.dataset.kind = kind;
  form.dataset.like = id;
  if (!refused) {
    const taken = new Set(entries.map((entry) => entry.number));
    form.elements.number.value = number || open.pack.free.find((each) => !taken.has(each)) || "";
    form.elements.location_id.value = place || entries.at(-1)?.location || open.place || form.elements.location_id.value;
  }
  const words = main().querySelector(".facts-words");
  if (words) words.innerHTML = screen.line;
  const fold = main().querySelector(".facts-more");
  if (fold) fold.open = false;
  if (refused) {
    blame(form, refused.mistakes || {});
    say("refused", `Refused: ${refused.reason}`, button("Drop this item and its entries", () => inTurn(async () => {
      for (const entry of await list()) if (entry.place === refused.place || (entry.needs || []).includes(refused.local)) await drop(entry);
      await openList();
      hush();
    })));
  } else {
    form.elements.number.focus();
    form.elements.number.select?.();
  }
  return true;
}

// Whether the form can be kept here; else it goes the plain way.
export async function saveNew(form) {
  const value = (name) => form.elements[name]?.value.trim() || "";
  const number = value("number").toUpperCase();
  const screen = await screenOf(open.visit, form.dataset.kind || "type", Number(form.dataset.like));
  const changed = screen ? changedFacts(form, screen.like) : ["all"];
  const onlyLimits = changed.every((name) => LIMIT_FACTS.includes(name));
  if (changed.length && navigator.onLine && (await reachable())) return false;
  const rows = await numbersOf(open.pack);
  const others = rows.filter((row) => row.number === number && String(row.id) !== open.refused?.local);
  const wrong = {};
  if (!number) wrong.number = "Give it a number.";
  else if (others.length) wrong.number = `Item ${number} is there already: ${others[0].description}, ${others[0].place}.`;
  else if (open.pack.numbers[number] !== undefined) wrong.number = `Item ${number} is there already${open.pack.numbers[number] ? `: ${open.pack.numbers[number]}` : ""}.`;
  if (!value("description")) wrong.description = "Say what it is.";
  if (!value("location_id") && !value("new_location")) wrong.location_id = "Choose where it is, or name a new location.";
  if (blame(form, wrong)) return true;
  if (!onlyLimits) {
    say("refused", "Its facts differ so much from what is usual that its checks are worked out at the office. Add it when the network is there, or choose another type.");
    return true;
  }
  const local = open.refused?.local || `new-${crypto.getRandomValues(new Uint32Array(2)).join("")}`;
  const fields = Array.from(new FormData(form)).filter(([name, text]) => name !== "csrf" && text !== "");
  const place = form.elements.location_id.selectedOptions?.[0];
  const isLike = form.dataset.kind === "item";
  const kept = await keep({
    kind: "new", item: local, local, address: `${here()}/items`, fields: fields.map(([name, text]) => [name, name === "number" ? number : text]),
    number, description: value("description"), location: Number(value("location_id")) || 0,
    where: value("new_location") || place?.textContent || "", like: isLike ? Number(form.dataset.like) : 0, type: isLike ? 0 : Number(form.dataset.like),
    changed: changed.length > 0,
  }, form);
  if (!kept) return true;
  open.refused = null;
  await openItem(local);
  return true;
}

function changedFacts(form, like) {
  const now = valuesOf(form);
  const names = new Set([...Object.keys(like), ...now.keys()].filter((name) => !OWN_FIELDS.includes(name)));
  return Array.from(names).filter((name) => (now.get(name) || "") !== (like[name] || ""));
}

