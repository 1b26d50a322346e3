"use strict";
(function () {
  document.documentElement.classList.add("js");
  const svg = document.getElementById("drawing");
  const board = document.getElementById("board");
  const parts = new Map();
  for (const part of document.querySelectorAll(".part")) { parts.set(part.dataset.id, part); }
  const prefix = "wetside " + document.documentElement.dataset.plant + " ";

  // pinch, drag, wheel and keys move the drawing -------------------------------------------------------
  const home = svg.dataset.box.split(" ").map(Number);
  // On a narrow screen the whole would be too small to read: it starts at its upper left corner instead.
  const readable = 0.6; // pixels for a unit of the drawing
  const fits = Math.min(board.clientWidth / home[2], board.clientHeight / home[3]) >= readable;
  let box = fits ? home.slice() : [home[0], home[1], board.clientWidth / readable, board.clientHeight / readable];
  const touching = new Map();
  let moved = 0;
  function put() { svg.setAttribute("viewBox", box.join(" ")); }
  function scale() { return Math.max(box[2] / board.clientWidth, box[3] / board.clientHeight); }
  function zoom(factor, x, y) {
    const wide = Math.min(Math.max(box[2] * factor, home[2] / 40), home[2] * 2);
    const by = wide / box[2];
    const rect = board.getBoundingClientRect();
    const s = scale();
    const cx = box[0] + box[2] / 2 + (x - rect.left - rect.width / 2) * s;
    const cy = box[1] + box[3] / 2 + (y - rect.top - rect.height / 2) * s;
    box = [cx + (box[0] - cx) * by, cy + (box[1] - cy) * by, wide, box[3] * by];
    put();
  }
  function middle() { const r = board.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; }
  board.addEventListener("wheel", function (e) { e.preventDefault(); zoom(e.deltaY > 0 ? 1.15 : 1 / 1.15, e.clientX, e.clientY); }, { passive: false });
  board.addEventListener("pointerdown", function (e) { touching.set(e.pointerId, [e.clientX, e.clientY]); if (touching.size === 1) { moved = 0; } });
  board.addEventListener("pointermove", function (e) {
    const was = touching.get(e.pointerId);
    if (!was) { return; }
    const now = [e.clientX, e.clientY];
    if (touching.size === 1) {
      const s = scale();
      box[0] -= (now[0] - was[0]) * s; box[1] -= (now[1] - was[1]) * s;
      put();
    } else {
      const other = [...touching].find(function (one) { return one[0] !== e.pointerId; })[1];
      const before = Math.hypot(was[0] - other[0], was[1] - other[1]);
      const after = Math.hypot(now[0] - other[0], now[1] - other[1]);
      if (after > 0) { zoom(before / after, (now[0] + other[0]) / 2, (now[1] + other[1]) / 2); }
    }
    moved += Math.hypot(now[0] - was[0], now[1] - was[1]);
    touching.set(e.pointerId, now);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
    board.addEventListener(end, function (e) { touching.delete(e.pointerId); });
  }
  put();
  document.getElementById("closer").addEventListener("click", function () { zoom(1 / 1.4, ...middle()); });
  document.getElementById("further").addEventListener("click", function () { zoom(1.4, ...middle()); });
  document.getElementById("whole").addEventListener("click", function () { box = home.slice(); put(); });

  // a tap shows the card; its open shut-off plan lights the valves -------------------------------------
  let shown = null;
  function light() {
    for (const part of parts.values()) { part.classList.remove("lit"); }
    if (!shown) { return; }
    const plan = shown.querySelector("details[data-lights]");
    if (plan && plan.open) {
      for (const id of shown.dataset.close.split(" ")) { if (parts.has(id)) { parts.get(id).classList.add("lit"); } }
    }
  }
  function show(id, away) {
    const card = document.getElementById("card-" + id);
    if (!card) { return; }
    if (shown) { shown.classList.remove("shown"); }
    for (const part of parts.values()) { part.classList.toggle("chosen", part.dataset.id === id); }
    card.classList.add("shown");
    shown = card;
    if (away) { card.focus({ preventScroll: true }); card.scrollIntoView({ block: "nearest" }); }
    light();
  }
  function tapped(e) { const part = e.target.closest ? e.target.closest(".part") : null; return part ? part.dataset.id : null; }
  svg.addEventListener("click", function (e) { const id = tapped(e); if (id !== null && moved < 12) { show(id, false); } });
  svg.addEventListener("keydown", function (e) {
    const id = tapped(e);
    if (id !== null && (e.key === "Enter" || e.key === " ")) { e.preventDefault(); show(id, true); }
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (step) { e.preventDefault(); box[0] += step[0] * box[2] / 10; box[1] += step[1] * box[3] / 10; put(); }
    if (e.key === "+" || e.key === "-") { e.preventDefault(); zoom(e.key === "+" ? 1 / 1.2 : 1.2, ...middle()); }
  });
  document.addEventListener("toggle", light, true);
  const find = document.getElementById("find");
  find.addEventListener("change", function () {
    const wanted = find.value.trim().toLowerCase();
    for (const id of parts.keys()) { if (id.toLowerCase() === wanted) { show(id, true); } }
  });

  // remarks of a reviewer: a tap says where, the list stays in this browser and leaves as text ------------
  const remark = document.getElementById("remark");
  if (remark) {
    const at = document.getElementById("remark-at");
    const by = document.getElementById("remark-by");
    const list = document.getElementById("remark-list");
    const out = document.getElementById("remark-out");
    let written = [];
    try { written = JSON.parse(kept("remarks") || "[]"); } catch (_) { written = []; }
    const draw = function () {
      list.replaceChildren();
      written.forEach(function (one, k) {
        const line = document.createElement("li");
        line.append((one.at ? one.at + ": " : "") + one.text + " ");
        const gone = document.createElement("button");
        gone.type = "button";
        gone.append("Take back");
        gone.addEventListener("click", function () { written.splice(k, 1); store(); });
        line.append(gone);
        list.append(line);
      });
    };
    const store = function () { keep("remarks", JSON.stringify(written)); draw(); };
    svg.addEventListener("click", function (e) { const id = tapped(e); if (id !== null && moved < 12) { at.value = id; } });
    document.getElementById("remark-add").addEventListener("click", function () {
      const words = remark.value.trim();
      if (words) {
        written.push({ at: at.value.trim(), text: words, by: by.value.trim(), date: new Date().toISOString().slice(0, 10) });
        remark.value = "";
        store();
      }
    });
    document.getElementById("remark-export").addEventListener("click", function () {
      const lines = ["at,text,by,date"];
      for (const one of written) { lines.push([one.at, one.text, one.by, one.date].map(quoted).join(",")); }
      out.value = lines.join("\n") + "\n";
      out.hidden = false;
      out.focus();
      out.select();
    });
    draw();
  }

  // what is ticked and written down stays in this browser ----------------------------------------------
  function kept(key) { try { return window.localStorage.getItem(prefix + key); } catch (_) { return null; } }
  function keep(key, value) { try { window.localStorage.setItem(prefix + key, value); } catch (_) { document.getElementById("not-kept").hidden = false; } }
  for (const field of document.querySelectorAll("[data-keep]")) {
    const was = kept(field.dataset.keep);
    if (field.type === "checkbox") { field.checked = was === "yes"; } else if (was !== null) { field.value = was; }
    field.addEventListener("input", function () { keep(field.dataset.keep, field.type === "checkbox" ? (field.checked ? "yes" : "") : field.value); });
  }

  // readings leave as a small text that the window takes -----------------------------------------------
  function quoted(words) { return /[",\n]/.test(words) ? '"' + words.replace(/"/g, '""') + '"' : words; }
  document.getElementById("export").addEventListener("click", function () {
    const day = document.getElementById("day").value || new Date().toISOString().slice(0, 10);
    const lines = ["date,case,at,what,value"];
    for (const field of document.querySelectorAll("input[data-at]")) {
      const value = field.value.trim();
      if (value) {
        const typed = /[a-zA-Z]/.test(value) ? value : value + " " + field.dataset.unit;
        lines.push([day, field.dataset.case, field.dataset.at, field.dataset.what, typed].map(quoted).join(","));
      }
    }
    const out = document.getElementById("exported");
    out.value = lines.join("\n") + "\n";
    out.hidden = false;
    out.focus();
    out.select();
  });
})();
