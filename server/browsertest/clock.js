(start) => {
  // The page's clock under a test's control. Two hands: mono (performance.now, timers) and wall (Date), which a person can set.
  const real = {
    Date: window.Date,
    now: performance.now.bind(performance),
    setTimeout: window.setTimeout.bind(window),
    raf: window.requestAnimationFrame.bind(window),
  };
  const began = real.now();
  let jumped = 0; // ms that mono is ahead of the real one
  let shift = 0; // ms that a person has moved the wall clock
  const mono = () => real.now() + jumped;
  const wall = () => Math.floor(start + (real.now() - began) + jumped + shift);

  performance.now = mono;
  window.Date = new Proxy(real.Date, {
    construct: (target, args, as) => Reflect.construct(target, args.length ? args : [wall()], as === window.Date ? target : as),
    apply: () => new real.Date(wall()).toString(),
    get: (target, key) => (key === "now" ? wall : Reflect.get(target, key)),
  });

  let nextID = 1;
  const timers = new Map();
  const add = (repeat) => (f, delay, ...args) => {
    const every = Math.max(repeat ? 1 : 0, Number(delay) || 0);
    timers.set(nextID, { due: mono() + every, every: repeat ? every : -1, f, args });
    return nextID++;
  };
  const drop = (id) => { timers.delete(id); };
  window.setTimeout = add(false);
  window.setInterval = add(true);
  window.clearTimeout = window.clearInterval = drop;
  window.requestAnimationFrame = (f) => real.raf(() => f(mono()));

  // runDue runs what is due now, earliest first, each timer once.
  function runDue() {
    const now = mono();
    const due = [...timers].filter(([, t]) => t.due <= now).sort((a, b) => a[1].due - b[1].due || a[0] - b[0]);
    for (const [id, t] of due) {
      if (!timers.has(id)) continue;
      if (t.every < 0) timers.delete(id);
      else t.due = now + t.every;
      try {
        if (typeof t.f === "function") t.f(...t.args);
      } catch (err) {
        real.setTimeout(() => { throw err; }, 0); // reported as the browser would
      }
    }
  }
  const breathe = () => new Promise((r) => { const c = new MessageChannel(); c.port1.onmessage = () => { c.port1.close(); r(); }; c.port2.postMessage(0); });
  (function tick() {
    runDue();
    real.setTimeout(tick, 4);
  })();

  window.testClock = {
    // advance jumps in steps of at most stride ms, with a rest after each in which promises and the program come to their turn.
    async advance(ms, stride = 50) {
      for (let left = ms; left > 0;) {
        const step = Math.min(left, stride);
        jumped += step;
        left -= step;
        runDue();
        await breathe();
        await breathe();
      }
      return wall();
    },
    setDate(ms) { shift += ms - wall(); },
  };
}
