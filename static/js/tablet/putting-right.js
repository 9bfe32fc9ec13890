// A failed item that is put right on the spot: what was found stays, and the item is tested again from the start.
import { say, parse, draw } from "./draw.js";
import { about, here, isChained, keep, open } from "./keeping.js";
import { blame, leftToOffice } from "./live.js";
import { numbersOf, standingOf } from "./marks.js";
import { drop, list } from "./outbox.js";
import { catchUp, fill, openItem } from "./screens.js";
import { inTurn } from "./turns.js";

// The screen of an item after it was put right: where what hangs on the change is not known here, the office judges.
export function screenAfter(screen, again) {
  const change = new Map(again.fields).get("change");
  return change === "cord" || screen.fails.length || screen.unsafe ? leftToOffice({ ...screen, fails: [], unsafe: "" }) : screen;
}

// The form for it beside readings of this tablet that failed, or what was done where the second test is still to come.
export function drawPutRight(form, screen, entries, refused) {
  const { latest, again } = standingOf(entries);
  if (again) {
    document.querySelectorAll("#recorded, #put-right").forEach((piece) => piece.remove());
    empty(form);
    form.before(found(entries, again));
    return;
  }
  const failed = latest ? latest.verdict === "fail" && latest.kind === "item" : document.querySelector("#put-right") !== null;
  document.querySelector("#put-right")?.remove();
  if (!failed) return;
  const piece = parse(open.pack.put_right).querySelector("#put-right");
  piece.querySelectorAll('[name="change"]').forEach((choice) => { choice.closest("label").hidden = !screen.changes.includes(choice.value); });
  piece.querySelector("form").setAttribute("action", `${here()}/items/${open.item}/put-right`);
  if (refused?.kind === "put-right") fill(piece.querySelector("form"), refused.fields);
  piece.open = refused?.kind === "put-right" || location.hash === "#put-right";
  form.before(piece);
}

function empty(form) {
  for (const field of form.elements) {
    if (["csrf", "version", "lead"].includes(field.name) || field.type === "submit") continue;
    if (field.type === "radio" || field.type === "checkbox") field.checked = false;
    else if (field.type !== "hidden") field.value = "";
  }
}

function found(entries, again) {
  const before = entries.slice(0, entries.indexOf(again)).findLast((entry) => entry.kind === "item");
  const piece = draw("found-first", { words: wordsOf(again) });
  if (before?.verdict) piece.querySelector("[data-verdict]").replaceChildren(draw(`verdict-${before.verdict}`));
  const undo = piece.querySelector("button");
  undo.hidden = again.state !== "here";
  undo.addEventListener("click", () => inTurn(async () => { await drop(again); await openItem(open.item, "stay"); }));
  return piece;
}

function wordsOf(entry) {
  const value = new Map(entry.fields);
  const change = { fuse: "fuse changed", plug: "plug changed", cord: "cord changed", other: "" }[value.get("change")] ?? "";
  const fuse = value.get("new_fuse_a") ? ` to ${value.get("new_fuse_a")} A` : "";
  return [change + (change ? fuse : ""), value.get("put_right_words")].filter(Boolean).join("; ");
}

export async function savePutRight(form) {
  const value = (name) => form.elements[name]?.value.trim() || "";
  const chosen = form.querySelector('[name="change"]:checked')?.value || "";
  const wrong = {};
  if (!chosen) wrong.change = "Say what was changed.";
  if (chosen === "other" && !value("put_right_words")) wrong.put_right_words = "Say what was done.";
  for (const name of ["new_fuse_a", "new_csa_mm2", "new_length_m"]) {
    if (value(name) && !/^\d{1,3}([.,]\d{1,3})?$/.test(value(name))) wrong[name] = "Give a number, such as 3 or 0.75.";
  }
  if (blame(form, wrong)) return;
  const item = (await numbersOf(open.pack)).find((row) => String(row.id) === open.item);
  catchUp(document.getElementById("item-form"), await list());
  const version = document.querySelector('#item-form [name="version"]').value;
  const fields = [["version", version], ...Array.from(new FormData(form)).filter(([name, text]) => !["csrf", "version"].includes(name) && text !== "")];
  const kept = await keep({ ...about(item), kind: "put-right", address: `${here()}/items/${item.id}/put-right`, fields, chained: await isChained(), what: `Item ${item.number} put right` });
  if (!kept) return;
  open.refused = null;
  await openItem(item.id, "stay");
  say("saved", `On this tablet: ${item.number} ${item.description} put right. Now test it again from the start.`);
}
