// Exact decimals, as text in and text out: whole units and how many places of them stand behind the point. No floats.

export function read(text) {
  const [whole, rest = ""] = text.replace(",", ".").split(".");
  return { units: BigInt(whole + rest), places: rest.length };
}

function alike(a, b) {
  const places = Math.max(a.places, b.places);
  return [a, b].map((each) => each.units * 10n ** BigInt(places - each.places)).concat(places);
}

// Below, at or above zero, as a is below, equal to or above b.
export function compare(a, b) {
  const [left, right] = alike(a, b);
  return left < right ? -1 : left > right ? 1 : 0;
}

export function minus(a, b) {
  const [left, right, places] = alike(a, b);
  return { units: left - right, places };
}

export function plus(a, b) {
  const [left, right, places] = alike(a, b);
  return { units: left + right, places };
}

export function times(a, b) {
  return { units: a.units * b.units, places: a.places + b.places };
}

// a / b, both not below zero, half up to so many places.
export function over(a, b, places) {
  const [left, right] = alike(a, b);
  return { units: (left * 10n ** BigInt(places) * 2n + right) / (right * 2n), places };
}

// Times ten to a power.
export function shift(a, power) {
  if (power <= 0) return { units: a.units, places: a.places - power };
  const spare = Math.min(power, a.places);
  return { units: a.units * 10n ** BigInt(power - spare), places: a.places - spare };
}

export function isNegative(a) {
  return a.units < 0n;
}

// Plainly: no needless noughts, half up to so many places.
export function write(a, most = 6) {
  let { units, places } = a;
  const sign = units < 0n ? "-" : "";
  if (units < 0n) units = -units;
  if (places > most) {
    const step = 10n ** BigInt(places - most);
    units = (units + step / 2n) / step;
    places = most;
  }
  const digits = units.toString().padStart(places + 1, "0");
  const whole = digits.slice(0, digits.length - places);
  const rest = digits.slice(digits.length - places).replace(/0+$/, "");
  return sign + whole + (rest ? "." + rest : "");
}
