// Forms of the office: rows, cells pasted from a table, drafts that survive, files read in place.
"use strict";
(() => {
  function renumber(row, index, list) {
    for (const input of row.querySelectorAll("[name]")) {
      if (!input.name.startsWith(`${list}[`)) continue;
      input.name = `${list}[${index}]${input.name.slice(input.name.indexOf("]", list.length) + 1)}`;
      input.id = `f-${input.name.replace(/[^\p{L}\p{N}]/gu, "-")}`;
      const label = input.getAttribute("aria-label");
      if (label) input.setAttribute("aria-label", label.replace(/\d+$/, String(index + 1)));
    }
  }

  function addRow(box) {
    const body = box.querySelector("tbody");
    const row = box.querySelector("template").content.querySelector("tr").cloneNode(true);
    const used = [...body.querySelectorAll("[name]")].map((one) => Number(one.name.slice(box.dataset.grid.length + 1).split("]")[0]));
    renumber(row, used.length ? Math.max(...used) + 1 : 0, box.dataset.grid);
    body.append(row);
    return row;
  }

  const inputsOf = (row) => [...row.querySelectorAll("input:not([type=hidden]), select")];

  function put(input, text) {
    if (input.tagName === "SELECT") {
      const wanted = text.trim().toLowerCase();
      const found = [...input.options].find((one) => one.value.toLowerCase() === wanted || one.text.trim().toLowerCase() === wanted);
      if (found) input.value = found.value;
      else if (wanted) { input.add(new Option(text.trim(), text.trim(), true, true)); }
    } else if (input.type === "checkbox") input.checked = /^(1|x|y|yes|true|ja|si|sí)$/i.test(text.trim());
    else input.value = text.trim();
    input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  document.addEventListener("paste", (event) => {
    const box = event.target.closest && event.target.closest("[data-grid]");
    const text = event.clipboardData ? event.clipboardData.getData("text/plain") : "";
    if (!box || !/[\t\n]/.test(text.replace(/\s+$/, ""))) return;
    event.preventDefault();
    const lines = text.replace(/\r/g, "").replace(/\n+$/, "").split("\n");
    let row = event.target.closest("tr");
    const column = inputsOf(row).indexOf(event.target);
    for (const line of lines) {
      if (!row) row = addRow(box);
      const inputs = inputsOf(row);
      line.split("\t").forEach((cell, i) => { if (inputs[column + i]) put(inputs[column + i], cell); });
      row = row.nextElementSibling;
    }
  });

  document.addEventListener("click", (event) => {
    const button = event.target.closest && event.target.closest("button");
    if (!button) return;
    if (button.dataset.add !== undefined) {
      const first = inputsOf(addRow(button.closest("[data-grid]")))[0];
      if (first) first.focus();
    }
    if (button.dataset.remove !== undefined) {
      const row = button.closest("tr");
      const form = row.closest("form");
      const next = row.nextElementSibling || row.previousElementSibling;
      row.remove();
      if (next) inputsOf(next)[0].focus();
      if (form) form.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });

  // A file is read here, so that nothing but text is ever sent.
  document.addEventListener("change", (event) => {
    const from = event.target;
    if (!from.dataset || !from.dataset.into || !from.files || !from.files[0]) return;
    const reader = new FileReader();
    reader.addEventListener("load", () => { document.getElementById(from.dataset.into).value = reader.result; });
    reader.readAsText(from.files[0]);
  });

  // What was typed survives a page that could not be sent: offered again until it is stored.
  const key = (form) => `draft ${location.pathname} ${form.dataset.draft}`;
  const pairs = (form) => [...new FormData(form)].map(([name, value]) => [name, String(value)]);

  function keep(form) {
    try { sessionStorage.setItem(key(form), JSON.stringify({ seen: form.dataset.seen, pairs: pairs(form) })); } catch (_) { /* full: no draft */ }
  }

  function restore(form, draft) {
    for (const [name, value] of draft.pairs) {
      const list = name.match(/^(.*)\[(\d+)\]/);
      let input = form.elements.namedItem(name);
      const box = list && form.querySelector(`[data-grid="${CSS.escape(list[1])}"]`);
      while (!input && box && Number(list[2]) < 500) {
        const before = box.querySelectorAll("tbody tr").length;
        addRow(box);
        input = form.elements.namedItem(name);
        if (box.querySelectorAll("tbody tr").length === before || before > 500) break;
      }
      if (input && input.type !== "hidden") put(input, input.type === "checkbox" ? "x" : value);
    }
  }

  function offer(form) {
    let draft = null;
    try { draft = JSON.parse(sessionStorage.getItem(key(form)) || "null"); } catch (_) { draft = null; }
    if (!draft || form.dataset.typed !== undefined) return;
    const same = JSON.stringify(draft.pairs) === JSON.stringify(pairs(form));
    if (same || draft.seen !== form.dataset.seen) { sessionStorage.removeItem(key(form)); return; }
    const note = document.getElementById("draft-note");
    if (!note) return;
    const shown = note.content.firstElementChild.cloneNode(true);
    form.prepend(shown);
    shown.querySelector("[data-back]").addEventListener("click", () => { restore(form, draft); shown.remove(); });
    shown.querySelector("[data-forget]").addEventListener("click", () => { sessionStorage.removeItem(key(form)); shown.remove(); });
  }

  // A tablet knows where it is and how late it is there; both can be changed.
  function localDefaults() {
    for (const input of document.querySelectorAll("[data-zone]")) {
      if (!input.value) input.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";
    }
    for (const input of document.querySelectorAll("[data-soon]")) {
      if (input.value) continue;
      const soon = new Date(Math.ceil((Date.now() + 600000) / 300000) * 300000);
      input.value = `${String(soon.getHours()).padStart(2, "0")}:${String(soon.getMinutes()).padStart(2, "0")}`;
    }
  }

  document.addEventListener("DOMContentLoaded", () => {
    localDefaults();
    const wrong = document.querySelector("[data-focus]");
    if (wrong) wrong.focus();
    for (const form of document.querySelectorAll("form[data-draft]")) {
      offer(form);
      form.addEventListener("input", () => keep(form));
      form.addEventListener("submit", () => { keep(form); });
    }
  });
})();
