// Signing out: entries that are not sent stay on the tablet, which says so first; nothing else of the firm stays.
import { all, forgetPacks } from "./kept.js";

const PATIENCE = 1500;
let leaving = false;

// Whether somebody has said that they leave although entries wait.
export const isLeaving = () => leaving;

async function waitingHere() {
  return (await all("entries")).filter((entry) => entry.state !== "saved").length;
}

async function forget() {
  await forgetPacks();
  if ("caches" in window) await caches.delete("ohmstead-pages");
}

const inTime = (deed, otherwise) => Promise.race([deed.catch(() => otherwise), new Promise((done) => { setTimeout(done, PATIENCE, otherwise); })]);

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches('form[action="/sign-out"]')) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const waiting = await inTime(waitingHere(), 0);
  const words = waiting === 1
    ? "1 entry on this tablet is not at the office yet. It stays on this tablet and is sent when you sign in here again. Sign out?"
    : `${waiting} entries on this tablet are not at the office yet. They stay on this tablet and are sent when you sign in here again. Sign out?`;
  if (waiting && !window.confirm(words)) return;
  leaving = true;
  await inTime(forget());
  form.submit();
}, true);
