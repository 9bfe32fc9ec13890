// A number pad of our own for readings, for gloves and for tablets whose own pad lacks ">" or covers the sheet. Off until
// somebody turns it on; each tablet remembers that. A keyboard, a scanner or an instrument types past it as before.
(function () {
  "use strict";
  var FIELDS = "#item-form .reading-input input[inputmode]";
  var FAMILIES = [["Ω", "mΩ", "kΩ"], ["MΩ", "kΩ", "GΩ"], ["mA", "µA", "A"], ["ms", "s"], ["W", "kW"]];
  var KEYS = [
    ["7", "8", "9", ">", "back"],
    ["4", "5", "6", "<", "clear"],
    ["1", "2", "3", "unit", "next"],
    ["0", "."],
  ];
  var WORDS = { back: "⌫", clear: "Clear", next: "Next", ">": ">", "<": "<", ".": "." };
  var SPOKEN = { back: "Delete the last sign", ">": "More than, over the range", "<": "Less than, under the range", ".": "Decimal point" };

  var toggle = null;
  var isOn = false;
  try { isOn = localStorage.getItem("number-pad") === "on"; } catch (refused) { isOn = false; }
  var field = null;
  var pad = null;

  function build(bar) {
    var box = document.createElement("div");
    box.id = "number-pad";
    box.className = "number-pad";
    box.hidden = true;
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", "Number pad");
    KEYS.forEach(function (row) {
      row.forEach(function (name) {
        var key = document.createElement("button");
        key.type = "button";
        key.tabIndex = -1; // whoever has a keyboard types the digits
        key.className = "pad-key pad-" + (/^[0-9]$/.test(name) ? "digit" : { ">": "more", "<": "less", ".": "point" }[name] || name);
        key.dataset.key = name;
        key.textContent = WORDS[name] || name;
        if (SPOKEN[name]) key.setAttribute("aria-label", SPOKEN[name]);
        box.appendChild(key);
      });
    });
    // The field keeps the focus while its keys are pressed.
    box.addEventListener("pointerdown", function (event) { event.preventDefault(); });
    box.addEventListener("mousedown", function (event) { event.preventDefault(); });
    box.addEventListener("click", function (event) {
      var key = event.target.closest("[data-key]");
      if (key && field) press(key.dataset.key);
    });
    bar.insertBefore(box, bar.firstChild);
    return box;
  }

  // A reading in its parts: over or under the range, the number, the unit where it is not the field's own.
  function read(text) {
    var found = /^\s*([<>]?)\s*([0-9.,]*)\s*(.*?)\s*$/.exec(text) || ["", "", "", ""];
    return { bound: found[1], number: found[2], unit: found[3] };
  }

  function ownUnit() {
    var place = field.closest(".reading-input").querySelector(".reading-unit");
    return place ? place.textContent.trim() : "";
  }

  function family() {
    var own = ownUnit();
    return FAMILIES.find(function (units) { return units[0] === own; }) || FAMILIES.find(function (units) { return units.indexOf(own) >= 0; }) || [own];
  }

  function press(name) {
    var said = read(field.value);
    if (name === "next") {
      field.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true, cancelable: true }));
      return;
    }
    if (name === "clear") said = { bound: "", number: "", unit: "" };
    else if (name === ">" || name === "<") said.bound = said.bound === name ? "" : name;
    else if (name === "unit") {
      var units = family();
      var now = Math.max(0, units.indexOf(said.unit || ownUnit()));
      said.unit = units[(now + 1) % units.length];
      if (said.unit === ownUnit()) said.unit = "";
    } else if (name === "back") {
      if (said.number) said.number = said.number.slice(0, -1); else said.bound = "";
      if (!said.number) said.unit = "";
    } else if (name === ".") {
      if (!/[.,]/.test(said.number)) said.number = (said.number || "0") + ".";
    } else {
      said.number += name;
    }
    field.value = (said.bound ? said.bound + " " : "") + said.number + (said.unit ? " " + said.unit : "");
    field.dispatchEvent(new Event("input", { bubbles: true }));
    showUnit();
  }

  function showUnit() {
    var key = pad.querySelector('[data-key="unit"]');
    var units = family();
    var now = read(field.value).unit || ownUnit();
    key.textContent = now;
    key.disabled = units.length < 2;
    key.setAttribute("aria-label", "Unit " + now + ", press for the next");
  }

  function settle() {
    toggle.setAttribute("aria-pressed", String(isOn));
    Array.prototype.forEach.call(document.querySelectorAll(FIELDS), function (input) {
      input.inputMode = isOn ? "none" : "decimal"; // "none" keeps the tablet's own pad away
    });
    follow(document.activeElement);
  }

  function follow(element) {
    if (!pad) return;
    field = isOn && element && element.matches && element.matches(FIELDS) && !element.disabled ? element : null;
    pad.hidden = field === null;
    if (!field) return;
    showUnit();
    field.scrollIntoView({ block: "center" });
  }

  function turn() {
    isOn = !isOn;
    try { localStorage.setItem("number-pad", isOn ? "on" : "off"); } catch (refused) { /* then only for this page */ }
    settle();
    var first = isOn && Array.prototype.find.call(document.querySelectorAll(FIELDS), function (input) {
      return !input.value && input.offsetParent !== null && !input.matches(":disabled");
    });
    if (first) first.focus();
  }

  // The screen that is on the page now, where it has readings.
  function open() {
    if (pad && pad.isConnected) return; // this screen has its pad already
    toggle = document.getElementById("pad-switch");
    var bar = document.querySelector("#item-form .sheet-bar");
    field = pad = null;
    if (!toggle || !bar) return;
    pad = build(bar);
    toggle.hidden = false;
    toggle.addEventListener("click", turn);
    settle();
  }

  document.addEventListener("focusin", function (event) { follow(event.target); });
  document.addEventListener("htmx:afterSettle", function () { if (isOn && pad) settle(); });
  document.addEventListener("screenopened", open);
  open();
})();
