// The phone's service worker: one whole version of the app, kept on the phone.
//
//  1. A version is installed only when every file has arrived with the very hash listed here; otherwise the old one stays.
//  2. A new version waits. It takes over when a page sends "skipWaiting", or when no page is open any more.
//  3. Only phone addresses are answered. The clinic's pages and every interface go to the network untouched.
//  4. It never opens the journal.
"use strict";
const version = "{{VERSION}}";
const files = {{FILES}}; // address -> SHA-256 of the file, in hex; "/" is the shell
const prefix = "unsling-app-";
const mine = prefix + version;
const notes = "unsling-notes"; // "serve": the version in use; "before": the one that it took over from
const reserved = new RegExp("{{RESERVED}}");

self.addEventListener("install", (event) => event.waitUntil(install()));

async function install() {
  const cache = await caches.open(mine);
  // Files that an earlier, interrupted try has already verified are not fetched again.
  await Promise.all(Object.keys(files).map(async (path) => {
    if (!(await cache.match(path))) await take(cache, path);
  }));
}

async function take(cache, path) {
  const response = await fetch(new Request(path, { cache: "no-cache", credentials: "omit", redirect: "error" }));
  if (!response.ok) throw new Error(path + ": status " + response.status);
  const body = await response.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  const hex = Array.from(digest, (b) => b.toString(16).padStart(2, "0")).join("");
  if (hex !== files[path]) throw new Error(path + ": not the file of version " + version);
  const headers = new Headers(response.headers);
  for (const name of ["content-encoding", "content-length", "vary"]) headers.delete(name);
  await cache.put(path, new Response(body, { headers }));
}

self.addEventListener("activate", (event) => event.waitUntil(activate()));

// activate keeps the version that was in use until this one has been seen running.
async function activate() {
  const before = await read("serve");
  if (before !== mine) {
    await write("before", before);
    await write("serve", mine);
  }
  await tidy([mine, await read("before")]);
  await self.clients.claim();
}

async function tidy(keep) {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => n.startsWith(prefix) && !keep.includes(n)).map((n) => caches.delete(n)));
}

async function read(key) {
  const note = await (await caches.open(notes)).match("/" + key);
  return note ? note.text() : "";
}

async function write(key, text) {
  await (await caches.open(notes)).put("/" + key, new Response(text));
}

self.addEventListener("fetch", (event) => {
  const request = event.request;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || reserved.test(url.pathname)) return;
  if (request.mode === "navigate" && !url.pathname.split("/").pop().includes(".")) {
    event.respondWith(kept("/", request));
    return;
  }
  if (Object.hasOwn(files, url.pathname) && url.pathname !== "/") event.respondWith(kept(url.pathname, request));
});

// kept answers from the version in use, and from the network only when the browser has thrown that copy away.
async function kept(path, request) {
  let response;
  try {
    const name = (await read("serve")) || mine;
    response = await (await caches.open((await caches.has(name)) ? name : mine)).match(path);
  } catch { /* storage refused: the network may still do */ }
  return response || fetch(request);
}

self.addEventListener("message", (event) => {
  const type = event.data && event.data.type;
  const answer = (value) => { if (event.ports[0]) event.ports[0].postMessage(value); };
  const acts = {
    skipWaiting: async () => { await self.skipWaiting(); answer(true); },
    version: async () => answer(version),
    // The page has run for a while with this version: the one before is not needed any more.
    running: async () => {
      if ((await read("serve")) === mine) { await write("before", ""); await tidy([mine]); }
      answer(true);
    },
    hasBefore: async () => {
      const before = await read("before");
      answer(before !== "" && (await read("serve")) !== before && (await caches.has(before)));
    },
    useBefore: async () => { await write("serve", await read("before")); answer(true); },
  };
  if (Object.hasOwn(acts, type)) event.waitUntil(acts[type]());
});
