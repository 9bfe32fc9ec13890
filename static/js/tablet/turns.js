// One thing after the other: what somebody presses, and what the tablet draws anew by itself, each begins once the one
// before has ended, so that the last press decides which screen stands there.
let turn = Promise.resolve();

export function inTurn(deed) {
  const mine = turn.then(deed);
  turn = mine.catch(() => {});
  return mine;
}

// Nothing is drawn anew by itself under a finger: the press would be lost with what it was meant for.
const SETTLE = 300;
let pressing = false, timer = 0;

document.addEventListener("pointerdown", () => { clearTimeout(timer); pressing = true; }, true);
for (const end of ["pointerup", "pointercancel"]) {
  document.addEventListener(end, () => { clearTimeout(timer); timer = setTimeout(() => { pressing = false; }, SETTLE); }, true);
}

export async function lifted() {
  while (pressing) await new Promise((done) => { setTimeout(done, 50); });
}
