// Draws pieces that the server has drawn once, as templates in the head of the page, with words of our own. Text only.

export function draw(name, words = {}) {
  const piece = document.getElementById(`draw-${name}`).content.firstElementChild.cloneNode(true);
  for (const [place, text] of Object.entries(words)) {
    const holder = piece.matches(`[data-${place}]`) ? piece : piece.querySelector(`[data-${place}]`);
    if (holder) holder.textContent = text;
  }
  return piece;
}

export function button(words, deed) {
  const piece = draw("button", { words });
  piece.addEventListener("click", deed);
  return piece;
}

export function link(words, href) {
  const piece = document.createElement("a");
  piece.className = "button button-plain";
  piece.href = href;
  const inside = document.createElement("span");
  inside.textContent = words;
  piece.append(inside);
  return piece;
}

// A notice where answers from the server stand too; acts are what can be done about it.
export function say(kind, words, ...acts) {
  const place = document.getElementById("notice");
  if (!place) return null;
  const piece = draw(`notice-${kind}`, { words });
  const holder = piece.querySelector("[data-acts]");
  if (acts.length) holder.append(...acts); else holder.remove();
  place.replaceChildren(piece);
  place.scrollIntoView({ block: "nearest" });
  return piece;
}

export function hush() { document.getElementById("notice")?.replaceChildren(); }

// HTML of the server's own, with the form token of now.
export function parse(html) {
  const parsed = new DOMParser().parseFromString(html, "text/html");
  parsed.querySelectorAll('input[name="csrf"]').forEach((field) => { field.value = csrf(); });
  return parsed;
}

export function csrf() {
  try { return JSON.parse(document.body.getAttribute("hx-headers") || "{}")["X-CSRF"] || ""; } catch (odd) { return ""; }
}

export const clock = (moment) => new Date(moment).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
export const count = (number, one, many = one === "entry" ? "entries" : `${one}s`) => `${number} ${number === 1 ? one : many}`;
