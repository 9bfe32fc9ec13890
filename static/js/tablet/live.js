// The verdict as it is typed, from the pack: a line for each reading, the locks, the verdict so far. The office's own
// answer, where it can be reached, takes its place a moment later.
import { lock } from "../sheet.js";
import { draw } from "./draw.js";
import { judgeItem } from "./judging.js";

const STILL = "Still to do: ";

export function valuesOf(form) {
  const values = new Map();
  // What a lock has switched off counts for nothing; judging drops it again by itself, so that a lock can open.
  for (const field of form.elements) {
    if (!field.name || ((field.type === "radio" || field.type === "checkbox") && !field.checked)) continue;
    if (!values.has(field.name)) values.set(field.name, field.value);
  }
  return values;
}

// A screen of the same checks whose limits are not known here, since a fact differs from what is usual.
export function leftToOffice(screen) {
  const between = "judged at the office, since its facts differ from what is usual";
  const steps = screen.steps.map((step) => ({
    ...step,
    fields: step.fields.map((field) => (field.kind === "reading" ? { ...field, always: "inconclusive", between } : field)),
  }));
  return { ...screen, steps, changed: true };
}

// Judge the form now and at every change. Gives the answer of now.
export function follow(form, screen, units) {
  const judge = () => show(form, judgeItem(screen, valuesOf(form), units), screen);
  form.addEventListener("input", judge);
  judge();
}

function show(form, answer, screen) {
  for (const step of screen.steps) {
    for (const field of step.fields) {
      const place = document.getElementById(`f-${field.name}-verdict`);
      if (place) place.replaceChildren(...line(answer.lines[field.name]));
    }
  }
  const place = document.getElementById("so-far");
  if (!place) return;
  place.dataset.verdict = answer.verdict;
  const told = document.createElement("ul");
  told.hidden = true;
  for (const [check, why] of Object.entries(answer.locked)) {
    const item = document.createElement("li");
    item.dataset.locks = check;
    item.textContent = why;
    told.append(item);
  }
  place.replaceChildren(told);
  if (answer.verdict) place.prepend(draw(`verdict-${answer.verdict}`));
  if (answer.left.length) {
    const left = document.createElement("span");
    left.className = "so-far-why";
    left.textContent = STILL + answer.left.join(", ") + ".";
    told.before(" ", left);
  }
  lock();
}

function line(answer) {
  if (!answer || answer.unfinished) return [];
  if (answer.mistake) return [draw("mistake", { words: answer.mistake })];
  const pieces = [draw(`outcome-${answer.outcome}`)];
  if (answer.sentence) {
    const why = document.createElement("span");
    why.className = "reading-why";
    why.textContent = answer.sentence;
    pieces.push(why);
  }
  return pieces;
}

// What must be put right before an entry can be kept, by field name: what the office would not take either.
export function mistakesIn(form, screen, units) {
  const wrong = {};
  if (screen) {
    for (const [name, answer] of Object.entries(judgeItem(screen, valuesOf(form), units).lines)) {
      if (answer.mistake) wrong[name] = answer.mistake;
    }
  }
  for (const tick of form.querySelectorAll("input[data-by]")) {
    if (form.elements[tick.dataset.by]?.value.trim() && !tick.checked) wrong[tick.name] = "Tick who did this test, or leave it out: nobody else may.";
  }
  const outlets = Array.from(form.querySelectorAll(".choice-outlets input"));
  if (outlets.length && form.querySelector('input[name="polarity"][value="defect"]:checked') && !outlets.some((tick) => tick.checked)) {
    wrong.polarity = "Mark each outlet that is crossed or broken.";
  }
  const names = new Set();
  for (const field of form.querySelectorAll('input[name^="point-"]')) {
    const name = field.value.trim();
    if (name && names.has(name)) wrong[field.name] = "Two metal parts have this name. Give each its own.";
    names.add(name);
  }
  if (form.querySelector('input[name="visual"][value="defect"]:checked')) {
    const marked = Array.from(form.querySelectorAll('input[name^="defect-"]:checked'));
    if (!marked.length) wrong.visual = "Mark the point that is wrong, and say what is wrong with it.";
    for (const mark of marked) {
      const note = form.elements[mark.name.replace("defect-", "note-")];
      if (note && !note.value.trim()) wrong[note.name] = "Say in a few words what is wrong, and where.";
    }
  }
  return wrong;
}

// Mistakes beside their fields, as the server's form shows them.
export function blame(form, mistakes) {
  form.querySelectorAll(".tablet-mistake").forEach((piece) => piece.remove());
  let first = null;
  for (const [name, sentence] of Object.entries(mistakes)) {
    const field = form.elements[name] instanceof RadioNodeList ? form.elements[name][0] : form.elements[name];
    if (!field) continue;
    const piece = document.createElement("p");
    piece.className = "field-mistake tablet-mistake";
    piece.id = `f-${name}-mistake`;
    document.getElementById(piece.id)?.remove();
    piece.append(...draw("mistake", { words: sentence }).childNodes);
    const before = field.closest(".reading-row, .choice-pair-row, .choice") || field;
    before.before(piece);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", piece.id);
    field.addEventListener("input", () => { field.removeAttribute("aria-invalid"); piece.remove(); }, { once: true });
    first ??= field;
  }
  if (first) first.focus();
  return first !== null;
}
