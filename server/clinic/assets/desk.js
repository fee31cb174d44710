// What the desk's pages gain from a script. None of them needs it.
"use strict";

document.documentElement.classList.add("js");

// j and k walk through the rows of a list, a opens what can be done about one,
// and the slash goes to the search.
(() => {
  const rows = () => [...document.querySelectorAll("[data-walk]")];
  const typing = e => e.target.closest("input, select, textarea, [contenteditable]");
  document.addEventListener("keydown", e => {
    if (e.ctrlKey || e.metaKey || e.altKey || typing(e)) return;
    const all = rows();
    const at = all.findIndex(r => r.contains(document.activeElement));
    const go = i => {
      const row = all[Math.max(0, Math.min(all.length - 1, i))];
      (row?.querySelector("a") ?? row)?.focus();
      row?.scrollIntoView({ block: "nearest" });
    };
    switch (e.key) {
      case "j": go(at + 1); break;
      case "k": go(at < 0 ? 0 : at - 1); break;
      case "a": all[at]?.querySelector("[data-act]")?.click(); break;
      case "/": document.querySelector("input[type=search]")?.focus(); break;
      default: return;
    }
    e.preventDefault();
  });
})();

// At the bench the Enter key goes to the next cell, and sends from the last.
for (const table of document.querySelectorAll("[data-cells]")) {
  table.addEventListener("keydown", e => {
    if (e.key !== "Enter" || !e.target.matches("input, select")) return;
    const cells = [...table.querySelectorAll("[data-cell]")];
    const next = cells[cells.indexOf(e.target) + 1];
    if (!next) return;
    e.preventDefault();
    next.focus();
    next.select?.();
  });
}

// Charts say the reading under the pointer or the finger below the picture.
for (const pic of document.querySelectorAll(".pic")) {
  if (!pic.querySelector(".chart-mark")) continue;
  const out = document.createElement("p");
  out.className = "readout noprint";
  out.setAttribute("aria-hidden", "true"); // the table below says the same
  pic.querySelector(".narrowonly")?.after(out);
  const tell = e => {
    const svg = e.target.closest("svg");
    if (!svg) return;
    let best = null, least = 28;
    for (const m of svg.querySelectorAll(".chart-mark")) {
      const r = m.getBoundingClientRect();
      const far = Math.hypot(r.x + r.width / 2 - e.clientX, r.y + r.height / 2 - e.clientY);
      if (far < least) { least = far; best = m; }
    }
    out.textContent = best?.querySelector("title")?.textContent ?? "";
  };
  pic.addEventListener("pointermove", tell);
  pic.addEventListener("pointerdown", tell);
}
