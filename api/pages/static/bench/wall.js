// On the wall: read only. Counts down from moments by the service's clock, says how old it is.

import { clockAt, filled, spanText, MINUTE } from "./figures.js";
import { Follower } from "./following.js";

const { bakery, base } = document.body.dataset;
const place = document.getElementById("wall");
const STALE = 90000;
const MOST = 3;
const FAR = 120 * MINUTE;

let shift = 0;
let heardAt = 0;
let words = null;
let offsets = [];

function read(began) {
  const held = document.getElementById("held");
  if (!held) return;
  words = JSON.parse(held.dataset.words);
  offsets = JSON.parse(held.dataset.offsets);
  shift = Number(held.dataset.now) - (began + Date.now()) / 2;
  heardAt = Date.now();
  document.getElementById("which").textContent = held.dataset.title;
  tick();
}

async function ask() {
  const began = Date.now();
  try {
    const answer = await fetch(`${base}/wall/${encodeURIComponent(bakery)}/now`, {
      headers: { Accept: "text/html" },
      redirect: "manual",
      cache: "no-store",
    });
    if (answer.status === 401 || answer.type === "opaqueredirect") location.reload();
    if (!answer.ok) return;
    place.innerHTML = await answer.text();
    read(began);
  } catch {
    tick();
  }
}

function tick() {
  if (!words) return;
  const at = Date.now() + shift;
  document.getElementById("clock").textContent = clockAt(at, offsets);
  for (const one of place.querySelectorAll(".count")) {
    const left = Number(one.dataset.at) - at;
    const time = spanText(left, words);
    const isLate = left < -MINUTE / 2 && one.dataset.late;
    const sentence = isLate ? words.late : left > 0 ? words.in : words.ago;
    const isFar = left > FAR && one.closest(".places"); // the clock time beside it says enough
    const text = isFar ? "" : Math.abs(left) < MINUTE / 2 ? words.now : filled(sentence, { time });
    if (one.textContent !== text) one.textContent = text;
  }
  const mixes = [...place.querySelectorAll(".next")];
  const over = mixes.filter((one) => Number(one.dataset.until) < at);
  // While nothing is heard the clock alone turns the page to the next mix.
  const age = Date.now() - heardAt;
  const isStale = age > STALE;
  const first = isStale ? mixes.find((one) => !over.includes(one)) ?? mixes.at(-1) : mixes[0];
  for (const one of mixes) one.hidden = one !== first;
  fit(at);
  const told = document.getElementById("age");
  const clock = clockAt(heardAt + shift, offsets);
  const text = isStale
    ? filled(words.stale, { time: spanText(age, words), clock })
    : filled(words.as_of, { time: clock });
  told.classList.toggle("stale", isStale);
  if (told.textContent !== text) told.textContent = text;
}

/** Show as many things of each place as the screen holds: nobody scrolls a wall. */
function fit(at) {
  document.body.classList.remove("tight");
  if (!holds(at)) {
    document.body.classList.add("tight");
    holds(at);
  }
}

/** Whether the screen holds at least one thing of each place; as many are then shown as it holds. */
function holds(at) {
  for (let most = MOST; most > 0; most -= 1) {
    for (const line of place.querySelectorAll("ol")) {
      let shown = 0;
      for (const one of line.children) {
        one.hidden = Number(one.dataset.until) < at || shown >= most;
        if (!one.hidden) shown += 1;
      }
    }
    if (document.documentElement.scrollHeight <= window.innerHeight) return true;
  }
  return false;
}

read(Date.now());
setInterval(tick, 1000);
new Follower(base, bakery, ask);
