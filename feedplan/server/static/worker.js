// Keeps the last pages read, so that the round opens without a connection. The page itself shows how old it is.
"use strict";
const CACHE = "feedplan-{{cache}}";
const ASSETS = ["{{assets}}"];
const PATIENCE_MS = 4000;
const NOT_HERE = "not-here.html";
const DAY = "kept-for-the-day";
// Their script answers what their address asks; any other page is right only under its whole address.
const ANSWERS_ITSELF = ["sink.html", "trees.html"];

self.addEventListener("install", (event) => {
  const first = ["./", NOT_HERE, ...ANSWERS_ITSELF, "app.webmanifest", ...ASSETS];
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(first)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const mine = (name) => name.startsWith("feedplan-") && name !== CACHE;
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(names.filter(mine).map((name) => caches.delete(name))))
      .then(() => self.clients.claim())
  );
});

// The page sends the days that are one tap away, to be kept as well: once a day, and those that are not here yet.
async function keepDays(day, pages) {
  const cache = await caches.open(CACHE);
  const last = await (await cache.match(DAY))?.text();
  const scope = self.registration.scope;
  for (const page of pages.filter((each) => new URL(each, scope).href.startsWith(scope))) {
    if (last !== day || !(await cache.match(page))) await cache.add(page).catch(() => {});
  }
  await cache.put(DAY, new Response(day));
}
self.addEventListener("message", (event) => event.waitUntil(keepDays(event.data.day, event.data.pages)));

function bare(request) {
  const url = new URL(request.url);
  url.search = "";
  url.hash = "";
  return url.href;
}

async function fresh(request) {
  const answer = await fetch(request);
  if (answer.status >= 500) throw new Error("the server cannot answer");
  // A page with a question in its address is for this moment; what to keep is the page without it.
  if (answer.ok && bare(request) === request.url.split("#")[0]) await (await caches.open(CACHE)).put(request.url, answer.clone());
  return answer;
}

// The headers of an answer whose text is no longer packed.
function plain(answer) {
  const headers = new Headers(answer.headers);
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
  return headers;
}

// The page kept under this address, never another.
function kept(request) {
  const isItself = ANSWERS_ITSELF.some((name) => bare(request).endsWith(`/${name}`));
  return caches.match(isItself ? bare(request) : request.url.split("#")[0]);
}

async function notHere(request, problem) {
  const missing = request.mode === "navigate" && await caches.match(NOT_HERE);
  if (!missing) throw problem;
  return new Response(await missing.text(), { status: 503, headers: plain(missing) });
}

// A kept page says of when it is.
async function dated(found, request) {
  if (request.mode !== "navigate") return found;
  const text = (await found.text()).replace("<body", `<body data-kept="${found.headers.get("Date") || ""}"`);
  return new Response(text, { headers: plain(found) });
}

// A slow server is waited for where nothing is kept, and what it sends late is kept for the next time.
async function answer(request) {
  const coming = fresh(request);
  coming.catch(() => {});
  const found = await kept(request);
  if (!found) return coming.catch((problem) => notHere(request, problem));
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS));
  return (await Promise.race([coming.catch(() => null), late])) || dated(found, request);
}

self.addEventListener("fetch", (event) => {
  const request = event.request;
  if (request.method !== "GET" || /\.(ics|json)(\?|$)/.test(request.url) || request.url.endsWith("/health")) return;
  const isAsset = ASSETS.some((name) => request.url.endsWith("/" + name));
  event.respondWith(isAsset ? kept(request).then((found) => found || fresh(request)) : answer(request));
});
