"use strict";
// Keeps the last pages on the phone. With a network the page of now; without, the last.

const PAGES = "pages";
const PARTS = "parts-1";
const MOST_PAGES = 40;
const ALWAYS = [
  "/style.css", "/static/web.css", "/static/web.js", "/static/icon.svg", "/offline",
];
const NEVER = ["/enter", "/session.json", "/job/", "/calendar/", "/upload"];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(PARTS).then((kept) => kept.addAll(ALWAYS)).then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(
        names.filter((name) => name !== PAGES && name !== PARTS).map((name) => caches.delete(name)),
      ))
      .then(() => self.clients.claim()),
  );
});

async function prune(kept) {
  const pages = await kept.keys();
  await Promise.all(pages.slice(0, Math.max(0, pages.length - MOST_PAGES)).map((one) => kept.delete(one)));
}

async function keep(request, answer) {
  if (answer.status !== 200 || answer.redirected) return;
  const isPart = new URL(request.url).pathname.startsWith("/static/") || request.url.endsWith("/style.css");
  const kept = await caches.open(isPart ? PARTS : PAGES);
  await kept.delete(request.url);
  await kept.put(request.url, answer);
  if (!isPart) await prune(kept);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  if (NEVER.some((start) => address.pathname.startsWith(start))) return;
  event.respondWith(
    fetch(request).then(
      (answer) => {
        event.waitUntil(keep(request, answer.clone()));
        return answer;
      },
      async () => (await caches.match(request.url)) || (await caches.match("/offline")),
    ),
  );
});
