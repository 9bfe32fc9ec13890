// Choosing labels: tick all, tick none, and how many that makes. The page works without this.
(function () {
  "use strict";
  var form = document.querySelector("form.labels");
  var said = document.querySelector("[data-chosen]");
  if (!form || !said) return;
  var boxes = Array.prototype.slice.call(form.querySelectorAll("input[name=item]"));
  var button = form.querySelector("button:not([type=button])");

  function count() {
    var chosen = boxes.filter(function (box) { return box.checked; }).length;
    var most = Number(said.dataset.most);
    said.textContent = chosen > most ? "Print at most " + most + " at a time." : chosen + (chosen === 1 ? " label" : " labels");
    button.disabled = chosen === 0 || chosen > most;
  }

  Array.prototype.forEach.call(form.querySelectorAll("[data-tick]"), function (each) {
    each.hidden = false;
    each.addEventListener("click", function () {
      boxes.forEach(function (box) { box.checked = each.dataset.tick === "all"; });
      count();
    });
  });
  form.addEventListener("change", count);
  window.addEventListener("pageshow", count);
})();
