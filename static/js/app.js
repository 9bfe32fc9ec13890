// What script adds to pages that work without it. Each part below stands alone.
(function () {
  "use strict";

  function each(root, selector, deed) {
    Array.prototype.forEach.call(root.querySelectorAll(selector), deed);
  }

  // Notices ----------------------------------------------------------------------------------------------------------
  // Said where answers from the server are said too. Text only, never HTML.
  function say(sentence) {
    var place = document.getElementById("notice");
    if (!place) return;
    var box = document.createElement("div");
    var words = document.createElement("p");
    box.className = "notice notice-refused";
    words.textContent = sentence;
    box.appendChild(words);
    place.replaceChildren(box);
    place.scrollIntoView({ block: "nearest" });
  }

  function isWrite(event) {
    var config = event.detail.requestConfig;
    return !config || config.verb !== "get";
  }

  function noConnection(event) {
    say(isWrite(event)
      ? "Not saved: there is no connection to the office computer. What you typed is still on this page; try again when the connection is back."
      : "There is no connection to the office computer, so this could not be looked up.");
  }

  document.addEventListener("htmx:sendError", noConnection);
  document.addEventListener("htmx:timeout", noConnection);
  document.addEventListener("htmx:responseError", function (event) {
    var status = event.detail.xhr.status;
    if (status === 401 || status === 403) {
      say("Not done: you are signed out, or this is not open to you. Load the page again.");
    } else if (status === 413) {
      say("Not saved: this is too large. Choose a smaller file, or let the camera take a smaller photo.");
    } else if (status === 404) {
      say("Not done: this is no longer there. Load the page again.");
    } else {
      say((isWrite(event) ? "Not saved: " : "") + "something went wrong on the office computer. Please try again.");
    }
  });

  // A notice about one deed is stale once the next deed has gone well.
  document.addEventListener("htmx:beforeRequest", function (event) {
    var place = document.getElementById("notice");
    if (place && isWrite(event)) place.replaceChildren();
  });

  // Focus ------------------------------------------------------------------------------------------------------------
  // htmx keeps the focus on an element whose id comes back. Where mistakes come back, the first one takes it; where a
  // refusal comes, the notice does, so that it is seen and read out.
  document.addEventListener("htmx:afterSettle", function (event) {
    var target = event.detail.target;
    if (target && target.id === "notice" && target.firstElementChild) {
      target.focus();
      return;
    }
    var wrong = target && target.querySelector && target.querySelector('[aria-invalid="true"]');
    if (wrong && event.detail.xhr && event.detail.xhr.status === 422) wrong.focus();
  });

  // Double submits ---------------------------------------------------------------------------------------------------
  // A plain form that has been sent cannot be sent again until its page is shown anew; one that downloads a file, and so
  // stays, says data-again. The button is marked after the browser has gathered the fields, so that its own name goes out.
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (event.defaultPrevented || form.method !== "post" || "again" in form.dataset) return;
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    setTimeout(function () {
      Array.prototype.forEach.call(form.elements, function (part) { if (part.type === "submit") part.disabled = true; });
    }, 0);
  });

  window.addEventListener("pageshow", function () {
    each(document, "form[data-sent]", function (form) {
      delete form.dataset.sent;
      Array.prototype.forEach.call(form.elements, function (part) { if (part.type === "submit") part.disabled = false; });
    });
  });

  // Files ------------------------------------------------------------------------------------------------------------
  // One that is too large is put back before anything is sent, so that what was typed beside it is not lost.
  document.addEventListener("change", function (event) {
    var field = event.target;
    var most = Number(field.dataset && field.dataset.bytesMost);
    if (!most) return;
    var earlier = document.getElementById(field.id + "-large");
    if (earlier) earlier.remove();
    field.removeAttribute("aria-invalid");
    var file = field.files[0];
    if (!file || file.size <= most) return;
    var words = document.createElement("p");
    words.className = "field-mistake";
    words.id = field.id + "-large";
    words.setAttribute("role", "alert");
    words.textContent = "This file has " + (file.size / 1e6).toFixed(1) + " MB, and at most " + most / 1e6 +
      " MB can be sent. Let the camera take a smaller one, or go on without it.";
    field.value = "";
    field.setAttribute("aria-invalid", "true");
    field.before(words);
  });

  // Copying ----------------------------------------------------------------------------------------------------------
  // The clipboard is closed to pages without TLS, as on an office network: there the text is selected and copied the old way.
  function copyText(text, field) {
    if (navigator.clipboard && window.isSecureContext) return navigator.clipboard.writeText(text);
    return new Promise(function (done, failed) {
      if (!field) return failed();
      field.focus();
      field.select();
      return document.execCommand("copy") ? done() : failed();
    });
  }

  document.addEventListener("click", function (event) {
    var button = event.target.closest("[data-copy]");
    if (!button) return;
    var words = button.querySelector("span") || button;
    var before = button.dataset.word || words.textContent;
    button.dataset.word = before;
    copyText(button.dataset.copy, button.parentElement.querySelector("input")).then(function () {
      words.textContent = "Copied";
      setTimeout(function () { words.textContent = before; }, 2500);
    }, function () { words.textContent = "Select and copy"; });
  });

  // Light or dark ----------------------------------------------------------------------------------------------------
  // Goes from the device's own choice to its opposite and back.
  document.addEventListener("click", function (event) {
    if (!event.target.closest("[data-theme-switch]")) return;
    var root = document.documentElement;
    var deviceDark = window.matchMedia("(prefers-color-scheme: dark)").matches;
    var nowDark = root.dataset.theme ? root.dataset.theme === "dark" : deviceDark;
    var wanted = nowDark ? "light" : "dark";
    try {
      if ((wanted === "dark") === deviceDark) {
        delete root.dataset.theme;
        localStorage.removeItem("theme");
      } else {
        root.dataset.theme = wanted;
        localStorage.setItem("theme", wanted);
      }
    } catch (refused) { root.dataset.theme = wanted; }
  });

  // Keys -------------------------------------------------------------------------------------------------------------
  // "/" goes to the search of the page, unless somebody is typing.
  document.addEventListener("keydown", function (event) {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, textarea, select, [contenteditable]")) return;
    var search = document.querySelector("[data-search]") || document.querySelector("[data-finder]");
    if (!search || !search.checkVisibility()) return;
    event.preventDefault();
    search.focus();
    search.select();
  });

  // What the search box found is walked by the arrow keys; Escape leaves it.
  document.addEventListener("keydown", function (event) {
    var finder = event.target.closest(".finder");
    if (!finder || ["ArrowDown", "ArrowUp", "Escape"].indexOf(event.key) < 0) return;
    event.preventDefault();
    var stops = [finder.querySelector("input")].concat(Array.from(finder.querySelectorAll(".finder-panel a")));
    var place = stops.indexOf(event.target);
    if (event.key === "Escape") event.target.blur();
    else (stops[place + (event.key === "ArrowDown" ? 1 : -1)] || event.target).focus();
  });

  // Open menus close when something else is pressed, or by Escape.
  function closeMenus(except) {
    each(document, "details.more[open]", function (menu) { if (menu !== except) menu.open = false; });
  }
  document.addEventListener("click", function (event) { closeMenus(event.target.closest("details.more")); });
  document.addEventListener("keydown", function (event) {
    var menu = event.key === "Escape" && document.querySelector("details.more[open]");
    if (!menu) return;
    menu.open = false;
    menu.querySelector("summary").focus();
  });

  // What needs script shows itself once script is here, and in whatever htmx brings.
  function reveal(root) {
    each(root, "[data-theme-switch], [data-copy]", function (element) { element.hidden = false; });
  }
  reveal(document);
  // A tablet may keep a visit and entries that are not sent; signing out sees to both.
  if (document.querySelector('form[action="/sign-out"]') && "indexedDB" in window) import("/static/js/tablet/leaving.js");
  document.addEventListener("htmx:load", function (event) { reveal(event.detail.elt); });
})();
