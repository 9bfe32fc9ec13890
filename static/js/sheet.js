// The visit sheet: locks follow the verdict as it is typed, the next field is where the hand expects it, and what is not
// saved yet says so. The sheet works without this; then it is judged when it is saved.
(function () {
  "use strict";
  var form = document.getElementById("item-form");
  var finder = document.getElementById("find-number");

  var status = document.getElementById("sheet-status");
  var unsaved = false;

  // A scanner or an instrument types wherever the focus happens to be. Where that is no text, what it types goes to the
  // next empty reading of an item that is being worked on, else to the finder.
  document.addEventListener("keydown", function (event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !/^[0-9A-Za-z.,<>]$/.test(event.key)) return;
    if (event.target.closest("textarea, select, input:not([type=radio], [type=checkbox])")) return;
    var reading = unsaved && stops().find(function (field) { return field.type === "text" && isEmpty(field); });
    var place = reading || finder;
    if (!place) return;
    place.focus();
    place.select();
  });

  function isShut(field) {
    var fold = field.closest("details");
    return field.disabled || field.closest("fieldset:disabled") !== null || (fold && !fold.open) || field.offsetParent === null;
  }

  // The places to fill in, in order: text fields, and of two big choices the chosen one or the first.
  function stops() {
    return Array.prototype.filter.call(form ? form.querySelectorAll(".step input") : [], function (field) {
      if (field.type === "checkbox" || field.type === "hidden" || "aside" in field.dataset || isShut(field)) return false;
      if (field.type !== "radio") return true;
      var chosen = form.querySelector('input[name="' + field.name + '"]:checked');
      return chosen ? chosen === field : form.querySelector('input[name="' + field.name + '"]') === field;
    });
  }

  function isEmpty(field) {
    return field.type === "radio" ? !form.querySelector('input[name="' + field.name + '"]:checked') : field.value.trim() === "";
  }

  function goOn(field) {
    var all = stops();
    var place = all.indexOf(field);
    if (place < 0 && field.type === "radio") {
      place = all.findIndex(function (other) { return other.name === field.name; });
    }
    // From a field beside the way, such as the name of a metal part, to the reading that follows it.
    if (place < 0) {
      place = all.findIndex(function (other) {
        return field.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING;
      }) - 1;
      if (place === -2) place = all.length;
    }
    var next = all[place + 1] || form.querySelector('button[value="next"]');
    next.focus();
    if (next.select) next.select();
  }

  if (!form) return;

  // Enter, from a keyboard or an instrument that types its reading, goes to the next field instead of sending the form.
  form.addEventListener("keydown", function (event) {
    var field = event.target;
    if (event.key !== "Enter" || field.tagName !== "INPUT") return;
    event.preventDefault();
    if (field.type === "checkbox" || (field.type === "radio" && isEmpty(field))) return;
    goOn(field);
  });

  // "All points satisfactory", pressed with a finger, opens the first reading.
  form.addEventListener("click", function (event) {
    var field = event.target;
    if (field.type !== "radio" || field.value !== "satisfactory" || event.detail === 0) return;
    if (field.name === "visual") goOn(field);
  });

  // Locks ------------------------------------------------------------------------------------------------------------
  function sentences(kind) {
    var found = {};
    Array.prototype.forEach.call(form.querySelectorAll("#so-far li[data-" + kind + "]"), function (line) {
      found[line.dataset[kind]] = line.textContent;
    });
    return found;
  }

  function lock() {
    var locked = sentences("locks");
    var waiting = sentences("waits");
    var opened = false;
    Array.prototype.forEach.call(form.querySelectorAll(".part[data-check]"), function (part) {
      var why = locked[part.dataset.check] || "";
      var fields = part.querySelector("fieldset");
      if (fields.disabled && !why && Array.prototype.some.call(fields.elements, hasValue)) opened = true;
      if (!fields.disabled && why && fields.contains(document.activeElement)) document.activeElement.blur();
      fields.disabled = why !== "";
      part.classList.toggle("is-locked", why !== "");
      part.querySelector("[data-lock]").textContent = why;
      var isFirst = part === part.parentElement.firstElementChild;
      part.querySelector("[data-wait]").textContent = isFirst && !why ? waiting[part.dataset.check] || "" : "";
      if (isFirst) part.closest(".step").classList.toggle("is-locked", why !== "");
    });
    // What was typed before the lock counts again, so it is judged again.
    if (opened) form.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function hasValue(field) {
    return field.type === "radio" || field.type === "checkbox" ? field.checked : Boolean(field.value);
  }

  // One question at a time goes out, the last one always does, and an answer to what no longer stands there is not shown.
  var edits = 0;
  var asked = 0;
  form.addEventListener("input", function () {
    edits += 1;
    form.classList.add("is-asking");
  });
  form.addEventListener("htmx:beforeRequest", function (event) { if (event.target.id === "asker") asked = edits; });
  form.addEventListener("htmx:beforeSwap", function (event) {
    if (event.detail.requestConfig.elt.id === "asker" && asked !== edits) event.detail.shouldSwap = false;
  });
  document.addEventListener("htmx:afterSettle", function (event) {
    if (event.detail.elt && event.detail.elt.id === "steps") {
      // Another sequence came with its own answers, so nothing is still being asked.
      form.classList.remove("is-asking");
      lock();
    }
    if (!event.detail.elt || event.detail.elt.id !== "so-far") return;
    if (asked === edits) form.classList.remove("is-asking");
    lock();
  });
  if (document.getElementById("so-far").querySelector("[data-locks]")) lock();

  // Not saved yet ----------------------------------------------------------------------------------------------------
  function leaveUnsaved() {
    unsaved = true;
    status.textContent = "Not saved yet";
  }
  form.addEventListener("input", function (event) { if (!unsaved && event.target !== form) leaveUnsaved(); });
  if ("unsaved" in form.dataset) leaveUnsaved();
  form.addEventListener("submit", function () {
    unsaved = false;
    status.textContent = "Saving…";
  });
  window.addEventListener("pageshow", function (event) { if (event.persisted) unsaved = true; });
  window.addEventListener("beforeunload", function (event) { if (unsaved) event.preventDefault(); });

  // Where to begin: what is wrong, else what is empty.
  var first = document.querySelector('#main [aria-invalid="true"]') || stops().find(isEmpty);
  if (first) first.focus({ preventScroll: !first.matches('[aria-invalid="true"]') });
})();
