// The one-off check: what the answer locks is marked as locked while somebody types. Nothing is switched off, so that what
// was typed is still there when the check before it is put right; the rules leave it out meanwhile.
document.addEventListener("htmx:afterSettle", (event) => {
  const answer = document.querySelector("#one-off #so-far");
  if (!answer || event.detail.elt.id !== "so-far") return;
  const locked = Object.fromEntries(Array.from(answer.querySelectorAll("[data-locks]"), (line) => [line.dataset.locks, line.textContent]));
  document.querySelectorAll("#one-off .part[data-check]").forEach((part) => {
    const why = locked[part.dataset.check] || "";
    part.classList.toggle("is-locked", why !== "");
    part.querySelector("[data-lock]").textContent = why;
    if (part === part.parentElement.firstElementChild) part.closest(".step").classList.toggle("is-locked", why !== "");
  });
});
