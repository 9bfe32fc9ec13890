// Finishing a visit, and its own page: both wait for what this tablet has not sent, since afterwards nothing can change.
import { count, say } from "./draw.js";
import { isWaiting, list, onChange, send } from "./outbox.js";

const entriesOf = async (visit) => (await list()).filter((entry) => entry.visit === visit);
const waitingFor = async (visit) => (await entriesOf(visit)).filter(isWaiting);

// Somebody has pressed already: the page stays as it is, so that their next press is not lost with it.
let tried = false;

export async function finish(form, visit) {
  tried = true;
  let waiting = await waitingFor(visit);
  if (waiting.length) {
    say("note", `${count(waiting.length, "entry")} of this visit ${waiting.length === 1 ? "goes" : "go"} to the office first.`);
    // The first may join a sending that was under way already and had failed before.
    for (let turn = 0; turn < 2 && waiting.length; turn += 1) {
      await send();
      waiting = await waitingFor(visit);
    }
  }
  if (!waiting.length) {
    // The sheet may have been drawn anew meanwhile, and a form that stands nowhere sends nothing.
    if (!form.isConnected) document.body.append(form);
    form.submit();
  }
  else say("refused", `The visit is not finished: ${count(waiting.length, "entry")} of this tablet ${waiting.length === 1 ? "is" : "are"} not at the office yet. Finish it when they are.`);
}

// The page of the visit was drawn by the office; once what was on its way has arrived, it is drawn again.
export async function watchVisit(visit) {
  let typed = false;
  document.addEventListener("input", () => { typed = true; });
  document.addEventListener("submit", (event) => {
    if (!event.target.action.endsWith(`/visits/${visit}/finish`)) return;
    event.preventDefault();
    finish(event.target, visit);
  }, true);
  const entries = await entriesOf(visit);
  // What was saved after this page was asked for may be missing on it, though nothing waits any more.
  let before = entries.filter((entry) => isWaiting(entry) || entry.saved_at >= performance.timeOrigin).length;
  const look = async () => {
    const now = (await waitingFor(visit)).length;
    if (before && !now) {
      if (tried) say("saved", "Everything of this tablet is at the office now.");
      else if (!typed && document.visibilityState === "visible") location.reload();
    }
    before = now;
  };
  onChange(look);
  await look();
}
