// Packs of visits: fetched when the network is there, a few screens at a time, and only those that have changed.
import { all, find, forgetPacks, put, putAll, remove, removeAll } from "./kept.js";
import { ask, link } from "./outbox.js";

const AT_ONCE = 12;
export const screenOf = (visit, kind, id) => find("screens", `${visit}/${kind}/${id}`);
export const packOf = (visit) => find("packs", visit);
export const allPacks = () => all("packs");

// Bring a pack up to date. Gives it with whole=true once every screen is there. said(done, total) tells how far it is.
export async function refresh(visit, said = () => {}) {
  const before = await packOf(visit);
  const answer = await ask(`/visits/${visit}/pack?mark=${before?.whole ? before.mark : ""}`);
  link.reached = true;
  if (answer.status === 204) {
    const same = { ...before, fetched_at: Date.now() };
    await put("packs", same);
    return same;
  }
  if (answer.status === 401) link.signedOut = true;
  if (!answer.ok) return before;
  const pack = { ...(await answer.json()), fetched_at: Date.now(), whole: false };
  await forgetOthers(pack.person);
  const kept = new Map((await all("screens")).filter((screen) => screen.visit === visit).map((screen) => [screen.at, screen.mark]));
  const wanted = { item: changed(pack.items, "item", visit, kept), type: changed(pack.types, "type", visit, kept) };
  // The earlier pack goes on serving until the new one is whole.
  if (!before) await put("packs", pack);
  const total = wanted.item.length + wanted.type.length;
  let done = 0;
  for (const [kind, ids] of Object.entries(wanted)) {
    for (let first = 0; first < ids.length; first += AT_ONCE) {
      const some = ids.slice(first, first + AT_ONCE);
      said(done, total);
      const got = await ask(`/visits/${visit}/pack/screens?${kind}s=${some.join(",")}`);
      if (!got.ok) return before;
      const screens = (await got.json())[`${kind}s`];
      await putAll("screens", screens.map((screen) => ({ ...screen, visit, at: `${visit}/${kind}/${screen.id}` })));
      done += some.length;
    }
  }
  const whole = { ...pack, whole: true };
  await put("packs", whole);
  await keepPage(visit);
  return whole;
}

function changed(parts, kind, visit, kept) {
  return parts.filter((part) => kept.get(`${visit}/${kind}/${part.id}`) !== part.mark).map((part) => part.id);
}

// The page in which a pack is shown, for the service worker to give without the network.
async function keepPage(visit) {
  if (!("caches" in window)) return;
  try {
    const answer = await fetch("/on-this-tablet", { cache: "no-store" });
    if (answer.ok && !answer.redirected) await (await caches.open("ohmstead-pages")).put("/on-this-tablet", answer);
  } catch (unreachable) { /* the next refreshing tries again */ }
}

async function forgetOthers(person) {
  if ((await all("packs")).some((pack) => pack.person !== person)) await forgetPacks();
}

export async function forget(visit) {
  await remove("packs", visit);
  await removeAll("screens", (await all("screens")).filter((screen) => screen.visit === visit).map((screen) => screen.at));
}
