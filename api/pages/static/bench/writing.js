// A box in which a reading is entered: asks back what cannot be meant, never guesses, and takes
// back what was written.

import { doubtOf, filled, momentOf, numberOf, timeOf, clockAt, MINUTE } from "./figures.js";
import { newId } from "./kept.js";

const AGAIN = 700; // a second tap within so many milliseconds is the first one's shadow
const touched = new Map();

export function shadows(name) {
  const now = performance.now();
  const before = touched.get(name) ?? -Infinity;
  if (now - before < AGAIN) return true;
  touched.set(name, now);
  return false;
}

/** A reading of a box. */
export function readingOf(box, at, by, more) {
  const reading = { id: newId(), kind: box.kind, mix_id: box.mix, at_utc: new Date(at).toISOString() };
  if (box.part) reading.part_id = box.part;
  if (box.stepAfter && box.stepAfter !== "-1") reading.after_step = Number(box.stepAfter);
  if (by) reading.by = by;
  if (box.standing && !box.series) reading.supersedes = box.standing;
  return { ...reading, ...more };
}

/** What takes back what stands in a box: what stood before it, or nothing. */
export function takenBack(box, now, by) {
  const { before, standing } = box;
  if (before === "") {
    const reading = readingOf({ ...box, part: "", stepAfter: "-1" }, now, by, { supersedes: standing });
    return { ...reading, kind: "withdrawn" };
  }
  const at = Number(box.beforeAt);
  return readingOf(box, at, by, before === "time" ? {} : { [box.field]: Number(before) });
}

/**
 * Read what is written in a box: calls `take` with the reading and its words, or asks. `near` is
 * the moment next to which a written time lies, and `latest` the last one that can have been.
 */
export function readBox(element, { words, offsets, now, near, latest, by, take }) {
  const box = element.dataset;
  const input = element.querySelector("input");
  const text = input.value.trim();
  const done = (reading, said) => {
    ask(element, null);
    input.value = "";
    take(reading, said);
  };
  if (!box.field) {
    const clock = text === "" ? null : timeOf(text);
    if (text !== "" && clock === null) return say(element, words.no_time);
    const at = clock === null ? now : momentOf(clock, near, offsets);
    if (at === null) return say(element, words.no_time);
    if (at > latest + 10 * MINUTE) return say(element, words.future);
    const go = () => done(readingOf(box, at, by), clockAt(at, offsets));
    if (box.standing && text === "") {
      const written = element.querySelector(".written b")?.textContent ?? "";
      return ask(element, filled(words.ask_again, { value: written }), [
        [filled(words.yes, { value: clockAt(at, offsets) }), go],
        [words.no, () => forget(element)],
      ]);
    }
    return go();
  }
  const value = numberOf(text);
  if (Number.isNaN(value)) return say(element, words.no_number);
  const shown = (one) => `${one} ${box.unit}`;
  const go = (one) => done(readingOf(box, at(), by, { [box.field]: one }), shown(one));
  const at = () => now;
  const doubt = doubtOf(value, box);
  if (doubt === null) return go(value);
  if (doubt.kind === "tenth") {
    return ask(element, filled(words.ask_tenth, { value: shown(text), tenth: shown(doubt.tenth) }), [
      [filled(words.yes, { value: shown(doubt.tenth) }), () => go(doubt.tenth)],
      [words.no, () => forget(element)],
    ]);
  }
  if (doubt.kind === "cannot") {
    return say(element, filled(words.cannot, { value: shown(text), low: doubt.low, high: doubt.high }));
  }
  return ask(element, filled(words.ask_far, { value: shown(text) }), [
    [filled(words.keep, { value: shown(value) }), () => go(value)],
    [words.no, () => forget(element)],
  ]);
}

function say(element, sentence) {
  ask(element, sentence, []);
  element.querySelector("input").select();
}

function forget(element) {
  ask(element, null);
  const input = element.querySelector("input");
  input.value = "";
  input.focus();
}

/** Show a question with its answers under a box; null takes it away. */
export function ask(element, sentence, answers = []) {
  const place = element.querySelector(".ask");
  place.replaceChildren();
  place.hidden = sentence === null;
  if (sentence === null) return;
  const said = document.createElement("p");
  said.textContent = sentence;
  place.append(said);
  for (const [label, act] of answers) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.addEventListener("click", () => act());
    place.append(button);
  }
  place.querySelector("button")?.focus();
}
