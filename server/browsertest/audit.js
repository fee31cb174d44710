(() => {
  // What every screen must have, measured on the page as it is drawn. Each function gives a list of sentences, empty when all
  // is well.
  const visible = (el) => {
    const r = el.getBoundingClientRect(), s = getComputedStyle(el);
    return r.width > 0 && r.height > 0 && s.visibility !== "hidden" && el.checkVisibility() && !el.closest(".unseen");
  };
  const name = (el) => el.tagName.toLowerCase() + (el.id ? "#" + el.id : "") + (typeof el.className === "string" && el.className ? "." + el.className.trim().split(/\s+/).join(".") : "");
  const px = (n) => Math.round(n * 10) / 10;
  // scrolls is the part around an element that may be wider than the window, since it scrolls by itself (WCAG 2.2, 1.4.10: tables).
  const scrolls = (el) => { for (let e = el; e; e = e.parentElement) if (/auto|scroll/.test(getComputedStyle(e).overflowX)) return e; return null; };

  // targets: 24 px for all (WCAG 2.2, 2.5.8), 48 px for what acts (design of this app).
  function targets() {
    const out = [];
    for (const el of document.querySelectorAll("button, a[href], input, textarea, select, summary, [role=button], [role=slider]")) {
      if (!visible(el) || el.type === "file") continue;
      const r = el.getBoundingClientRect();
      const least = el.matches("button, .call-link, .button, summary, textarea, input[type=text]") ? 48 : 24;
      if (r.width < least - 0.5 || r.height < least - 0.5) out.push(`${name(el)} is ${px(r.width)} x ${px(r.height)} px, want ${least}`);
    }
    return out;
  }

  // reflow: nothing beside the window, nothing cut off, no text outside of its box.
  function reflow() {
    const out = [], wide = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > wide) out.push(`the page is ${document.documentElement.scrollWidth} px wide in a window of ${wide}`);
    for (const el of document.querySelectorAll(".phone *")) {
      if (!visible(el) || el.ownerSVGElement || el.closest("foreignObject")) continue;
      const r = el.getBoundingClientRect();
      if ((r.right > wide + 1 || r.left < -1) && !scrolls(el) && !el.closest(".bar")) out.push(`${name(el)} reaches from ${px(r.left)} to ${px(r.right)} in a window of ${wide}`);
      if (!el.matches("button, p, h1, h2, h3, li, dt, dd, span, label, summary, .call-link")) continue;
      if (el.scrollWidth > el.clientWidth + 1 && el.clientWidth > 0 && getComputedStyle(el).display !== "inline" && !scrolls(el)) {
        out.push(`${name(el)}: words stand out of it by ${el.scrollWidth - el.clientWidth} px: ${el.innerText.slice(0, 40)}`);
      }
      if (el.matches("button") && el.scrollHeight > el.clientHeight + 2) out.push(`${name(el)}: words are higher than it by ${el.scrollHeight - el.clientHeight} px: ${el.innerText.slice(0, 40)}`);
    }
    return out;
  }

  // overlap: no two things to tap or read lie over one another. What sticks to the window's edge is looked at when scrolled past.
  function overlap() {
    const out = [];
    scrollTo(0, 0);
    const all = [...document.querySelectorAll(".phone button, .phone a[href], .phone p, .phone h1, .phone h2, .phone dt, .phone dd, .phone summary, .phone label")]
      .filter((el) => visible(el) && !el.closest(".bar") && !el.closest("details:not([open])"));
    const boxes = all.map((el) => {
      const whole = el.getBoundingClientRect(), range = document.createRange();
      if (el.matches("button, a")) return whole;
      range.selectNodeContents(el); // as wide as its words, as high as its lines
      const words = range.getBoundingClientRect();
      return { left: words.left, right: words.right, top: whole.top, bottom: whole.bottom };
    });
    for (let i = 0; i < all.length; i++) {
      for (let j = i + 1; j < all.length; j++) {
        if (all[i].contains(all[j]) || all[j].contains(all[i])) continue;
        const a = boxes[i], b = boxes[j];
        const w = Math.min(a.right, b.right) - Math.max(a.left, b.left), h = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (w > 2 && h > 6) out.push(`${name(all[i])} and ${name(all[j])} lie over one another by ${px(w)} x ${px(h)} px`);
      }
    }
    return out;
  }

  // words: nothing empty, nothing that a program says.
  function words() {
    const out = [];
    const text = document.body.innerText;
    for (const bad of ["undefined", "NaN", "%!", "[object", "<nil>", "map["]) if (text.includes(bad)) out.push(`the screen says ${bad}`);
    for (const el of document.querySelectorAll(".phone button, .phone a, .phone h1, .phone h2, .phone li, .phone p, .phone dd, .phone dt, .phone th")) {
      if (visible(el) && el.innerText.trim() === "" && !el.getAttribute("aria-label") && !el.querySelector("svg, img, progress")) out.push(`${name(el)} has no words`);
    }
    const h = [...document.querySelectorAll("h1")];
    if (h.length !== 1) out.push(`${h.length} headings of the first rank`);
    if (!document.documentElement.lang) out.push("no language");
    const live = document.querySelector("#live[role=status][aria-live=polite]");
    if (!live) out.push("no live region");
    return out;
  }

  // focusable: whatever the keyboard reaches can be seen to have the focus, and what sticks to the edges does not hide it
  // (WCAG 2.2, 2.4.7, 2.4.11).
  function focusable() {
    const out = [];
    for (const el of document.querySelectorAll("button, a[href], input:not([type=file]), textarea, summary, [tabindex='0']")) {
      if (!visible(el) || el.disabled) continue;
      el.focus({ focusVisible: true });
      if (document.activeElement !== el) { out.push(`${name(el)} does not take the focus`); continue; }
      const s = getComputedStyle(el);
      if (s.outlineStyle === "none" || parseFloat(s.outlineWidth) < 2) out.push(`${name(el)}: the focus cannot be seen`);
      const r = el.getBoundingClientRect();
      const bar = el.closest(".bar") ? null : document.querySelector(".bar");
      if (bar) {
        const b = bar.getBoundingClientRect();
        if (r.top >= b.top && r.bottom <= b.bottom && r.bottom > b.top) out.push(`${name(el)} has the focus and lies under the bar`);
      }
      if (r.bottom < 0 || r.top > innerHeight) out.push(`${name(el)} has the focus and is off the screen`);
    }
    document.activeElement?.blur?.();
    scrollTo(0, 0);
    return out;
  }

  // rules is axe-core, with what sticks to the window's edge back in its place: what lies under it is scrolled out of there.
  const flow = new CSSStyleSheet();
  flow.replaceSync(".bar { position: static !important }");
  async function rules() {
    const before = document.adoptedStyleSheets;
    document.adoptedStyleSheets = [...before, flow];
    try { return await ruled(); } finally { document.adoptedStyleSheets = before; }
  }
  async function ruled() {
    const result = await axe.run(document, { rules: { "target-size": { enabled: true } }, resultTypes: ["violations"] });
    if (result.passes.length < 8) return [`only ${result.passes.length} rules found anything to look at`];
    return result.violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.target.join(" ")}: ${(n.any[0] || n.all[0] || n.none[0] || {}).message || v.help}`));
  }

  // live is what may not move: the marks of animation.
  function moves() {
    const out = [];
    for (const a of document.getAnimations()) out.push(`${name(a.effect.target)} moves (${a.animationName || a.transitionProperty || "animation"})`);
    return out;
  }
  window.audit = { targets, reflow, overlap, words, focusable, rules, moves };
})();
