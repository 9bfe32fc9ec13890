// Moves visits on the planner by pointer and by the arrow keys. Without it, Move and Book lead to a plain form.
(function () {
  "use strict";

  var held = null;       // the card that was picked up by a key
  var target = null;     // the place it would go to
  var drag = null;       // {card, x, y, ghost, id} while a pointer is down
  var busy = false;
  var dropped = false;
  var FAR = 6;           // a pointer that moved less has clicked

  function board() { return document.getElementById("planner-board"); }
  function token() { return JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRF"]; }
  function say(sentence) { document.getElementById("plan-said").textContent = sentence; }
  function rows() {
    return Array.from(board().querySelectorAll(".plan tbody tr")).map(function (row) {
      return Array.from(row.querySelectorAll(".plan-cell"));
    });
  }

  function mark(cell) {
    if (target) target.classList.remove("plan-target");
    target = cell;
    if (target) {
      target.classList.add("plan-target");
      target.scrollIntoView({ block: "nearest", inline: "nearest" });
    }
  }

  function letGo() {
    if (held) held.classList.remove("plan-held");
    held = null;
    mark(null);
  }

  // What was refused is said in the card itself, beside what it is about, with the way to the form that can mend it.
  function refuse(card, cell, sentences) {
    var old = card.querySelector(".plan-refused");
    if (old) old.remove();
    var box = document.createElement("div");
    box.className = "plan-refused";
    box.setAttribute("role", "alert");
    var words = document.createElement("p");
    words.textContent = "Not moved to " + cell.dataset.words + ". " + sentences.join(" ");
    box.appendChild(words);
    var way = document.createElement("a");
    way.href = card.dataset.form + "&day=" + cell.dataset.day + (cell.dataset.technician ? "&technician_id=" + cell.dataset.technician : "");
    way.textContent = "Choose time or instrument";
    box.appendChild(way);
    card.appendChild(box);
    say(words.textContent);
    card.querySelector(".plan-move").focus();
  }

  function refresh(focus) {
    return fetch(board().dataset.board, { headers: { Accept: "text/html" } }).then(function (answer) {
      if (!answer.ok) throw new Error("the board");
      return answer.text();
    }).then(function (html) {
      var made = new DOMParser().parseFromString(html, "text/html").getElementById("planner-board");
      board().replaceWith(made);
      var card = document.getElementById(focus);
      var way = card && card.querySelector(".plan-move");
      if (way) way.focus();
    });
  }

  function drop(card, cell) {
    if (busy) return;
    var technician = cell.dataset.technician;
    if (!technician && card.dataset.premises) {  // a month of everybody does not say who goes
      window.location.href = card.dataset.form + "&day=" + cell.dataset.day;
      return;
    }
    var from = card.closest(".plan-cell");
    if (from === cell) return;
    var sent = new URLSearchParams();
    sent.set("day", cell.dataset.day);
    sent.set("technician_id", technician || card.dataset.technician || "");
    if (card.dataset.version) sent.set("version", card.dataset.version);
    if (card.dataset.premises) sent.set("premises_id", card.dataset.premises);
    if (card.dataset.wanted) sent.set("wanted_id", card.dataset.wanted);
    if (card.dataset.due) sent.set("due_until", card.dataset.due);
    sent.set("back", board().dataset.back);
    busy = true;
    card.classList.add("plan-sent");
    fetch(card.dataset.move, { method: "POST", body: sent, headers: { Accept: "application/json", "X-CSRF": token() } })
      .then(function (answer) {
        return answer.json().then(function (told) {
          if (answer.ok) {
            return refresh("visit-" + told.visit).then(function () { say(card.dataset.words + " is on " + cell.dataset.words + " now."); });
          }
          refuse(card, cell, told.mistakes ? Object.values(told.mistakes) : [told.message]);
          return null;
        });
      })
      .catch(function () { refuse(card, cell, ["There is no connection to the office computer, so nothing was changed."]); })
      .finally(function () { busy = false; card.classList.remove("plan-sent"); });
  }

  // Keys -------------------------------------------------------------------------------------------------------------
  function pick(card) {
    letGo();
    held = card;
    card.classList.add("plan-held");
    var cell = card.closest(".plan-cell") || board().querySelector(".plan-cell.plan-today") || board().querySelector(".plan-cell");
    mark(cell);
    say(card.dataset.words + " picked up at " + (cell ? cell.dataset.words : "") + ". Arrow keys choose, Enter puts it down, Escape leaves it.");
  }

  function step(key) {
    var grid = rows();
    var row = grid.findIndex(function (cells) { return cells.indexOf(target) >= 0; });
    if (row < 0) return;
    var column = grid[row].indexOf(target);
    if (key === "ArrowLeft") column -= 1;
    if (key === "ArrowRight") column += 1;
    if (key === "ArrowUp") row -= 1;
    if (key === "ArrowDown") row += 1;
    var next = grid[row] && grid[row][column];
    if (!next) { say("This is the edge of what is shown."); return; }
    mark(next);
    say(next.dataset.words);
  }

  document.addEventListener("keydown", function (event) {
    var way = event.target.closest && event.target.closest(".plan-move");
    if (held && ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"].indexOf(event.key) >= 0) {
      event.preventDefault();
      step(event.key);
    } else if (held && event.key === "Escape") {
      event.preventDefault();
      say(held.dataset.words + " stays where it was.");
      letGo();
    } else if (held && event.key === "Enter") {
      event.preventDefault();
      var card = held, cell = target;
      letGo();
      if (cell) drop(card, cell);
    } else if (way && event.key === "Enter" && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      pick(way.closest(".plan-card"));
    } else if (held && event.key === "Tab") {
      letGo();
    }
  });

  // Pointer ----------------------------------------------------------------------------------------------------------
  // A mouse takes the whole card. A finger takes it by Move or Book, so that the page can still be scrolled.
  document.addEventListener("pointerdown", function (event) {
    if (event.button !== 0 || busy) return;
    var card = event.target.closest(".plan-card[data-move]");
    if (!card || (event.pointerType !== "mouse" && !event.target.closest(".plan-move"))) return;
    if (event.target.closest(".plan-refused, .plan-drop")) return;
    letGo();
    drag = { card: card, x: event.clientX, y: event.clientY, ghost: null, id: event.pointerId };
  });

  document.addEventListener("dragstart", function (event) {  // links would be dragged as addresses
    var from = event.target.closest ? event.target : event.target.parentElement;
    if (from && from.closest(".plan-card")) event.preventDefault();
  });

  document.addEventListener("pointermove", function (event) {
    if (!drag || event.pointerId !== drag.id) return;
    if (!drag.ghost) {
      if (Math.abs(event.clientX - drag.x) + Math.abs(event.clientY - drag.y) < FAR) return;
      drag.ghost = document.createElement("div");
      drag.ghost.className = "plan-ghost";
      drag.ghost.textContent = drag.card.dataset.words;
      document.body.appendChild(drag.ghost);
      document.body.classList.add("plan-dragging");
      drag.card.classList.add("plan-held");
    }
    drag.ghost.style.transform = "translate(" + (event.clientX + 12) + "px," + (event.clientY + 12) + "px)";
    var below = document.elementFromPoint(event.clientX, event.clientY);
    mark(below ? below.closest(".plan-cell") : null);
    if (event.clientY < 60) window.scrollBy(0, -16);
    if (event.clientY > window.innerHeight - 60) window.scrollBy(0, 16);
  });

  function end(event, done) {
    if (!drag || event.pointerId !== drag.id) return;
    var card = drag.card, moved = drag.ghost, cell = target;
    drag = null;
    if (!moved) return;
    moved.remove();
    document.body.classList.remove("plan-dragging");
    card.classList.remove("plan-held");
    mark(null);
    dropped = true;
    setTimeout(function () { dropped = false; }, 0);
    if (done && cell) drop(card, cell);
  }

  // Letting go over the link on which it began is no click on it.
  document.addEventListener("click", function (event) {
    if (!dropped) return;
    event.preventDefault();
    event.stopPropagation();
  }, true);

  document.addEventListener("pointerup", function (event) { end(event, true); });
  document.addEventListener("pointercancel", function (event) { end(event, false); });
})();
