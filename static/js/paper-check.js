// Says whether a PDF that somebody drops or chooses is the issued paper. The file stays on the device: its SHA-256 is
// worked out here and compared with the one that the page holds.
(function () {
  "use strict";

  var box = document.getElementById("paper-check");
  if (!box) return;
  var input = box.querySelector("input"), answer = box.querySelector(".drop-answer");
  var turn = 0;
  box.hidden = false;

  function hex(buffer) {
    return Array.from(new Uint8Array(buffer), function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
  }

  function sha256(buffer) {
    if (window.isSecureContext && window.crypto && window.crypto.subtle) {
      return window.crypto.subtle.digest("SHA-256", buffer).then(hex);
    }
    return Promise.resolve(window.ohmsteadSha256(new Uint8Array(buffer)));
  }

  function say(word, sentence, more) {
    var title = document.createElement("p"), text = document.createElement("p");
    title.className = "drop-word drop-" + word;
    title.textContent = sentence;
    text.textContent = more;
    answer.replaceChildren(title, text);
  }

  // What of the paper has this SHA-256: all of it, its cover, one of its parts, or nothing.
  function whatIs(found) {
    var parts = box.dataset.parts ? box.dataset.parts.split(" ") : [], place = parts.indexOf(found);
    if (place >= 0) return "part " + (place + 1) + " of " + parts.length + " of " + box.dataset.name;
    if (found !== box.dataset.sha256) return "";
    return (parts.length ? "the cover of " : "") + box.dataset.name;
  }

  function judge(file, found) {
    var what = whatIs(found);
    if (!what) {
      say("no", "Not the issued paper", "“" + file.name + "” is not, byte for byte, what was issued as " + box.dataset.name +
        ". It was changed, belongs to another number, or was printed or saved anew. Ask the firm for the paper.");
    } else if (box.dataset.standing === "issued") {
      say("yes", "This is the issued paper", "“" + file.name + "” is " + what + ", byte for byte as it was issued.");
    } else {
      say("yes", "This is the issued paper, but it no longer holds", "“" + file.name + "” is " + what +
        ", byte for byte as it was issued. Read above what became of it.");
    }
  }

  function check(file) {
    var mine = (turn += 1);
    say("wait", "Working it out", "“" + file.name + "” is being read on this device.");
    file.arrayBuffer().then(sha256).then(function (found) {
      if (mine === turn) judge(file, found);
    }).catch(function () {
      if (mine === turn) say("no", "The file could not be read", "Try again, or compare by hand as below.");
    });
  }

  input.addEventListener("change", function () {
    if (input.files.length) check(input.files[0]);
  });
  ["dragenter", "dragover"].forEach(function (kind) {
    box.addEventListener(kind, function (event) {
      event.preventDefault();
      box.classList.add("drop-over");
    });
  });
  box.addEventListener("dragleave", function () { box.classList.remove("drop-over"); });
  box.addEventListener("drop", function (event) {
    event.preventDefault();
    box.classList.remove("drop-over");
    if (event.dataTransfer.files.length) check(event.dataTransfer.files[0]);
  });
})();
