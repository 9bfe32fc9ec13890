// SHA-256 as FIPS 180-4 writes it down, for pages opened over plain HTTP, where browsers withhold their own.
// window.ohmsteadSha256(Uint8Array) gives 64 hexadecimal digits.
(function () {
  "use strict";

  // The first 32 bits of the fractional part of a root of a prime (FIPS 180-4, 4.2.2 and 5.3.3).
  function fraction(root) {
    return ((root - Math.floor(root)) * 4294967296) | 0;
  }

  var primes = [];
  for (var candidate = 2; primes.length < 64; candidate += 1) {
    if (primes.every(function (prime) { return candidate % prime; })) primes.push(candidate);
  }
  var CONSTANTS = new Int32Array(primes.map(function (prime) { return fraction(Math.cbrt(prime)); }));
  var START = new Int32Array(primes.slice(0, 8).map(function (prime) { return fraction(Math.sqrt(prime)); }));

  function turned(word, by) {
    return (word >>> by) | (word << (32 - by));
  }

  function take(state, view, offset, words) {
    for (var t = 0; t < 16; t += 1) words[t] = view.getInt32(offset + t * 4);
    for (; t < 64; t += 1) {
      var near = words[t - 2], far = words[t - 15];
      var s1 = turned(near, 17) ^ turned(near, 19) ^ (near >>> 10);
      var s0 = turned(far, 7) ^ turned(far, 18) ^ (far >>> 3);
      words[t] = (s1 + words[t - 7] + s0 + words[t - 16]) | 0;
    }
    var a = state[0], b = state[1], c = state[2], d = state[3], e = state[4], f = state[5], g = state[6], h = state[7];
    for (t = 0; t < 64; t += 1) {
      var choice = (e & f) ^ (~e & g), majority = (a & b) ^ (a & c) ^ (b & c);
      var one = (h + (turned(e, 6) ^ turned(e, 11) ^ turned(e, 25)) + choice + CONSTANTS[t] + words[t]) | 0;
      var two = ((turned(a, 2) ^ turned(a, 13) ^ turned(a, 22)) + majority) | 0;
      h = g; g = f; f = e; e = (d + one) | 0; d = c; c = b; b = a; a = (one + two) | 0;
    }
    [a, b, c, d, e, f, g, h].forEach(function (word, place) { state[place] = (state[place] + word) | 0; });
  }

  window.ohmsteadSha256 = function (bytes) {
    var whole = bytes.length - (bytes.length % 64), rest = bytes.length - whole;
    var end = new Uint8Array(rest < 56 ? 64 : 128), endView = new DataView(end.buffer);
    end.set(bytes.subarray(whole));
    end[rest] = 0x80;
    endView.setUint32(end.length - 8, Math.floor(bytes.length / 536870912));
    endView.setUint32(end.length - 4, (bytes.length << 3) >>> 0);
    var state = new Int32Array(START), words = new Int32Array(64);
    var view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    for (var offset = 0; offset < whole; offset += 64) take(state, view, offset, words);
    for (offset = 0; offset < end.length; offset += 64) take(state, endView, offset, words);
    return Array.from(state, function (word) { return (word >>> 0).toString(16).padStart(8, "0"); }).join("");
  };
})();
