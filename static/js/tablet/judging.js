// What the sheet says while somebody types, without the network. Every limit, order and sentence was worked out by the
// rules at the office (the pack of the visit); here readings are compared by the decision rule, exactly as there, and the
// checks are walked in their order.
import { compare, isNegative, minus, over, plus, read, shift, times, write } from "./decimals.js";

const SHAPE = /^([<>]?)\s*([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*([^\s0-9<>.,+-][^\s<>]*)?$/;
const TWO_WAYS = /^[1-9][0-9]{0,2},[0-9]{3}$/;
const UNFINISHED = /^[<>]?\s*[0-9]*[.,]?\s*$/;
const DIGITS_MOST = 20; // as in app/rules/quantities.py
const OPEN = ["inconclusive", "conditional-fail"];
const GOOD = ["pass", "conditional-pass"];
const ORDER = ["not-done", "pass", "conditional-pass", "inconclusive", "conditional-fail", "fail"];

export class Unusable extends Error {}

// A reading as typed ("0,21", "> 20 MΩ", "210 mΩ"), in the field's own unit: [dimension, power of ten, symbol].
export function readReading(text, unit, units) {
  const typed = text.replaceAll("\u2126", "Ω").replaceAll("\u03bc", "µ").trim().replace(/\s+/g, " ");
  if (typed.length > 40) throw new Unusable("That is too long to be a reading.");
  const match = SHAPE.exec(typed);
  if (!match) throw new Unusable(/^-/.test(typed) ? "A reading cannot be below zero." : "That is not a number.");
  const [, bound, number, spelling] = match;
  if (number.length > DIGITS_MOST) throw new Unusable("That is too long to be a reading.");
  if (TWO_WAYS.test(number)) throw new Unusable(`${number} can be read in two ways. Write it without the comma, or with a point.`);
  if (spelling && !Object.hasOwn(units.spellings, spelling)) throw new Unusable(`“${spelling}” is not a unit known here. Use ${unit[2]}.`);
  const [dimension, power] = spelling ? units.spellings[spelling] : unit;
  const value = read(number);
  if (bound === "<" && value.units === 0n) throw new Unusable("A reading cannot be below zero.");
  if (compare(shift(value, power), read(units.largest[dimension])) > 0) {
    throw new Unusable("That is too large to be a reading. Look at the unit and the decimal point.");
  }
  if (dimension !== unit[0]) throw new Unusable(`A reading in ${unit[2]} is needed here.`);
  return { value: shift(value, power - unit[1]), bound };
}

// The expanded uncertainty of a value in the field's unit, by the finest range of the instrument that holds it, in the
// unit of the limit; nothing where no range does, or where the decision rule does not ask.
function uncertaintyOf(value, field) {
  let finest = null;
  for (const { least, most, percent, fixed, coverage, power } of field.ranges) {
    const shown = shift(value, field.unit[1] - power);
    if (compare(shown, read(least)) < 0 || compare(shown, read(most)) > 0) continue;
    let told = plus(shift(times(shown, read(percent)), -2), read(fixed));
    if (coverage !== "2") told = over(times(told, read("2")), read(coverage), 9);
    const own = shift(told, power - field.limit_unit[1]);
    if (!finest || compare(own, finest) < 0) finest = own;
  }
  return finest;
}

const ZERO = read("0"), NEAR = read("0.000000000000001");

function judgeExact(value, [least, most], guard, fourWay) {
  const outside = [most && minus(value, most), least && minus(least, value)].filter(Boolean).sort(compare).at(-1);
  if (compare(plus(outside, guard), ZERO) <= 0) return "pass";
  if (!fourWay) return "fail";
  if (compare(outside, ZERO) <= 0) return "conditional-pass";
  return compare(outside, guard) <= 0 ? "conditional-fail" : "fail";
}

// A value of "more than" or "less than" is judged by every true value that it could stand for: enough of them to see
// each outcome that it could hide.
function judgeNumber(value, bound, limits, guard, fourWay) {
  if (!bound) return judgeExact(value, limits, guard, fourWay);
  const edges = [ZERO, ...limits.filter(Boolean).flatMap((limit) => [limit, minus(limit, guard), plus(limit, guard)])];
  const top = plus([...edges, value].sort(compare).at(-1), read("1"));
  const marks = edges.flatMap((edge) => [minus(edge, NEAR), edge, plus(edge, NEAR)]).filter((mark) => !isNegative(mark)).concat(top);
  const below = minus(value, NEAR);
  const meant = bound === ">" ? [plus(value, NEAR), ...marks.filter((mark) => compare(mark, value) > 0)]
    : [isNegative(below) ? ZERO : below, ...marks.filter((mark) => compare(mark, value) < 0)];
  const found = meant.map((each) => judgeExact(each, limits, guard, fourWay));
  const isGood = (outcome) => GOOD.includes(outcome);
  if (found.some(isGood) && !found.every(isGood)) return "inconclusive";
  return found.sort((a, b) => ORDER.indexOf(a) - ORDER.indexOf(b)).at(-1);
}

// A reading against its limit, by the decision rule: {outcome, asked}. asked: a missing fact could change the limit.
function judgeReading(net, reading, field) {
  const limits = field.limit.map((text) => (text === null ? null : read(text)));
  const guard = uncertaintyOf(reading.value, field) || ZERO, fourWay = field.rule === "four-way";
  const outcome = judgeNumber(net, reading.bound, limits, guard, fourWay);
  if (field.loosest === null || GOOD.includes(outcome)) return { outcome, asked: false };
  const loose = limits[0] ? [read(field.loosest), null] : [null, read(field.loosest)];
  const surely = judgeNumber(net, reading.bound, loose, guard, fourWay) === "fail";
  return surely ? { outcome, asked: false } : { outcome: "inconclusive", asked: true };
}

// One field: {outcome, sentence}, {mistake}, or nothing where nothing usable stands there yet.
export function judgeField(field, values, units) {
  const typed = (values.get(field.name) || "").trim();
  if (!typed) return null;
  if (field.kind !== "reading") return { outcome: field.answers[typed], sentence: "" };
  try {
    const reading = readReading(typed, field.unit, units);
    let net = reading.value;
    const lead = field.may_jump ? (values.get("lead") || "").trim() : "";
    if (lead) {
      const ohms = readReading(lead, [field.unit[0], 0, "Ω"], units);
      if (ohms.bound) throw new Unusable("The resistance of the test lead must be an exact value.");
      net = minus(net, shift(ohms.value, -field.unit[1]));
      if (isNegative(net)) throw new Unusable("The test lead is bigger than the reading. Measure the lead again.");
    }
    net = shift(net, field.unit[1] - field.limit_unit[1]);
    if (!field.always && values.get(`jumped-${field.name}`)) {
      return { outcome: "fail", sentence: "The reading jumped as the cord was moved." };
    }
    if (field.always) return { outcome: field.always, sentence: field.between };
    const { outcome, asked } = judgeReading(net, reading, field);
    const why = asked ? field.between : sayWhy(outcome, net, reading.bound, field);
    const words = lead && `${reading.bound}${write(net)}\u00a0${field.limit_unit[2]} without the test lead`;
    return { outcome, sentence: [words, why].filter(Boolean).join("; ") };
  } catch (problem) {
    if (!(problem instanceof Unusable)) throw problem;
    return UNFINISHED.test(typed) ? { mistake: problem.message, unfinished: true } : { mistake: problem.message };
  }
}

function sayWhy(outcome, net, bound, field) {
  if (outcome === "inconclusive") return "the true value can lie on either side";
  if (bound) return "";
  const spare = spareOf(net, field.limit);
  if (spare.units === 0n) return "exactly at the limit";
  // Against the limit as it is shown, but where that would say otherwise.
  const seen = spareOf(net, field.shown), alike = seen.units !== 0n && isNegative(seen) === isNegative(spare);
  const amount = write(alike ? seen : spare).replace("-", "") + "\u00a0" + field.limit_unit[2];
  if (!isNegative(spare)) return `${amount} to spare${outcome === "pass" ? "" : ", less than the uncertainty"}`;
  const most = field.limit[1];
  if (most !== null && isNegative(minus(read(most), net))) return `${amount} over`;
  return `${amount} ${field.limit_unit[0] === "time" ? "too early" : "short"}`;
}

function spareOf(net, limits) {
  const [least, most] = limits.map((text) => (text === null ? null : read(text)));
  return [most && minus(most, net), least && minus(net, least)].filter(Boolean).sort(compare)[0];
}

// A whole item: a line for each field, what is locked and why, and the verdict so far. values: what stands in the form.
export function judgeItem(screen, values, units) {
  const lines = {}, locked = {}, outcomes = {}, filled = {};
  for (const step of screen.steps) {
    const found = [];
    for (const field of step.fields) {
      const answer = judgeField(field, values, units);
      if (!answer) continue;
      lines[field.name] = answer;
      if (answer.outcome) found.push(answer.outcome);
    }
    if (found.length) outcomes[step.check] = found.sort((a, b) => ORDER.indexOf(a) - ORDER.indexOf(b)).at(-1);
    filled[step.check] = step.fields.every((field) => !field.needed || lines[field.name]?.outcome);
  }
  const [missed, spare] = screen.fallback;
  if (outcomes[missed]) outcomes[missed] = settleFallback(outcomes, screen);
  let failed = null, unsure = null;
  for (const step of screen.steps) {
    // What comes up to the current that decides was in time, whatever that says in the end.
    const inTime = failed && failed.check === missed && screen.steps.indexOf(step) <= screen.steps.findIndex((each) => each.check === spare);
    const stop = inTime ? failed : unsure;
    const open = stop && !(step.check === spare && stop.check === missed);
    const why = failed && !inTime ? failed.failed : step.energises && (open ? stop.unsure : screen.unsafe);
    if (why) {
      locked[step.check] = why;
      for (const field of step.fields) if (lines[field.name]?.outcome) delete lines[field.name];
      delete outcomes[step.check];
    }
    const outcome = outcomes[step.check];
    if (outcome === "fail" && !failed) failed = step;
    if (OPEN.includes(outcome) && !unsure) unsure = step;
  }
  return { lines, locked, ...sum(screen, outcomes, locked, filled) };
}

// Where the protective conductor current decides on an insulation resistance that is not surely within its limit.
function settleFallback(outcomes, screen) {
  const [missed, spare] = screen.fallback, found = outcomes[missed];
  if (GOOD.includes(found) || found === "not-done") return found;
  const before = screen.steps.slice(0, screen.steps.findIndex((step) => step.check === spare));
  const shut = screen.unsafe || before.some(({ check }) => check !== missed && (outcomes[check] === "fail" || OPEN.includes(outcomes[check])));
  const current = shut ? undefined : outcomes[spare];
  if (current === "fail") return found;
  return GOOD.includes(current) ? "conditional-pass" : "inconclusive";
}

function sum(screen, outcomes, locked, filled) {
  const found = Object.values(outcomes);
  if (!found.length) return { verdict: "", left: [] };
  // A step stands in for one check only, but for one that is required itself.
  const spent = new Set();
  const stoodIn = (check) => screen.steps.some((step) => {
    if (!step.instead_of.includes(check) || !GOOD.includes(outcomes[step.check]) || spent.has(step)) return false;
    if (!step.required) spent.add(step);
    return true;
  });
  const left = screen.steps.filter((step) => {
    if (locked[step.check]) return false;
    return outcomes[step.check] ? !filled[step.check] : step.required && !stoodIn(step.check);
  });
  const verdict = found.includes("fail") || screen.fails.length ? "fail"
    : left.length ? "incomplete"
    : found.some((outcome) => OPEN.includes(outcome)) ? "decision" : "pass";
  return { verdict, left: verdict === "incomplete" ? left.map((step) => step.word) : [] };
}
