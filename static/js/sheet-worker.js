// The service worker: gives the sheet's own files, and the page that shows what this tablet keeps, when the network is
// not there. It keeps no other page; papers and money never pass through it. self.ohmstead is told by the server.
const FILES = "ohmstead-files-" + self.ohmstead.build;
const PAGES = "ohmstead-pages";
const KEPT = "/on-this-tablet";
const PATIENCE = 6000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(FILES).then((cache) => cache.addAll(self.ohmstead.files)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const isOld = (name) => name.startsWith("ohmstead-files-") && name !== FILES;
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(names.filter(isOld).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  if (address.pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate" && isOurs(address.pathname)) event.respondWith(pageOrKept(request));
});

function isOurs(path) {
  return path === "/" || path === KEPT || /^\/visits\/\d+(\/(sheet|find|items\/(\d+|new|new-[0-9a-f-]+)))?$/.test(path);
}

async function file(request) {
  const kept = await caches.match(request, { cacheName: FILES });
  if (kept) return kept;
  try {
    return await fetch(request);
  } catch (unreachable) {
    const like = await caches.match(request, { cacheName: FILES, ignoreSearch: true });
    if (like) return like;
    throw unreachable;
  }
}

async function pageOrKept(request) {
  const kept = await caches.match(KEPT, { cacheName: PAGES });
  if (!kept) return fetch(request);
  const late = new Promise((done) => { setTimeout(done, PATIENCE, null); });
  try {
    return (await Promise.race([fetch(request), late])) || kept;
  } catch (unreachable) {
    return kept;
  }
}

// Signing out leaves nothing but entries that are not sent.
self.addEventListener("message", (event) => {
  if (event.data === "forget") event.waitUntil(caches.delete(PAGES));
});
