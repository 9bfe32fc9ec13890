// Beside the fields of the visit sheet: the list of items asks for itself anew, so that two people see each other's saves,
// and the usual words for a defect are set down with a press. The sheet works without this.
(function () {
  "use strict";
  var EVERY_MS = 20000;

  // The list, while somebody can see it and nobody is in it with the keyboard.
  function refresh() {
    var groups = document.querySelector("[data-refresh]");
    if (!groups || document.visibilityState !== "visible" || groups.contains(document.activeElement)) return;
    groups.dispatchEvent(new CustomEvent("refresh"));
  }
  window.setInterval(refresh, EVERY_MS);
  document.addEventListener("visibilitychange", refresh);

  // What nobody asked for fails quietly: the next time may go better, and saving says so itself.
  ["htmx:sendError", "htmx:timeout", "htmx:responseError"].forEach(function (name) {
    document.addEventListener(name, function (event) {
      var asker = event.detail.requestConfig && event.detail.requestConfig.elt;
      if (asker && asker.matches("[data-refresh]")) event.stopImmediatePropagation();
    }, true);
  });

  // Usual words -------------------------------------------------------------------------------------------------------
  function reveal() {
    Array.prototype.forEach.call(document.querySelectorAll(".usual-words[hidden]"), function (line) {
      line.hidden = false;
      mark(noteOf(line));
    });
  }
  reveal();
  document.addEventListener("htmx:afterSettle", reveal);
  document.addEventListener("screenopened", reveal);

  // Where the words go that stand beside it.
  function noteOf(element) {
    return element.closest(".point-note, .stand-in").querySelector("textarea, input");
  }

  function parts(text) {
    return text.split(";").map(function (part) { return part.trim(); }).filter(Boolean);
  }

  function mark(note) {
    var said = parts(note.value);
    Array.prototype.forEach.call(note.parentElement.querySelectorAll("[data-say]"), function (button) {
      button.setAttribute("aria-pressed", String(said.indexOf(button.dataset.say) >= 0));
    });
  }

  document.addEventListener("click", function (event) {
    var button = event.target.closest("[data-say]");
    if (!button) return;
    var note = noteOf(button);
    var said = parts(note.value);
    var place = said.indexOf(button.dataset.say);
    if (place < 0) said.push(button.dataset.say); else said.splice(place, 1);
    note.value = said.join("; ");
    note.dispatchEvent(new Event("input", { bubbles: true }));
    mark(note);
  });
  document.addEventListener("input", function (event) {
    if (event.target.matches(".point-note textarea, .stand-in > input")) mark(event.target);
  });
})();
