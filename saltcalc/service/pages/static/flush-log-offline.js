// Opens the empty log without a connection; its entries come from the browser.
"use strict";
const CACHE = "flush-log-1";
const FILES = ["/flush-log", "/pages/page.css", "/pages/flush-log.js"];
self.addEventListener("install", event => {
  event.waitUntil(caches.open(CACHE).then(cache => cache.addAll(FILES)));
});
self.addEventListener("fetch", event => {
  const asked = event.request;
  if (asked.method !== "GET") return;
  event.respondWith(
    fetch(asked).then(
      async got => {
        const path = new URL(asked.url).pathname;
        if (got.ok && FILES.includes(path)) (await caches.open(CACHE)).put(path, got.clone());
        return got;
      },
      async () => (await caches.match(new URL(asked.url).pathname)) || Response.error(),
    ),
  );
});
