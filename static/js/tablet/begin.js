// Begins what script adds to the sheet: the form that is open, the pack of the visit, the entries that wait.
import { isUnsaved } from "../sheet.js";
import { hush, parse, say } from "./draw.js";
import { begin as beginFile } from "./entry-file.js";
import { whyNot } from "./kept.js";
import { begin as beginSending, isWaiting, link, list, onChange } from "./outbox.js";
import { packOf, refresh } from "./packs.js";
import { mark, newsFor, statesOf } from "./marks.js";
import { open } from "./keeping.js";
import { findNumber, openItem, openList, openNew, redrawItem, saveItem, saveLeave, saveNew, takePack, versionKept } from "./screens.js";
import { begin as beginStrip, closeList } from "./strip.js";
import { begin as beginPage } from "./on-tablet.js";
import { finish, watchVisit } from "./finishing.js";
import { savePhoto, showPhotos } from "./photos.js";
import { savePutRight } from "./putting-right.js";
import { inTurn, lifted } from "./turns.js";

const OURS = /^\/visits\/(\d+)\/(sheet|items\/(?:\d+|new-\d+|new))$/;
const FRESH = 30_000;

function placeOf(address) {
  const match = OURS.exec(address.pathname);
  return match && { visit: Number(match[1]), what: match[2], query: address.searchParams };
}

async function start() {
  const problem = await whyNot();
  if (problem) {
    if (placeOf(new URL(location.href))) quietLine(`${problem}, so the sheet needs the network here. Each entry is saved at the office when you press “Save”.`);
    document.documentElement.dataset.tablet = "plain";
    return;
  }
  beginStrip();
  beginSending();
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sheet-worker.js").catch(() => {});
  navigator.storage?.persist?.().catch(() => {});
  const kept = document.getElementById("on-tablet");
  const file = document.getElementById("entry-file");
  if (file) beginFile(file);
  const here = placeOf(new URL(location.href)) || placeBeside(kept !== null);
  if (here?.what === "visit") watchVisit(here.visit);
  else if (here) await openVisit(here, kept !== null);
  else if (kept) beginPage();
}

// The pages beside the sheet: the visit's own, and what the office found for a number. Without the network the list of
// the visit stands in for both.
function placeBeside(fromKept) {
  const match = /^\/visits\/(\d+)(\/find)?$/.exec(location.pathname);
  const what = fromKept ? "sheet" : match?.[2] ? "find" : "visit";
  return match && { visit: Number(match[1]), what, query: new URLSearchParams() };
}

// fromKept: the page came from the service worker, without the network, so the pack draws what was asked for.
async function openVisit(here, fromKept) {
  let pack = await packOf(here.visit);
  if (pack?.whole && (fromKept || here.what.startsWith("items/new-"))) {
    take(pack);
    await inTurn(() => openPlace(here, "stay"));
    tellReady();
  } else if (pack?.whole && !isUnsaved()) {
    take(pack);
    await adopt(here);
    tellReady();
  } else if (fromKept) {
    beginPage();
    say("refused", "This visit is not on this tablet, and there is no network to fetch it.");
    return;
  }
  listen();
  try {
    pack = await refresh(here.visit, (done, total) => quietLine(`Preparing this visit for work without the network: ${done} of ${total}.`));
    if (pack?.whole) { const first = !open.pack; take(pack); await (first ? adopt(here) : redraw()); tellReady(); }
  } catch (unreachable) {
    if (unreachable?.name === "QuotaExceededError") quietLine("The storage of this tablet is full, so the sheet needs the network.");
  }
  setInterval(() => { if (!document.hidden) freshen(); }, FRESH);
  onChange(debounce(async () => { if (open.pack) await markAgain(); }));
}

function take(pack) {
  takePack(pack);
  const secure = window.isSecureContext && "serviceWorker" in navigator;
  const when = new Date(pack.fetched_at).toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
  quietLine(`Works without the network: ${pack.items.length} items kept here, as of ${when}.` + (secure ? "" : " After a reload it needs the network, since this address has no HTTPS."));
}

function tellReady() { document.documentElement.dataset.tablet = "ready"; }

// The page that the server drew becomes the first of those that the tablet draws.
async function adopt(here) {
  await lifted();
  await inTurn(() => takeOver(here));
}

async function takeOver(here) {
  const shown = document.activeElement?.id;
  if (!isUnsaved() && (await isBehind(here))) return adoptLater(here);
  if (!isUnsaved() && (here.what === "sheet" || /^items\/\d+$/.test(here.what))) {
    if ((await openPlace(here, "quiet")) && shown) document.getElementById(shown)?.focus({ preventScroll: true });
  }
  if (isUnsaved()) { open.pack = null; adoptLater(here); }
}

// The page that is here came from the office and may be newer than what this tablet keeps; then it stays until the
// tablet has that too. What waits on the tablet is newer than either.
async function isBehind(here) {
  if ((await list()).some((entry) => entry.visit === here.visit && isWaiting(entry))) return false;
  if (here.what === "sheet") {
    const words = (root) => root.querySelector(".progress")?.textContent.trim();
    return words(document) !== words(parse(open.pack.list));
  }
  const drawn = document.querySelector('#item-form [name="version"]')?.value, kept = await versionKept(here.what.split("/")[1]);
  return kept !== null && Number(drawn) > kept;
}

// Somebody has begun to type meanwhile: that form goes on as it is, and what it saves goes through the pack.
function adoptLater(here) {
  return packOf(here.visit).then((pack) => {
    takePack(pack);
    open.item = here.what.split("/")[1] || "";
    open.screen = null;
    open.place = String(pack.items.find((each) => String(each.id) === open.item)?.location || "");
  });
}

async function openPlace({ what, query }, how) {
  closeList();
  const refused = query.get("refused") && (await list()).find((entry) => entry.place === Number(query.get("refused")) && entry.state === "refused");
  if (what === "sheet") return (await openList(how), true);
  if (what === "items/new") {
    if (query.get("type") === "none") return false;
    return openNew(Object.fromEntries(["number", "location", "type", "like"].map((name) => [name, query.get(name) || ""])), how, refused || null);
  }
  return openItem(what.split("/")[1], how, refused || null);
}

let listening = false;
function listen() {
  if (listening) return;
  listening = true;
  document.addEventListener("click", onClick);
  document.addEventListener("submit", onSubmit, true);
  document.addEventListener("change", onChoose, true);
  window.addEventListener("popstate", async () => {
    const here = placeOf(new URL(location.href));
    if (open.pack && here && !(await inTurn(() => openPlace(here, "stay")))) location.reload();
  });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) freshen(); });
  // Without the network the tablet has answered already; there is nothing to complain about.
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (open.pack && (!navigator.onLine || !link.reached) && event.target.id === "asker") {
      event.preventDefault();
      document.getElementById("item-form")?.classList.remove("is-asking");
    }
  }, true);
  document.addEventListener("htmx:sendError", (event) => {
    if (!open.pack || event.target.id !== "asker") return;
    link.reached = false;
    event.stopImmediatePropagation();
    document.getElementById("item-form")?.classList.remove("is-asking");
  }, true);
}

async function onClick(event) {
  const anchor = event.target.closest?.("a[href]");
  if (!anchor || !open.pack || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || anchor.target || anchor.hasAttribute("download")) return;
  const address = new URL(anchor.href);
  if (address.origin !== location.origin) return;
  const there = placeOf(address);
  if (there && there.visit === open.visit) {
    event.preventDefault();
    await inTurn(() => followLink(anchor.href, there, address.hash));
  } else if (address.pathname !== location.pathname || !address.hash) {
    if (navigator.onLine && link.reached) return;
    event.preventDefault();
    leave(anchor.href);
  }
}

async function followLink(href, there, hash) {
  if (isUnsaved() && !window.confirm("What you typed for this item is not saved. Leave it?")) return;
  hush();
  if (!(await openPlace(there, "push"))) leave(href);
  else if (hash) document.querySelector(hash)?.scrollIntoView();
}

// To a page that only the server has.
function leave(href) {
  if (navigator.onLine && link.reached) { location.href = href; return; }
  say("refused", "This needs the network, which is not there. Everything on this sheet works on.");
}

async function onSubmit(event) {
  const form = event.target;
  if (!open.pack || event.defaultPrevented || form.dataset.plain) return;
  const path = new URL(form.action, location.href).pathname;
  if (!path.startsWith(`/visits/${open.visit}/`) && form.method === "post") { refuseOffline(event); return; }
  const deed = form.id === "item-form" && open.item ? () => saveItem(form, event.submitter)
    : path.endsWith("/leave") && open.item ? () => saveLeave(form, event.submitter)
    : path.endsWith("/put-right") && open.item ? () => savePutRight(form)
    : path.endsWith("/finish") ? () => finish(form, open.visit)
    : path.endsWith("/find") ? async () => { if (!(await findNumber(form.elements.number.value))) location.href = `${path}?${new URLSearchParams(new FormData(form))}`; }
    : path.endsWith("/items/new") ? async () => {
      const asked = Object.fromEntries(new FormData(form, event.submitter));
      if (asked.type === "none" || !(await openNew(asked))) leave(`${path}?${new URLSearchParams(asked)}`);
    }
    : path.endsWith("/items") && form.elements.description && form.dataset.like ? async () => {
      if (await saveNew(form)) return;
      form.dataset.plain = "yes";
      form.requestSubmit(event.submitter);
    } : null;
  if (!deed) { if (form.method === "post") refuseOffline(event); return; }
  event.preventDefault();
  // Finishing draws nothing. The form of a second press has gone with the first, and so has what it was about.
  if (path.endsWith("/finish")) await deed();
  else await inTurn(() => form.isConnected && deed());
}

// A photo goes the way of every entry. Another sequence of checks is the office's to choose.
function onChoose(event) {
  if (!open.pack || !open.item) return;
  if (event.target.id === "f-photo") {
    event.stopImmediatePropagation();
    if (event.target.files.length) savePhoto(event.target);
  } else if (event.target.id === "f-after_repair" && (!navigator.onLine || !link.reached || open.item.startsWith("new-"))) {
    event.stopImmediatePropagation();
    event.target.checked = !event.target.checked;
    say("refused", "The checks after a repair come from the office, and the network is not there. Nothing was changed.");
  }
}

function refuseOffline(event) {
  if (navigator.onLine && link.reached) return;
  if (event.target.matches('[action="/sign-out"]')) return;
  event.preventDefault();
  event.stopPropagation();
  say("refused", "This needs the network, which is not there. Nothing was changed.");
}

// What others saved meanwhile.
let freshening = false, freshenAgain = false, freshened = 0;
async function freshen() {
  if (freshening) { freshenAgain = true; return; }
  if (!open.pack || !navigator.onLine) return;
  freshening = true;
  freshenAgain = false;
  freshened = Date.now();
  try {
    const before = open.pack.mark;
    const pack = await refresh(open.visit);
    if (pack?.whole) { take(pack); if (pack.mark !== before) await redraw(); }
  } catch (unreachable) { link.reached = false; freshenAgain = false; } finally { freshening = false; }
  if (freshenAgain) freshen();
}

async function redraw() {
  await lifted();
  await inTurn(async () => {
    if (placeOf(new URL(location.href))?.what !== "sheet") { await redrawItem(); await markAgain(); return; }
    const at = window.scrollY;
    await openList("quiet");
    window.scrollTo(0, at);
  });
}

async function markAgain() {
  const news = await newsFor(open.pack);
  mark(document.getElementById("main"), open.pack, news, open.item);
  if (open.item) showPhotos(news);
  const after = document.querySelector("#after[data-entry]");
  const entry = after && (await list()).find((each) => each.key === after.dataset.entry);
  if (entry?.state === "saved") {
    after.querySelector("p").firstChild.textContent = after.querySelector("p").firstChild.textContent.replace("On this tablet:", "Saved:");
    delete after.dataset.entry;
  }
  // What was saved is fetched as the office has it now; not after each of many, but once they are all there.
  const states = statesOf(news);
  if (states.saved && (!states.here || Date.now() - freshened > 10_000)) freshen();
}

function quietLine(words) {
  let line = document.getElementById("tablet-line");
  if (!line) {
    line = document.createElement("p");
    line.id = "tablet-line";
    line.className = "soft small tablet-line";
    document.querySelector(".page")?.append(line);
  }
  line.textContent = words;
}

function debounce(deed) {
  let timer = 0;
  return () => { clearTimeout(timer); timer = setTimeout(deed, 80); };
}

start();
