// Photos of an item: made smaller on this tablet, which leaves behind where they were taken, and kept as entries.
import { button, draw, say } from "./draw.js";
import { about, here, keep, open } from "./keeping.js";
import { entriesOf, newsFor, numbersOf, WORDS } from "./marks.js";
import { drop } from "./outbox.js";

const SIDE = 1600, SMALL_SIDE = 320, QUALITY = 0.85;

export async function savePhoto(field) {
  // By the time that the photo is made smaller, another item may be open.
  const file = field.files[0], id = open.item;
  const caption = document.getElementById("f-caption"), words = caption.value.trim();
  const item = (await numbersOf(open.pack)).find((row) => String(row.id) === id);
  let picture;
  try {
    picture = await shrink(file);
  } catch (unreadable) {
    say("refused", "This photo cannot be read here. Take it as JPEG or PNG.");
    return;
  }
  const fields = [["photo", picture.file], ["caption", words]];
  const entry = { ...about(item), kind: "photo", address: `${here()}/items/${id}/photos`, fields, small: picture.small, what: `Photo of ${item.number} ${item.description}` };
  if (!(await keep(entry))) return;
  caption.value = field.value = "";
  await drawPhotos();
}

async function shrink(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const large = drawn(picture, SIDE);
  const blob = await new Promise((done) => { large.toBlob(done, "image/jpeg", QUALITY); });
  if (!blob) throw new Error("no picture");
  return { file: new File([blob], "photo.jpg", { type: "image/jpeg" }), small: drawn(picture, SMALL_SIDE).toDataURL("image/jpeg", 0.7) };
}

function drawn(picture, side) {
  const scale = Math.min(1, side / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const pen = canvas.getContext("2d");
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas;
}

// The photos of the open item that the pack does not show yet, each with where it is.
export const drawPhotos = async () => showPhotos(await newsFor(open.pack));

export function showPhotos(news) {
  const entries = entriesOf(news, open.item).filter((entry) => entry.kind === "photo");
  const place = document.querySelector("#photos");
  if (!place) return;
  place.querySelectorAll("[data-entry]").forEach((piece) => piece.remove());
  if (!entries.length) return;
  let list = place.querySelector(".photo-list");
  if (!list) {
    list = document.createElement("ul");
    list.className = "photo-list";
    place.querySelector(".photos-title").after(list);
  }
  for (const entry of entries) list.append(line(entry));
}

function line(entry) {
  const caption = new Map(entry.fields).get("caption") || "";
  const piece = draw("photo", { caption, state: WORDS[entry.state] + (entry.reason ? `: ${entry.reason}` : "") });
  piece.dataset.entry = entry.key;
  const picture = piece.querySelector("img");
  picture.src = entry.small;
  picture.alt = caption || "Photo taken on this tablet";
  if (entry.state === "here" || entry.state === "refused") {
    piece.append(button("Remove", async () => { await drop(entry); await drawPhotos(); }));
  }
  return piece;
}
