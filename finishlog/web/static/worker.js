"use strict";
// Keeps the pages of the next days for where there is no signal, and sends what waits when the signal is back.
importScripts("/static/queue.js");

const PAGES = "pages", PARTS = "parts-1", PATIENCE_MS = 3000, OLDEST_MS = 3 * 86400000, FRESH_MS = 1800000;
const STATIC = ["style.css", "queue.js", "phone.js", "waiting.js", "icon.svg"].map((name) => `/static/${name}`);
const shownFrom = new Map(); // the tab's id: when the copy that it shows was made

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(PARTS).then((cache) => cache.addAll(STATIC)));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const at = new URL(event.request.url);
  if (at.origin !== self.location.origin) return;
  if (event.request.method === "POST" && at.pathname === "/out") event.waitUntil(caches.delete(PAGES));
  if (event.request.method !== "GET") return;
  if (event.request.mode === "navigate") event.respondWith(page(event, at));
  else if (at.pathname.startsWith("/static/")) event.respondWith(part(event.request));
});

async function page(event, at) {
  const kept = await copy(at);
  try {
    const answer = await fetched(event.request, kept ? PATIENCE_MS : 10 * PATIENCE_MS);
    if (answer.type === "opaqueredirect" && at.pathname !== "/in") await caches.delete(PAGES); // signed out
    else if (answer.ok && mayKeep(at) && kept) await keep(at, answer.clone()); // one of those kept: anew
    return answer;
  } catch {
    if (!kept) return none();
    shownFrom.set(event.resultingClientId, Number(kept.headers.get("x-kept")));
    return kept;
  }
}

async function part(request) {
  try {
    const answer = await fetched(request, PATIENCE_MS);
    if (answer.ok) await (await caches.open(PARTS)).put(request, answer.clone());
    return answer;
  } catch (failure) {
    const kept = await caches.match(request, { ignoreSearch: true });
    if (kept) return kept;
    throw failure;
  }
}

function fetched(request, ms) {
  return new Promise((done, fail) => {
    const timer = setTimeout(() => fail(new Error("no answer")), ms);
    fetch(request).then(done, fail).finally(() => clearTimeout(timer));
  });
}

async function copy(at) {
  if (at.pathname === "/find" && at.searchParams.get("words")) return undefined; // the newest jobs are no answer
  const kept = await (await caches.open(PAGES)).match(nameOf(at));
  return kept && Date.now() - Number(kept.headers.get("x-kept")) < OLDEST_MS ? kept : undefined;
}

// A form of one area is another page than that of the whole job; an answer such as ?entry=7 is not.
function nameOf(at) {
  return ["area", "due"].some((name) => at.searchParams.has(name)) ? at.pathname + at.search : at.pathname;
}

function mayKeep(at) {
  return nameOf(at) === at.pathname + at.search && !at.pathname.startsWith("/in");
}

async function keep(at, answer) {
  const headers = new Headers(answer.headers);
  headers.set("x-kept", String(Date.now()));
  await (await caches.open(PAGES)).put(nameOf(at), new Response(await answer.blob(), { headers }));
}

// All that the log names for the next days; what is fresh is left, what is not named any more goes.
async function keepAll() {
  const asked = await fetch("/keep.json", { cache: "no-store" });
  if (asked.status === 401) await caches.delete(PAGES);
  if (!asked.ok) return;
  const { pages } = await asked.json(), cache = await caches.open(PAGES);
  for (const request of await cache.keys()) {
    if (!pages.includes(nameOf(new URL(request.url)))) await cache.delete(request);
  }
  for (const path of pages) {
    const there = await cache.match(path);
    if (there && Date.now() - Number(there.headers.get("x-kept")) < FRESH_MS) continue;
    const answer = await fetch(path, { cache: "no-store", redirect: "manual" });
    if (answer.type === "opaqueredirect") return void (await caches.delete(PAGES));
    if (answer.ok) await keep(new URL(path, self.location), answer);
  }
}

function none() {
  const text = `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>No signal · finishlog</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="stylesheet" href="/static/style.css"></head>
<body><main><h1>No signal</h1><p>This page is not kept on this phone. What waits here is sent when the signal is back.</p>
<p class="acts"><a class="button" href="/">Today</a><a class="button" href="/waiting">Waiting</a></p></main></body></html>`;
  return new Response(text, { status: 503, headers: { "content-type": "text/html; charset=utf-8" } });
}

let keeping = null;
self.addEventListener("message", (event) => {
  if (event.data === "keep") {
    keeping ||= keepAll().catch(() => {}).finally(() => (keeping = null));
    event.waitUntil(keeping);
  }
  if (event.data === "forget") event.waitUntil(caches.delete(PAGES));
  if (event.data === "age") event.ports[0].postMessage(shownFrom.get(event.source.id) || 0);
});

self.addEventListener("sync", (event) => {
  if (event.tag !== "send") return;
  event.waitUntil(queue.flush().then((how) => {
    if (how === "out") return caches.delete(PAGES);
    if (["later", "away", "stuck"].includes(how)) throw new Error(how); // the browser tries again
  }));
});
