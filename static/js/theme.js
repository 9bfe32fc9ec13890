// Light or dark, before the first paint: a choice kept on this device, or whatever the device says.
(function () {
  "use strict";
  var kept = null;
  try { kept = localStorage.getItem("theme"); } catch (refused) { /* storage is closed: follow the device */ }
  if (kept === "light" || kept === "dark") document.documentElement.dataset.theme = kept;
})();
