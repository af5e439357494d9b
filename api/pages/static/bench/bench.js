// At the mixer: the day is held here, entries are kept until they are answered, and every screen
// stands in the page, so that the network may come and go.

import { clockAt, filled, spanText, MINUTE } from "./figures.js";
import { Entries, Sender, keep, kept } from "./kept.js";
import { readBox, shadows, takenBack } from "./writing.js";
import { Follower } from "./following.js";

const bakery = document.body.dataset.bakery;
const files = new URL(".", import.meta.url).pathname;
const held = `ovenward/${bakery}/day`;
const root = document.body.dataset.base;
const base = `${root}/bench/${encodeURIComponent(bakery)}`;
const asked = new URLSearchParams(location.search).get("date");
const entries = new Entries(bakery);
const ours = new Set();
const screen = document.getElementById("screen");
const DAY = 24 * 60 * MINUTE;
const PATIENCE = 60; // milliseconds for an answer before the strip speaks
const STALE = 90000;

let day = kept(held);
if (day && asked && day.asked !== asked) day = null;
let shift = day?.shift ?? 0; // of the server's clock against this device's
let heardAt = day?.heardAt ?? 0;
let etag = day ? null : "";

const now = () => Date.now() + shift;
const words = () => day?.words ?? {};
const by = () => document.getElementById("by").value.trim();

const sender = new Sender(
  entries,
  (plan) => `${base}/plans/${encodeURIComponent(plan)}/readings`,
  (told) => {
    heard();
    if (told) take(told);
    draw();
  },
  () => {
    notices();
    overlay();
  },
);

// -- the day --------------------------------------------------------------------------------

async function fetchDay() {
  const began = Date.now();
  try {
    const query = asked ? `?date=${encodeURIComponent(asked)}` : "";
    const answer = await fetch(`${base}/day${query}`, {
      headers: { Accept: "application/json", ...(etag ? { "If-None-Match": etag } : {}) },
      redirect: "manual",
      cache: "no-store",
    });
    if (answer.status === 401 || answer.status === 403 || answer.type === "opaqueredirect") {
      sender.become("signed_out");
      return;
    }
    if (answer.status === 404) {
      const told = await answer.json().catch(() => null);
      if (!day) screen.textContent = told?.detail ?? "404";
      return;
    }
    if (answer.status === 304) {
      heard();
    } else if (answer.ok) {
      const told = await answer.json();
      etag = answer.headers.get("ETag");
      shift = told.now - (began + Date.now()) / 2;
      heard();
      day = { ...told, shift, asked };
      if (!files.includes(`/${told.version}/`) && !document.querySelector("input:focus")) {
        keep(held, { ...day, heardAt });
        if (kept("ovenward/loaded") !== told.version) {
          keep("ovenward/loaded", told.version);
          location.reload();
          return;
        }
      }
      keep(held, { ...day, heardAt });
      draw();
    } else return;
    if (sender.state !== "idle" || entries.waiting().length) sender.flush();
  } catch {
    tick();
  }
}

function heard() {
  heardAt = Date.now();
  if (sender.state === "signed_out") sender.become("idle");
}

/** Put new screens in place of old ones. */
function take(told) {
  if (!day || told.plan_id !== day.plan_id) return;
  Object.assign(day.screens, told.screens);
  Object.assign(day.mixes, told.mixes);
  day.list = told.list;
  keep(held, { ...day, heardAt });
}

// -- the screen -----------------------------------------------------------------------------

const wanted = () => decodeURIComponent(location.hash.slice(1)) || "list";
let drawn = "";

function draw() {
  if (!day) return;
  const key = wanted() in day.screens ? wanted() : "list";
  const typed = [...screen.querySelectorAll(".box")]
    .map((box) => [box.dataset.box, box.querySelector("input").value, box.querySelector(".ask").childNodes.length])
    .filter(([, text, asking]) => text !== "" || asking);
  const active = document.activeElement;
  const focus = active?.closest?.(".box")?.dataset.box;
  const isOpen = screen.querySelector("details")?.open;
  const isSame = drawn === key;
  if (isSame && typed.some(([, , asking]) => asking)) return; // somebody is being asked
  screen.innerHTML = key === "list" ? day.list : day.screens[key];
  drawn = key;
  if (isSame) {
    for (const [name, text] of typed) {
      const input = boxNamed(name)?.querySelector("input");
      if (input) input.value = text;
    }
    if (isOpen) screen.querySelector("details").open = true;
    if (focus) {
      const same = active.className ? `.${active.className.split(" ")[0]}` : active.localName;
      boxNamed(focus)?.querySelector(same)?.focus({ preventScroll: true });
    }
  }
  document.getElementById("which").textContent = day.title;
  overlay();
  notices();
  tick();
}

const boxNamed = (name) => screen.querySelector(`[data-box="${CSS.escape(name)}"]`);

/** Note in a box what stands in it now: the next entry or taking back is about that. */
function stands(box, one) {
  const data = box.dataset;
  if (data.standing === one.reading.id) return;
  const back = one.reading.kind === "withdrawn";
  if (!back) data.before = data.series ? "" : (one.beforeSent ?? "");
  data.beforeAt = one.beforeAt ?? 0;
  data.standing = back ? "" : one.reading.id;
  data.standingSent = back ? "" : one.sent;
  data.standingAt = Date.parse(one.reading.at_utc);
}

/** Show what was written here and is not answered yet. */
function overlay() {
  if (!day || drawn === "list") return;
  const mine = entries.waiting().filter((one) => one.key === drawn || boxNamed(one.box));
  for (const one of mine) {
    const box = boxNamed(one.box);
    if (!box) continue;
    const back = one.reading.kind === "withdrawn";
    stands(box, one);
    const written = box.querySelector(".written");
    written.replaceChildren();
    if (!back) {
      const value = document.createElement("b");
      value.textContent = one.said;
      const note = document.createElement("span");
      note.className = "at";
      note.textContent = ` ${words().waits}`;
      written.append(value, note);
    }
    box.classList.toggle("has", !back);
    box.querySelector(".undo").hidden = back;
  }
  strip(mine);
}

/** Show the strip's figures for what was read and is not answered yet. */
function strip(mine) {
  const origin = screen.querySelector("[data-origin]");
  if (!origin) return;
  origin.textContent = "";
  const mix = day.mixes[drawn];
  const standing = new Map(); // by box, what stands of what waits
  for (const one of mine) {
    if (one.reading.kind === "withdrawn") standing.delete(one.box);
    else standing.set(one.box, one);
  }
  const waits = [...standing.values()].filter((one) => one.reading.mix_id === mix.mix_id);
  const value = (one) => Number(one.sent);
  const end = waits.find((one) => one.reading.kind === "dough temperature at the end");
  if (end) endSaid(value(end), mix.ends);
  const before = waits.filter((one) => /^(flour|room|preferment|tap|bowl)/.test(one.reading.kind));
  const withdrawn = mine.some((one) => one.reading.kind === "withdrawn" && one.reading.mix_id === mix.mix_id);
  if (!before.length && !withdrawn) return;
  if (!mix.strip) return;
  const flour = before.find((one) => one.reading.kind.startsWith("flour"));
  const column = before.find((one) =>
    mix.strip.part ? one.reading.part_id === mix.strip.part : one.reading.kind.startsWith("room"),
  );
  const row = nearest(mix.strip.flour, flour && value(flour));
  const at = nearest(mix.strip.column, column && value(column));
  const others = before.filter((one) => one !== flour && one !== column);
  if (row === null || at === null || others.length || withdrawn) {
    origin.textContent = sender.state === "away" ? words().beyond_strip : "";
    return;
  }
  const cell = mix.strip.cells[row][at];
  put(2, cell.water_c);
  put(4, cell.water, cell.under);
  put(5, cell.ice);
  const what = [flour && mix.strip.flour[row], column && `${mix.strip.column_name} ${mix.strip.column[at]}`];
  const named = what.filter(Boolean).map((one) => (typeof one === "number" ? `${flourName()} ${one}` : one));
  const sentence = sender.state === "idle" ? words().asking : words().from_strip;
  origin.textContent = filled(sentence, { what: named.join(", ") });
  if (cell.gives) origin.textContent += ` ${filled(words().gives, { degrees: cell.gives })}.`;
}

const flourName = () =>
  screen.querySelector('[data-kind="flour temperature"] label').firstChild.textContent.trim();

function put(number, text, under) {
  const value = screen.querySelector(`[data-number="${number}"]`);
  if (value.textContent !== text) value.textContent = text;
  if (!under) return;
  const place = screen.querySelector(`[data-under="${number}"]`);
  place.replaceChildren(
    ...under.map((line) => Object.assign(document.createElement("span"), { textContent: line })),
  );
}

/** Index of the reading of a strip next to another; its middle without one; null beyond its ends. */
function nearest(readings, value) {
  if (value === undefined) return Math.floor(readings.length / 2);
  const step = readings[1] - readings[0];
  let found = 0;
  readings.forEach((one, i) => {
    if (Math.abs(one - value) < Math.abs(readings[found] - value)) found = i;
  });
  return Math.abs(readings[found] - value) <= step / 2 + 0.01 ? found : null;
}

function endSaid(value, ends) {
  const at = nearest(ends.map((one) => one.end), value);
  const place = screen.querySelector("[data-said]");
  place.replaceChildren();
  if (at === null) return;
  for (const text of [ends[at].said, words().ends_strip]) {
    place.append(Object.assign(document.createElement("p"), { textContent: text }));
  }
}

// -- entries --------------------------------------------------------------------------------

function write(box, reading, said) {
  const data = box.dataset;
  const entry = {
    plan: day.plan_id,
    key: drawn,
    box: data.box,
    said,
    sent: data.field && reading[data.field] !== undefined ? String(reading[data.field]) : "time",
    beforeSent: data.standing ? (data.standingSent ?? sentOf(box)) : "",
    beforeAt: Number(data.standingAt) || 0,
    reading,
  };
  ours.add(reading.id);
  entries.add(entry);
  stands(box, entry); // at once: the next entry may come before anything is drawn
  sender.flush();
  notices();
  if (document.activeElement === box.querySelector("input")) toNext(box);
  setTimeout(() => entries.waiting().some((one) => one.reading.id === reading.id) && overlay(), PATIENCE);
}

/** Whoever types goes on at the next box that is empty. */
function toNext(box) {
  const all = [...screen.querySelectorAll("section > ul > .box")];
  const next = all.slice(all.indexOf(box) + 1).find((one) => !one.dataset.standing);
  next?.querySelector(next.dataset.field ? "input" : ".go").focus();
}

/** The number that stands in a box, as it was sent: what is gone back to. */
function sentOf(box) {
  if (!box.dataset.field) return "time";
  const written = box.querySelector(".written b")?.textContent ?? "";
  return written.replace("−", "-").split(" ")[0];
}

screen.addEventListener("submit", (event) => {
  event.preventDefault();
  const box = event.target.closest(".box");
  if (shadows(box.dataset.box)) return;
  readBox(box, {
    words: words(),
    offsets: day.offsets,
    now: now(),
    near: now(),
    latest: now(),
    by: by(),
    take: (reading, said) => write(box, reading, said),
  });
});

screen.addEventListener("click", (event) => {
  const nudge = event.target.closest(".nudge");
  if (nudge) return nudged(nudge);
  const undo = event.target.closest(".undo");
  if (!undo) return undefined;
  const box = undo.closest(".box");
  if (shadows(`undo ${box ? box.dataset.box : undo.dataset.standing}`)) return undefined;
  if (box) {
    const before = box.dataset.before;
    const unit = box.dataset.unit;
    const said = before === "time" ? clockAt(Number(box.dataset.beforeAt), day.offsets) : `${before} ${unit}`;
    return write(box, takenBack(box.dataset, now(), by()), said);
  }
  const reading = takenBack({ kind: "", mix: undo.dataset.mix, standing: undo.dataset.standing, before: "" }, now(), by());
  ours.add(reading.id);
  undo.disabled = true;
  entries.add({ plan: day.plan_id, key: drawn, box: "", said: "", sent: "", reading });
  return sender.flush();
});

function nudged(button) {
  const box = button.closest(".box");
  const input = box.querySelector("input");
  const written = sentOf(box);
  const start = input.value.trim() || written || box.dataset.start;
  const value = Number(String(start).replace(",", ".").replace("−", "-"));
  if (Number.isNaN(value)) return;
  input.value = String(Math.round((value + Number(button.dataset.by) * Number(box.dataset.nudge)) * 10) / 10);
}

// -- what is told all the time --------------------------------------------------------------

function notices() {
  const place = document.getElementById("notices");
  const made = [];
  const said = words();
  if (!said.waits) return;
  const all = entries.all();
  const waiting = all.filter((one) => !one.refused).length;
  if (sender.state === "signed_out") {
    const link = Object.assign(document.createElement("a"), {
      href: `${root}/sign-in`,
      textContent: place.dataset.signIn,
      target: "_blank", // what is typed here stays here
    });
    made.push(notice(said.signed_out, link));
  }
  if (waiting && sender.state !== "idle") {
    made.push(notice(waiting === 1 ? said.waiting_one : filled(said.waiting_many, { n: waiting })));
  }
  for (const one of all.filter((entry) => entry.refused)) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: "OK" });
    button.addEventListener("click", () => {
      entries.drop(one.reading.id);
      draw();
    });
    made.push(notice(`${one.said}: ${filled(said.refused, { reason: one.refused })}`, button));
  }
  if (made.map((one) => one.textContent).join() !== place.textContent) place.replaceChildren(...made);
}

function notice(sentence, more) {
  const made = document.createElement("div");
  made.className = "notice";
  made.append(Object.assign(document.createElement("p"), { textContent: sentence }));
  if (more) made.append(more);
  return made;
}

function tick() {
  if (!day) return;
  const at = now();
  const said = words();
  document.getElementById("clock").textContent = clockAt(at, day.offsets);
  for (const place of screen.querySelectorAll(".count")) {
    const left = Number(place.dataset.at) - at;
    const span = spanText(left, said);
    let text = Math.abs(left) < MINUTE / 2 ? said.now : filled(left > 0 ? said.in : said.ago, { time: span });
    if (left < -DAY) text = ""; // the date says enough
    else if (left < -MINUTE / 2 && place.dataset.late) text = filled(said.late, { time: span });
    if (place.textContent !== text) place.textContent = text;
  }
  const age = Date.now() - heardAt;
  const place = document.getElementById("age");
  const isStale = age > STALE;
  const sentence = isStale
    ? filled(said.stale, { time: spanText(age, said), clock: clockAt(heardAt + shift, day.offsets) })
    : filled(said.as_of, { time: clockAt(heardAt + shift, day.offsets) });
  place.classList.toggle("stale", isStale);
  if (place.textContent !== sentence) place.textContent = sentence;
}

const initials = document.getElementById("by");
initials.value = kept("ovenward/by") ?? "";
initials.addEventListener("change", () => keep("ovenward/by", by()));
window.addEventListener("hashchange", () => {
  draw();
  window.scrollTo(0, 0);
  screen.focus({ preventScroll: true });
});
window.addEventListener("storage", () => {
  overlay();
  notices();
});
window.addEventListener("beforeunload", (event) => {
  if (sender.state === "away" && entries.waiting().length) event.preventDefault();
});
setInterval(tick, 1000);

draw();
fetchDay();
if (entries.waiting().length) sender.flush();
new Follower(root, bakery, fetchDay, (told) => ours.has(told.data?.reading?.id));
