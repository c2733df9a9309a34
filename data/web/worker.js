// Beside the pages: where the bench is not reached, the app says so in its own words. It keeps that one page and its
// looks, and nothing of the book.
"use strict";

const SHELL = "bench-shell", PAGE = "/offline";

async function fill() {
  const answer = await fetch(PAGE, { credentials: "omit", cache: "no-store" });
  if (!answer.ok) throw new Error("no page to show");
  const text = await answer.clone().text();
  const looks = [...text.matchAll(/(?:href|src)="(\/look\/[^"]+\.(?:css|js|svg)\?[^"]*)"/g)].map((found) => found[1]);
  await caches.delete(SHELL);
  const shell = await caches.open(SHELL);
  await shell.put(PAGE, answer);
  await shell.addAll([...new Set(looks)]);
}

self.addEventListener("install", (event) => event.waitUntil(fill().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// Says that it was no answer of the bench: what was typed into a form that was sent stays a draft.
async function shown() {
  const page = await caches.match(PAGE);
  return page ? new Response(await page.blob(), { status: 503, headers: page.headers }) : Response.error();
}

self.addEventListener("fetch", (event) => {
  const path = new URL(event.request.url).pathname;
  if (event.request.mode === "navigate") event.respondWith(fetch(event.request).catch(shown));
  else if (path.startsWith("/look/")) event.respondWith(fetch(event.request).catch(async () => (await caches.match(event.request)) ?? Response.error()));
});
