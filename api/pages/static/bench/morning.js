// The morning after: cells in the order of the paper, keyboard only. A row is sent once it is left,
// so that its temperatures have its time; until then, and until it is answered, it is kept.

import { clockAt, doubtOf, filled, momentOf, numberOf, timeOf, MINUTE } from "./figures.js";
import { Entries, Sender, keep, kept } from "./kept.js";
import { readingOf } from "./writing.js";

const { bakery, base } = document.body.dataset;
const held = JSON.parse(document.body.dataset.held);
const { words, offsets } = held;
const entries = new Entries(bakery);
const shift = held.now - Date.now();
const asks = document.getElementById("asks");
const notices = document.getElementById("notices");
const initials = document.getElementById("by");
const cells = [...document.querySelectorAll(".grid input")];
const standing = new Map(cells.map((one) => [one, one.value]));
const isRight = new Set(); // cells whose odd figure was written twice: it is meant

const sender = new Sender(
  entries,
  (plan) => `${base}/bench/${encodeURIComponent(bakery)}/plans/${encodeURIComponent(plan)}/readings`,
  () => tell(),
  () => tell(),
);

const rowOf = (cell) => cell.closest("tr");
const cellsOf = (row) => [...row.querySelectorAll("input")];
const dataOf = (cell) => ({ ...cell.dataset });

/** What is wrong with a cell, in words, with the cell's own tenth where it has one; null when nothing. */
function doubt(cell) {
  const text = cell.value.trim();
  if (text === "" || text === standing.get(cell)) return null;
  if (!cell.dataset.field) {
    const time = timeOf(text);
    if (time === null) return { sentence: words.no_time };
    const at = momentOf(time, Number(cell.dataset.expectedAt), offsets);
    if (at === null) return { sentence: words.no_time };
    return at > Date.now() + shift + 10 * MINUTE ? { sentence: words.future } : null;
  }
  const value = numberOf(text);
  if (Number.isNaN(value)) return { sentence: words.no_number };
  const found = doubtOf(value, cell.dataset);
  if (found === null || (found.kind === "far" && isRight.has(`${cell.dataset.box} ${text}`))) return null;
  const unit = cell.dataset.unit;
  const shown = { value: `${text} ${unit}`, low: found.low, high: found.high };
  if (found.kind === "tenth") {
    return { sentence: filled(words.ask_tenth, { ...shown, tenth: `${found.tenth} ${unit}` }), keys: words.tenth_keys, tenth: found.tenth };
  }
  if (found.kind === "cannot") return { sentence: filled(words.cannot, shown) };
  return { sentence: filled(words.ask_far, shown), keys: words.far_keys, far: `${cell.dataset.box} ${text}` };
}

/** Ask about a cell; whether it may be left. */
function settled(cell) {
  const found = doubt(cell);
  cell.classList.toggle("wrong", found !== null);
  if (found) cell.setAttribute("aria-invalid", "true");
  else cell.removeAttribute("aria-invalid");
  asks.hidden = found === null;
  const sentence = found === null ? "" : [found.sentence, found.keys].filter(Boolean).join(" ");
  if (asks.textContent !== sentence) asks.textContent = sentence;
  asked = found === null ? null : { cell, ...found };
  return found === null;
}

let asked = null;

/** Send what changed in a row. */
function leave(row) {
  const mine = cellsOf(row);
  if (mine.some((cell) => doubt(cell) !== null)) return;
  const changed = mine.filter((cell) => cell.value.trim() !== standing.get(cell));
  if (!changed.length) return;
  const off = mine.find((cell) => cell.dataset.kind === "off the mixer");
  const time = timeOf(off.value.trim());
  const endAt = time === null ? Number(row.dataset.endAt) : momentOf(time, Number(row.dataset.endAt), offsets);
  // Before the mix: at its start, or as long before its end as planned.
  const startAt = Number(row.dataset.startAt) + endAt - Number(row.dataset.endAt);
  for (const cell of changed) {
    const text = cell.value.trim();
    const isAfter = !cell.dataset.field || cell.dataset.kind === "dough temperature at the end";
    let reading;
    if (text === "") {
      const nothing = { ...dataOf(cell), kind: "withdrawn", part: "", stepAfter: "-1" };
      reading = readingOf(nothing, Date.now() + shift, initials.value.trim(), {});
    } else {
      const more = cell.dataset.field ? { [cell.dataset.field]: numberOf(text) } : {};
      reading = readingOf(dataOf(cell), isAfter ? endAt : startAt, initials.value.trim(), more);
    }
    const said = `${cell.getAttribute("aria-label")}: ${text}`;
    entries.add({ plan: held.plan_id, key: "", box: cell.dataset.box, said, sent: text || "time", reading });
    standing.set(cell, text);
    cell.dataset.standing = text === "" ? "" : reading.id;
  }
  sender.flush();
  tell();
}

function tell() {
  const all = entries.all();
  const waiting = all.filter((one) => !one.refused);
  for (const row of document.querySelectorAll(".grid tbody tr")) {
    const boxes = cellsOf(row).map((cell) => cell.dataset.box);
    const waits = waiting.some((one) => boxes.includes(one.box));
    const full = cellsOf(row).every((cell) => standing.get(cell) !== "");
    row.querySelector(".mark").textContent = waits ? "…" : full ? "✓" : "";
  }
  const lines = all.filter((one) => one.refused).map((one) => `${one.said}: ${filled(words.refused, { reason: one.refused })}`);
  if (sender.state === "signed_out") lines.push(words.signed_out);
  if (waiting.length && sender.state !== "idle") {
    lines.push(waiting.length === 1 ? words.waiting_one : filled(words.waiting_many, { n: waiting.length }));
  }
  if (lines.join() === notices.dataset.said) return;
  notices.dataset.said = lines.join();
  notices.replaceChildren(
    ...lines.map((line) => Object.assign(document.createElement("p"), { className: "notice", textContent: line })),
  );
}

function go(from, by) {
  const at = cells.indexOf(from) + by;
  if (at >= 0 && at < cells.length) {
    cells[at].focus();
    cells[at].select();
  } else if (at >= cells.length) leave(rowOf(from));
}

function upDown(from, by) {
  const column = from.closest("td").cellIndex;
  let row = rowOf(from);
  do row = by > 0 ? row.nextElementSibling : row.previousElementSibling;
  while (row && !row.cells[column]?.querySelector("input"));
  const next = row?.cells[column].querySelector("input");
  next?.focus();
  next?.select();
}

document.addEventListener("keydown", (event) => {
  const cell = event.target.closest?.(".grid input");
  if (!cell) return;
  if (event.key === "Enter") {
    event.preventDefault();
    if (asked?.cell === cell && asked.far) isRight.add(asked.far); // Enter once more: it is right
    if (settled(cell)) go(cell, event.shiftKey ? -1 : 1);
    else cell.select();
  } else if (event.key === "F2" && asked?.cell === cell && asked.tenth !== undefined) {
    event.preventDefault();
    cell.value = String(asked.tenth);
    if (settled(cell)) go(cell, 1);
  } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
    event.preventDefault();
    if (settled(cell)) upDown(cell, event.key === "ArrowDown" ? 1 : -1);
  } else if (event.key === "Escape") {
    cell.value = standing.get(cell);
    settled(cell);
  }
});
document.addEventListener("focusout", (event) => {
  const cell = event.target.closest?.(".grid input");
  if (!cell) return;
  const to = event.relatedTarget?.closest?.("tr");
  settled(cell);
  if (rowOf(cell) !== to) leave(rowOf(cell));
});
window.addEventListener("pagehide", () => document.querySelectorAll(".grid tbody tr").forEach(leave));
initials.value = kept("ovenward/by") ?? "";
initials.addEventListener("change", () => keep("ovenward/by", initials.value.trim()));

// What was typed before the page was loaded anew, and is not answered yet.
for (const one of entries.waiting().filter((entry) => entry.plan === held.plan_id)) {
  const cell = cells.find((input) => input.dataset.box === one.box);
  if (!cell) continue;
  const back = one.reading.kind === "withdrawn";
  cell.value = back ? "" : cell.dataset.field ? one.sent : clockAt(Date.parse(one.reading.at_utc), offsets);
  cell.dataset.standing = back ? "" : one.reading.id;
  standing.set(cell, cell.value);
}
tell();
sender.flush();
(cells.find((one) => one.value === "") ?? cells[0])?.focus();
