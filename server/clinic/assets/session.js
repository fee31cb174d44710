// The session of a page that stays open: warns before it ends, locks the page
// when it has ended, and takes along what was being written.
"use strict";

(() => {
  const body = document.body.dataset;
  if (!("left" in body)) return;
  const warnAt = 120, say = document.getElementById("ending");
  let ends = Date.now() + body.left * 1000, last = Date.now() + body.end * 1000, active = 0, timer, dirty = null;

  addEventListener("keydown", () => { active = Date.now(); });
  addEventListener("input", e => { active = Date.now(); dirty = e.target.closest("form[method=post]") ?? dirty; });

  const send = (to, fields) => {
    const form = Object.assign(document.createElement("form"), { method: "post", action: to, hidden: true });
    for (const [name, value] of Object.entries(fields)) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
    document.body.append(form);
    form.submit();
  };

  const lock = () => {
    document.querySelector("main").hidden = true;
    const page = location.pathname + location.search;
    const text = dirty?.isConnected ? new URLSearchParams([...new FormData(dirty)].filter(([name, value]) => name !== "once" && typeof value === "string")).toString() : "";
    const to = dirty ? new URL(dirty.getAttribute("action") ?? "", location.href) : location;
    send("/clinic/lock", { page, to: to.pathname + to.search, body: text, once: dirty?.elements.once?.value ?? "" });
  };

  const ask = async how => {
    const res = await fetch(how === "POST" ? "/clinic/stay" : "/clinic/session", { method: how });
    if (!res.ok || res.redirected) return { left: 0, end: 0, who: "" };
    return res.json();
  };

  const check = async renew => {
    clearTimeout(timer);
    let now;
    try {
      now = await ask(renew ? "POST" : "GET");
      if (!renew && now.left > 0 && now.left <= warnAt && now.end > warnAt && Date.now() - active < 60_000) now = await ask("POST");
    } catch { // no network: the page's own clock decides
      now = { left: (ends - Date.now()) / 1000, end: (last - Date.now()) / 1000, who: body.who };
    }
    if (now.left <= 0) return lock();
    if (now.who !== body.who) return location.assign("/clinic/");
    ends = Date.now() + now.left * 1000;
    last = Date.now() + now.end * 1000;
    tick();
  };

  const tick = () => {
    const left = Math.round((ends - Date.now()) / 1000);
    clearTimeout(timer);
    say.hidden = left > warnAt;
    if (left <= 0) { timer = setTimeout(check, 1000); return; }
    if (left > warnAt) { timer = setTimeout(check, Math.min(left - warnAt + 1, 3600) * 1000); return; }
    const forGood = last - ends < 1000;
    say.querySelector("button").hidden = forGood;
    const minutes = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
    say.querySelector("[data-clock]").textContent = forGood ? `Your sign-in ends in ${minutes} in any case. Save what you are doing; what is being written is kept for you.` : `You will be signed out in ${minutes}, because nothing was done for a while.`;
    timer = setTimeout(tick, 1000);
  };

  say.querySelector("button").addEventListener("click", () => check(true));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) check(); });
  addEventListener("pageshow", e => { if (e.persisted) check(); });
  tick();
})();

// A form that waited while the person signed in again.
(async () => {
  const sent = document.querySelector("form[data-send]");
  if (sent) return sent.requestSubmit();
  const waiting = document.querySelector("form[data-kept]");
  if (waiting) {
    sessionStorage.setItem("kept", JSON.stringify({ page: waiting.dataset.page, kept: waiting.dataset.kept }));
    return location.replace(waiting.dataset.page);
  }
  const stored = sessionStorage.getItem("kept"); // sealed for one person
  if (!stored) return;
  const { page, kept } = JSON.parse(stored);
  if (page !== location.pathname + location.search) return;
  sessionStorage.removeItem("kept");
  const res = await fetch("/clinic/kept", { method: "POST", body: new URLSearchParams({ kept }) });
  if (!res.ok) return;
  const { to, fields } = await res.json();
  const form = [...document.querySelectorAll("form[method=post]")].find(f => {
    const at = new URL(f.getAttribute("action") ?? "", location.href);
    return at.pathname + at.search === to && Object.keys(fields).every(name => name === "act" || f.elements[name]);
  });
  if (!form) return;
  for (let box = form.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  for (const f of form.elements) {
    if (!f.name || f.name === "once" || f.type === "hidden") continue;
    const values = fields[f.name] ?? [];
    if (f.type === "checkbox" || f.type === "radio") f.checked = values.includes(f.value);
    else if (values.length) f.value = values.shift();
    f.dispatchEvent(new Event("input", { bubbles: true }));
  }
  const note = Object.assign(document.createElement("p"), { className: "note warn", textContent: "What you wrote before you were signed out is back in the form. It has not been sent yet." });
  note.setAttribute("role", "status");
  form.before(note);
  form.scrollIntoView({ block: "center" });
})();
