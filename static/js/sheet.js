// The visit sheet: locks follow the verdict as it is typed, the next field is where the hand expects it, and what is not
// saved yet says so. The sheet works without this; then it is judged when it is saved. A tablet that keeps a pack of the
// visit opens one screen after the other in the same page, so everything here looks for the form that is open now.
import { button, say } from "./tablet/draw.js";

let form = null;
let unsaved = false;
// One question at a time goes out, the last one always does, and an answer to what no longer stands there is not shown.
let edits = 0;
let asked = 0;

// A scanner or an instrument types wherever the focus happens to be. Where that is no text, what it types goes to the
// next empty reading of an item that is being worked on, else to the finder.
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !/^[0-9A-Za-z.,<>]$/.test(event.key)) return;
  if (event.target.closest("textarea, select, input:not([type=radio], [type=checkbox])")) return;
  const reading = unsaved && stops().find((field) => field.type === "text" && isEmpty(field));
  const place = reading || document.getElementById("find-number");
  if (!place) return;
  place.focus();
  place.select();
});

function isShut(field) {
  const fold = field.closest("details");
  return field.disabled || field.closest("fieldset:disabled") !== null || (fold && !fold.open) || field.offsetParent === null;
}

// The places to fill in, in order: text fields, and of two big choices the chosen one or the first.
function stops() {
  return Array.from(form ? form.querySelectorAll(".step input") : []).filter((field) => {
    if (field.type === "checkbox" || field.type === "hidden" || "aside" in field.dataset || isShut(field)) return false;
    if (field.type !== "radio") return true;
    const chosen = form.querySelector(`input[name="${field.name}"]:checked`);
    return chosen ? chosen === field : form.querySelector(`input[name="${field.name}"]`) === field;
  });
}

function isEmpty(field) {
  return field.type === "radio" ? !form.querySelector(`input[name="${field.name}"]:checked`) : field.value.trim() === "";
}

function goOn(field) {
  const all = stops();
  let place = all.indexOf(field);
  if (place < 0 && field.type === "radio") place = all.findIndex((other) => other.name === field.name);
  // From a field beside the way, such as the name of a metal part, to the reading that follows it.
  if (place < 0) {
    place = all.findIndex((other) => field.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING) - 1;
    if (place === -2) place = all.length;
  }
  const next = all[place + 1] || form.querySelector('button[value="next"]');
  next.focus();
  if (next.select) next.select();
}

// Locks --------------------------------------------------------------------------------------------------------------
function sentences(kind) {
  const lines = Array.from(form.querySelectorAll(`#so-far li[data-${kind}]`));
  return Object.fromEntries(lines.map((line) => [line.dataset[kind], line.textContent]));
}

export function lock() {
  const locked = sentences("locks");
  const waiting = sentences("waits");
  let opened = false;
  form.querySelectorAll(".part[data-check]").forEach((part) => {
    const why = locked[part.dataset.check] || "";
    const fields = part.querySelector("fieldset");
    if (fields.disabled && !why && Array.from(fields.elements).some(hasValue)) opened = true;
    if (!fields.disabled && why && fields.contains(document.activeElement)) document.activeElement.blur();
    fields.disabled = why !== "";
    part.classList.toggle("is-locked", why !== "");
    part.querySelector("[data-lock]").textContent = why;
    const isFirst = part === part.parentElement.firstElementChild;
    part.querySelector("[data-wait]").textContent = isFirst && !why ? waiting[part.dataset.check] || "" : "";
    if (isFirst) part.closest(".step").classList.toggle("is-locked", why !== "");
  });
  // What was typed before the lock counts again, so it is judged again.
  if (opened) form.dispatchEvent(new Event("input", { bubbles: true }));
}

function hasValue(field) {
  return field.type === "radio" || field.type === "checkbox" ? field.checked : Boolean(field.value);
}

// What a lock has switched off is not sent. After a failure that is as it should be; but whoever would take back what was
// saved before, or leave out what waits for a decision, is asked first. A window hears it before anybody else does.
let agreed = false;

function wasSaved(field) {
  return field.type === "radio" || field.type === "checkbox" ? field.defaultChecked : field.defaultValue !== "";
}

function shutParts() {
  const failed = document.getElementById("so-far").dataset.verdict === "fail";
  const counts = (field) => field.name && field.name !== "lead" && hasValue(field) && (!failed || wasSaved(field));
  return Array.from(form.querySelectorAll(".part.is-locked[data-check]")).filter((part) => Array.from(part.querySelector("fieldset").elements).some(counts));
}

window.addEventListener("submit", (event) => {
  if (!form || event.target !== form || agreed) return;
  const names = shutParts().map((part) => part.querySelector("legend").textContent);
  if (!names.length) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const them = names.length === 1 ? "it" : "them", own = form, submitter = event.submitter;
  say("refused", `Not saved yet. Locked, and so not saved with the rest: ${names.join(", ")}. Put right what locks ${them}, or save without ${them}.`,
    button(`Save without ${them}`, () => { agreed = true; own.requestSubmit(submitter); }));
}, true);

document.addEventListener("htmx:afterSettle", (event) => {
  if (!form || !event.detail.elt) return;
  if (event.detail.elt.id === "steps") {
    // Another sequence came with its own answers, so nothing is still being asked.
    form.classList.remove("is-asking");
    lock();
  }
  if (event.detail.elt.id !== "so-far") return;
  if (asked === edits) form.classList.remove("is-asking");
  lock();
});

// Not saved yet ------------------------------------------------------------------------------------------------------
function leaveUnsaved() {
  unsaved = true;
  document.getElementById("sheet-status").textContent = "Not saved yet";
}

export const isUnsaved = () => unsaved;

window.addEventListener("pageshow", (event) => { if (event.persisted && form) unsaved = true; });
window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });

// Take up the item that is on the page now, or none.
export function openForm() {
  form = document.getElementById("item-form");
  unsaved = false;
  agreed = false;
  edits = asked = 0;
  document.dispatchEvent(new Event("screenopened"));
  if (!form) return;
  const own = form;

  // Enter, from a keyboard or an instrument that types its reading, goes to the next field instead of sending the form.
  own.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || field.tagName !== "INPUT") return;
    event.preventDefault();
    if (field.type === "checkbox" || (field.type === "radio" && isEmpty(field))) return;
    goOn(field);
  });

  // "All points satisfactory", pressed with a finger, opens the first reading.
  own.addEventListener("click", (event) => {
    const field = event.target;
    if (field.type !== "radio" || field.value !== "satisfactory" || event.detail === 0) return;
    if (field.name === "visual") goOn(field);
  });

  own.addEventListener("input", (event) => {
    edits += 1;
    own.classList.add("is-asking");
    if (!unsaved && event.target !== own) leaveUnsaved();
  });
  own.addEventListener("htmx:beforeRequest", (event) => { if (event.target.id === "asker") asked = edits; });
  own.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.requestConfig.elt.id === "asker" && asked !== edits) event.detail.shouldSwap = false;
  });
  own.addEventListener("submit", () => {
    unsaved = false;
    document.getElementById("sheet-status").textContent = "Saving…";
  });
  if (document.getElementById("so-far").querySelector("[data-locks]")) lock();
  if ("unsaved" in own.dataset) leaveUnsaved();

  // Where to begin: what is wrong, else what is empty.
  const first = document.querySelector('#main [aria-invalid="true"]') || stops().find(isEmpty);
  if (first) first.focus({ preventScroll: !first.matches('[aria-invalid="true"]') });
}

// Somebody was quicker than this script: what was typed meanwhile is not saved, and is judged once the page is complete.
function takeUpWhatWasTyped() {
  const own = form;
  const isTyped = (field) => field.type === "radio" || field.type === "checkbox" ? field.checked !== field.defaultChecked
    : "defaultValue" in field && field.type !== "hidden" && field.value !== field.defaultValue;
  if (!own || !Array.from(own.elements).some(isTyped)) return;
  leaveUnsaved();
  const judge = () => own.dispatchEvent(new Event("input", { bubbles: true }));
  if (document.readyState === "complete") judge();
  else window.addEventListener("load", judge, { once: true });
}

openForm();
takeUpWhatWasTyped();
