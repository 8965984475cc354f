// Keeps the last pages read, so that the round opens without a connection. The page itself shows how old it is.
"use strict";
const CACHE = "feedplan-{{cache}}";
const ASSETS = ["{{assets}}"];
const PATIENCE_MS = 4000;

self.addEventListener("install", (event) => {
  const first = ["./", "sink.html", "trees.html", "app.webmanifest", ...ASSETS];
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

// The page sends the days that are one tap away, to be kept as well.
self.addEventListener("message", (event) => {
  const inScope = event.data.filter((page) => new URL(page, self.registration.scope).href.startsWith(self.registration.scope));
  event.waitUntil(caches.open(CACHE).then((cache) => Promise.allSettled(inScope.map((page) => cache.add(page)))));
});

function bare(request) {
  const url = new URL(request.url);
  url.search = "";
  url.hash = "";
  return url.href;
}

async function fresh(request) {
  const answer = await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
  if (answer.status >= 500) throw new Error("the server cannot answer");
  if (answer.ok) {
    const cache = await caches.open(CACHE);
    // A page with a question in its address is for this moment; what to keep is the page without it.
    if (bare(request) === request.url) await cache.put(request.url, answer.clone());
    else if (request.mode === "navigate") cache.add(bare(request)).catch(() => {});
  }
  return answer;
}

async function kept(request) {
  return (await caches.match(bare(request))) || (request.mode === "navigate" && (await caches.match("./")));
}

self.addEventListener("fetch", (event) => {
  const request = event.request;
  if (request.method !== "GET" || request.url.endsWith(".ics") || request.url.endsWith("/health")) return;
  const isAsset = ASSETS.some((name) => request.url.endsWith("/" + name));
  event.respondWith(
    isAsset
      ? kept(request).then((found) => found || fresh(request))
      : fresh(request).catch(async (problem) => {
          const found = await kept(request);
          if (found) return found;
          throw problem;
        })
  );
});
