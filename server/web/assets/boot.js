// Starts the phone's program and watches it. When the program cannot start, or has stopped, this file says so in words,
// offers to open it again, and shows the clinic's number if the phone knows it.
//
// For the program (package wasm/device) it leaves window.unslingBoot:
//   version       of the files that this page was started with
//   registration  a promise of the service worker's registration, or of null
//   install       the browser's deferred install prompt, or null; "unsling-install" is sent to window when it changes
//   stopped       true once the program is gone
// From the program it reads localStorage: "unsling.clinic" = {"name","phone"} and "unsling.lang" = "en" or "es".
"use strict";
(() => {
  const version = "{{VERSION}}";
  const wasmBytes = {{WASMBYTES}};
  const words = {
    en: {
      loading: "Getting ready",
      slow: "This takes longer than usual. The connection may be weak.",
      noLoad: "The app could not be loaded. Check the connection, then try again.",
      old: "This browser is too old for the app. Update it, or use another phone.",
      stopped: "The app has stopped.",
      kept: "What it showed as kept is still on this phone. Open it again to go on. Do not start an exercise until it runs.",
      reload: "Open again",
      before: "Use the version from before",
      clinic: "Your clinic",
      worry: "Worried about your shoulder? Ring your clinic.",
    },
    es: {
      loading: "Preparando",
      slow: "Tarda más de lo normal. La conexión puede ser débil.",
      noLoad: "No se pudo cargar la aplicación. Revise la conexión e inténtelo de nuevo.",
      old: "Este navegador es demasiado antiguo. Actualícelo o use otro teléfono.",
      stopped: "La aplicación se ha detenido.",
      kept: "Lo que mostró como guardado sigue en este teléfono. Ábrala de nuevo para seguir. No empiece ningún ejercicio hasta que funcione.",
      reload: "Abrir de nuevo",
      before: "Usar la versión anterior",
      clinic: "Su clínica",
      worry: "¿Le preocupa el hombro? Llame a su clínica.",
    },
  };
  // Where storage is switched off, merely looking at it throws, and inside the program that would end it. It gets a store that
  // forgets, or none.
  const forgetful = () => {
    const kept = new Map();
    return {
      getItem: (k) => (kept.has(k) ? kept.get(k) : null), setItem: (k, v) => { kept.set(k, String(v)); },
      removeItem: (k) => { kept.delete(k); }, clear: () => { kept.clear(); },
      key: (i) => [...kept.keys()][i] ?? null, get length() { return kept.size; },
    };
  };
  for (const [name, instead] of [["localStorage", forgetful], ["sessionStorage", forgetful], ["indexedDB", () => undefined]]) {
    try { void window[name]; } catch { Object.defineProperty(window, name, { value: instead(), configurable: true }); }
  }
  const stored = (key) => { try { return localStorage.getItem(key); } catch { return null; } };
  const lang = words[stored("unsling.lang")] ? stored("unsling.lang") : (navigator.language || "en").slice(0, 2);
  const say = words[lang] || words.en;
  const at = (id) => document.getElementById(id);
  const shell = at("shell");
  const boot = { version, registration: Promise.resolve(null), install: null, stopped: false, mounted: false };
  window.unslingBoot = boot;
  document.documentElement.lang = words[lang] ? lang : "en";

  // --- the screen before and after ---
  function show(text, more) {
    shell.hidden = false;
    at("shell-text").textContent = text;
    at("shell-more").textContent = more || "";
    at("shell-more").hidden = !more;
  }
  function clinicNumber() {
    let clinic = null;
    try { clinic = JSON.parse(stored("unsling.clinic")); } catch { /* damaged: no number */ }
    if (!clinic || typeof clinic.phone !== "string" || clinic.phone === "") return;
    const link = document.createElement("a");
    link.href = "tel:" + clinic.phone.replace(/[^0-9+*#]/g, "");
    link.textContent = clinic.phone;
    const line = at("shell-clinic");
    const br = () => document.createElement("br");
    line.replaceChildren(say.worry, br(), (typeof clinic.name === "string" && clinic.name) || say.clinic, br(), link);
    line.hidden = false;
  }
  function offerReload() {
    const button = at("shell-reload");
    button.textContent = say.reload;
    button.hidden = false;
    button.onclick = reload;
  }
  async function offerBefore() {
    // Only where the program never came up: a version that ran once is not at fault for a later stop.
    if (boot.mounted || !(await ask("hasBefore"))) return;
    const button = at("shell-before");
    button.textContent = say.before;
    button.hidden = false;
    button.onclick = async () => { await ask("useBefore"); location.reload(); };
  }
  function stop(text, more) {
    if (boot.stopped) return;
    boot.stopped = true;
    window.onclick = null; // the dead program's handler would swallow the tap on the number
    at("shell-progress").hidden = true;
    shell.setAttribute("role", "alert");
    show(text, more);
    clinicNumber();
    offerReload();
    offerBefore();
    look();
  }

  // --- the service worker ---
  // ask sends the active worker a message and waits at most two seconds for its answer.
  function ask(type) {
    const worker = navigator.serviceWorker && navigator.serviceWorker.controller;
    if (!worker) return Promise.resolve(null);
    return new Promise((resolve) => {
      const channel = new MessageChannel();
      channel.port1.onmessage = (event) => resolve(event.data);
      setTimeout(() => resolve(null), 2000);
      worker.postMessage({ type }, [channel.port2]);
    });
  }
  const atMost = (ms, promise) => Promise.race([promise, new Promise((r) => setTimeout(r, ms))]);
  // installed resolves when the version that is just arriving is whole, or given up.
  const installed = (worker) => new Promise((resolve) => {
    worker.addEventListener("statechange", () => { if (worker.state !== "installing") resolve(); });
  });
  // look asks for a newer version, once. It begins when the program stops, so that the tap need not wait long.
  let looking = null;
  const look = () => (looking ??= boot.registration.then((r) => r && r.update()).catch(() => null));
  // reload takes a newer version along, if there is one: after a stop nobody else can let it in.
  async function reload() {
    at("shell-reload").disabled = true;
    const again = () => location.reload();
    try {
      const registration = await boot.registration;
      if (registration) {
        await atMost(5000, look());
        if (registration.installing) {
          show(say.loading);
          await atMost(20000, installed(registration.installing));
        }
        if (registration.waiting) {
          navigator.serviceWorker.addEventListener("controllerchange", again);
          registration.waiting.postMessage({ type: "skipWaiting" });
          setTimeout(again, 3000);
          return;
        }
      }
    } catch { /* reload all the same */ }
    again();
  }
  if ("serviceWorker" in navigator) {
    boot.registration = navigator.serviceWorker
      .register("/worker.js", { updateViaCache: "none" })
      .catch((err) => { console.warn("no offline copy:", err.name); return null; });
  }
  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    boot.install = event;
    window.dispatchEvent(new Event("unsling-install"));
  });
  window.addEventListener("appinstalled", () => {
    boot.install = null;
    window.dispatchEvent(new Event("unsling-install"));
  });

  // --- the program ---
  const dead = (what) => {
    const text = String((what && what.message) || what);
    return (window.WebAssembly && what instanceof WebAssembly.RuntimeError) || text.includes("Go program has already exited");
  };
  window.addEventListener("error", (event) => { if (dead(event.error || event.message)) stop(say.stopped, say.kept); });
  window.addEventListener("unhandledrejection", (event) => { if (dead(event.reason)) stop(say.stopped, say.kept); });

  function watchMount() {
    const observer = new MutationObserver(() => {
      if (at("app")) return;
      observer.disconnect();
      boot.mounted = true;
      if (boot.stopped) return;
      shell.hidden = true;
      setTimeout(() => { if (!boot.stopped) ask("running"); }, 10000);
    });
    observer.observe(document.body, { childList: true });
  }
  // counted passes the body through and moves the bar; the length is that of the program itself, since what the network
  // reports is the compressed one.
  function counted(response) {
    let loaded = 0;
    const bar = at("shell-progress");
    const count = new TransformStream({
      transform(chunk, out) {
        loaded += chunk.byteLength;
        bar.value = Math.min(100, Math.round((loaded * 100) / wasmBytes));
        out.enqueue(chunk);
      },
    });
    return new Response(response.body.pipeThrough(count), { status: response.status, headers: { "Content-Type": "application/wasm" } });
  }
  async function fetchProgram() {
    const response = await fetch("/app.wasm");
    if (!response.ok) throw new Error("status " + response.status);
    const fromPhone = navigator.serviceWorker && navigator.serviceWorker.controller;
    return fromPhone || !window.TransformStream || !response.body ? response : counted(response);
  }
  async function instantiate(imports) {
    if (WebAssembly.instantiateStreaming) return WebAssembly.instantiateStreaming(fetchProgram(), imports);
    return WebAssembly.instantiate(await (await fetchProgram()).arrayBuffer(), imports);
  }
  async function start() {
    show(say.loading);
    if (!window.WebAssembly || !window.Go) { stop(say.old); return; }
    const slow = setTimeout(() => { if (!boot.mounted && !boot.stopped) { show(say.loading, say.slow); clinicNumber(); offerReload(); } }, 30000);
    watchMount();
    const go = new window.Go();
    go.env = { UNSLING_VERSION: version };
    let program;
    try {
      program = await instantiate(go.importObject);
    } catch (err) {
      clearTimeout(slow);
      console.warn("program not loaded:", err && err.name);
      stop(say.noLoad);
      return;
    }
    try {
      await go.run(program.instance);
    } catch (err) {
      console.warn("program stopped:", err && err.name);
    }
    clearTimeout(slow);
    stop(say.stopped, say.kept);
  }
  start();
})();
