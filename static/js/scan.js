// Scanning a label, with a scanner that types or with the camera: what its code holds goes into the field that finds an
// item. For the camera the browser's own reader is used where it knows QR codes, else the vendored one; without a secure
// page or a camera the button stays hidden.
(function () {
  "use strict";

  // Of a label of this customer only the number is looked for, whoever typed or read it; so the sheet finds it without
  // the network too. Another customer's label goes to the office as it is, which says whose it is not.
  var ADDRESS = /^(?:HTTPS?:\/\/[^\/\s]+(?:\/\S*)?)?\/L\/([0-9]{1,9})\/([A-Z0-9.:-]{1,20})$/;
  document.addEventListener("submit", function (event) {
    var form = event.target;
    var label = form.id === "find" && ADDRESS.exec(form.elements.number.value.trim().toUpperCase());
    if (label && label[1] === form.dataset.customer) form.elements.number.value = label[2].replace(/:/g, "/");
  }, true);

  var media = navigator.mediaDevices;
  var piece = document.getElementById("draw-scanner");
  if (!piece || !window.isSecureContext || !media || !media.getUserMedia || !window.HTMLDialogElement) return;

  // The dialog lies outside the screens of the sheet, so that a screen drawn anew meanwhile leaves it open.
  var box = piece.content.firstElementChild.cloneNode(true);
  document.body.appendChild(box);
  var video = box.querySelector("video");
  var status = box.querySelector("[role=status]");
  var light = box.querySelector("[data-light]");
  var button = null;
  var stream = null;
  var sound = null;
  var lit = false;
  var WIDEST = 1280;

  var hasCamera = media.enumerateDevices().then(function (devices) {
    return devices.some(function (device) { return device.kind === "videoinput"; });
  }, function () { return false; });

  function reveal() {
    hasCamera.then(function (has) {
      Array.prototype.forEach.call(document.querySelectorAll("[data-scan]"), function (each) { each.hidden = !has; });
    });
  }
  reveal();
  document.addEventListener("screenopened", reveal);

  // Readers ----------------------------------------------------------------------------------------------------------
  // Each is a function from a picture to a promise of a text, empty where there is no code in it.
  var reading = null;

  function theReader() {
    if (!reading) {
      reading = ownReader().then(function (own) { return own || vendoredReader(); });
      reading.catch(function () { reading = null; });
    }
    return reading;
  }

  function ownReader() {
    if (!("BarcodeDetector" in window)) return Promise.resolve(null);
    return window.BarcodeDetector.getSupportedFormats().then(function (formats) {
      if (formats.indexOf("qr_code") < 0) return null;
      var wanted = ["qr_code", "code_128"].filter(function (name) { return formats.indexOf(name) >= 0; });
      var detector = new window.BarcodeDetector({ formats: wanted });
      return function (canvas) {
        return detector.detect(canvas).then(function (found) { return found.length ? found[0].rawValue : ""; });
      };
    }).catch(function () { return null; });
  }

  function vendoredReader() {
    return loadScript(button.dataset.reader).then(function () {
      return window.ZXingWASM.prepareZXingModule({
        overrides: { locateFile: function () { return button.dataset.wasm; } },
        fireImmediately: true,
      });
    }).then(function () {
      var options = { formats: ["QRCode", "Code128"], tryHarder: true, maxNumberOfSymbols: 1 };
      return function (canvas) {
        var pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        return window.ZXingWASM.readBarcodes(pixels, options).then(function (found) {
          return found.length ? found[0].text : "";
        });
      };
    });
  }

  function loadScript(address) {
    return new Promise(function (done, failed) {
      if (window.ZXingWASM) return done();
      var script = document.createElement("script");
      script.src = address;
      script.onload = function () { done(); };
      script.onerror = function () { failed(new Error("reader")); };
      document.head.appendChild(script);
    });
  }

  // Camera -----------------------------------------------------------------------------------------------------------
  var SENTENCES = {
    NotAllowedError: "The camera is not allowed for this page. Allow it in the settings of the browser, or type the number.",
    NotFoundError: "No camera was found. Type the number instead.",
    NotReadableError: "The camera is busy in another program. Close that, or type the number.",
  };

  function say(sentence) { status.textContent = sentence; }

  document.addEventListener("click", function (event) {
    button = event.target.closest("[data-scan]");
    if (!button) return;
    box.showModal();
    light.hidden = true;
    say("Starting the camera …");
    openSound();
    var wanted = { facingMode: { ideal: "environment" }, width: { ideal: WIDEST } };
    Promise.all([media.getUserMedia({ video: wanted }).then(keep), theReader()]).then(function (both) {
      return video.play().then(function () { return both[1]; });
    }).then(function (read) {
      if (!stream) return;
      say("Hold the code of the label in the picture.");
      offerLight();
      look(read, document.createElement("canvas"));
    }).catch(function (problem) {
      if (!box.open) return;
      stop();
      say(SENTENCES[problem && problem.name] || "The label cannot be read with the camera here. Type the number instead.");
    });
  });

  function keep(opened) {
    stream = opened;
    if (!box.open) return stop();
    video.srcObject = opened;
  }

  function look(read, canvas) {
    if (!stream) return;
    var scale = Math.min(1, WIDEST / (video.videoWidth || WIDEST));
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    var again = function () { setTimeout(look, 120, read, canvas); };
    if (!canvas.width || !canvas.height) return again();
    canvas.getContext("2d", { willReadFrequently: true }).drawImage(video, 0, 0, canvas.width, canvas.height);
    read(canvas).then(function (text) {
      if (!stream) return;
      if (text && text.trim()) found(text.trim());
      else again();
    }, again);
  }

  function found(text) {
    tellHand();
    box.close();
    var field = document.getElementById("find-number");
    field.value = text;
    field.form.requestSubmit();
  }

  function stop() {
    if (stream) stream.getTracks().forEach(function (track) { track.stop(); });
    stream = null;
    lit = false;
    video.srcObject = null;
  }

  box.addEventListener("close", stop);
  box.querySelector("[data-close]").addEventListener("click", function () { box.close(); });
  window.addEventListener("pagehide", stop);
  document.addEventListener("visibilitychange", function () { if (document.hidden && box.open) box.close(); });

  // Light, sound and touch, where the device has them ------------------------------------------------------------------
  function offerLight() {
    var track = stream.getVideoTracks()[0];
    var can = track.getCapabilities ? track.getCapabilities() : {};
    light.hidden = !can.torch;
  }

  light.addEventListener("click", function () {
    if (!stream) return;
    lit = !lit;
    stream.getVideoTracks()[0].applyConstraints({ advanced: [{ torch: lit }] }).catch(function () { light.hidden = true; });
  });

  function openSound() {
    try { sound = sound || new (window.AudioContext || window.webkitAudioContext)(); } catch (refused) { sound = null; }
  }

  function tellHand() {
    if (navigator.vibrate) navigator.vibrate(60);
    if (!sound || sound.state !== "running") return;
    var tone = sound.createOscillator();
    var loudness = sound.createGain();
    loudness.gain.value = 0.1;
    tone.frequency.value = 880;
    tone.connect(loudness).connect(sound.destination);
    tone.start();
    tone.stop(sound.currentTime + 0.08);
  }
})();
