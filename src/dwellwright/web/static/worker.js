// Keeps the workbench's shell and every page that was opened, for when the network goes. Posts are never kept or repeated:
// what was typed stays in its form until it can be sent.
const CACHE = `dwellwright-${VERSION}`;
const PAGES = "dwellwright-pages";

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(SHELL)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== CACHE && name !== PAGES) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== location.origin) return;
  if (address.pathname.startsWith("/static/")) event.respondWith(fromShell(request));
  else if (request.mode === "navigate") event.respondWith(page(request, address));
});

async function fromShell(request) {
  const kept = await caches.match(request, { ignoreSearch: true, cacheName: CACHE });
  return kept ?? fetch(request);
}

async function page(request, address) {
  const pages = await caches.open(PAGES);
  try {
    const answer = await fetch(request);
    if (answer.ok && (answer.headers.get("content-type") ?? "").startsWith("text/html")) {
      await pages.put(address.pathname, answer.clone());
    }
    return answer;
  } catch {
    const kept = (await pages.match(address.pathname)) ?? (await caches.match("/offline"));
    if (!kept) return Response.error();
    const text = (await kept.text()).replace('<div id="offline" hidden', '<div id="offline"');
    return new Response(text, { headers: kept.headers });
  }
}
