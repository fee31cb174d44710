// The editor of a protocol is checked while somebody types. Without this file
// the button "Check it" does the same.
"use strict";

(() => {
  const area = document.querySelector("textarea[data-check]");
  const list = document.getElementById("live");
  if (!area || !list) return;
  let timer = 0;
  let asked = 0;

  const select = line => {
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.focus();
    area.setSelectionRange(start, start + (lines[line - 1] ?? "").length);
    const height = parseFloat(getComputedStyle(area).lineHeight) || 20;
    area.scrollTop = Math.max(0, (line - 4) * height);
  };

  const show = faults => {
    list.hidden = false;
    list.replaceChildren();
    const head = document.createElement("p");
    head.textContent = faults.length === 0 ? "No faults." : faults.length === 1 ? "1 fault" : faults.length + " faults";
    list.append(head);
    const ol = document.createElement("ul");
    for (const f of faults.slice(0, 20)) {
      const li = document.createElement("li");
      const go = document.createElement("button");
      go.type = "button";
      go.textContent = "Line " + f.line;
      go.addEventListener("click", () => select(f.line));
      li.append(go, " " + f.path + " " + f.reason);
      ol.append(li);
    }
    if (faults.length > 0) list.append(ol);
  };

  const check = async () => {
    const mine = ++asked;
    if (area.value.trim() === "") { list.hidden = true; return; }
    try {
      const answer = await fetch("/clinic/protocols/check", { method: "POST", body: new URLSearchParams({ text: area.value }), redirect: "error" });
      if (!answer.ok || mine !== asked) return;
      const { faults } = await answer.json();
      if (mine === asked) show(faults);
    } catch { /* the button still works */ }
  };

  area.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(check, 600); });
  if (area.value.trim() !== "") check();
})();
