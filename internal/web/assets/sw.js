// Lets the arena side work without the book: keeps the program's files and the rail pages. It
// never answers for data: notes and rides go through the page, which keeps them itself.
const files = "files-" + PREFIX;
const pages = "pages";

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(files);
    await cache.addAll(FILES);
    try { await keepPage(new Request("/rail", { credentials: "same-origin" })); } catch { /* kept on the next visit */ }
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("files-") && name !== files) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/")) event.respondWith(asset(event.request));
  else if (event.request.mode === "navigate" && /^\/(rail|rides\/[^/]+\/rail)$/.test(url.pathname)) event.respondWith(page(event.request));
  else if (event.request.mode === "navigate" && /^\/(day(\/[0-9-]+)?|lessons\/[^/]+(\/run|\/homework)?)$/.test(url.pathname)) event.respondWith(dayPage(event.request));
});

async function asset(request) {
  const kept = await caches.match(request);
  if (kept) return kept;
  try {
    return await fetch(request);
  } catch (fault) {
    // A page of an older program: its files went with the update; today's have the same names.
    const name = new URL(request.url).pathname.split("/").pop();
    const today = await caches.match(PREFIX + name);
    if (today) return today;
    throw fault;
  }
}

async function keepPage(request) {
  const answer = await fetch(request, { signal: AbortSignal.timeout(4000) });
  if (answer.ok && !answer.redirected) {
    const cache = await caches.open(pages);
    await cache.put(new URL(request.url).pathname, answer.clone());
  }
  return answer;
}

// page asks the book first, for four seconds; then what was kept does.
async function page(request) {
  try {
    const answer = await keepPage(request);
    if (answer.status < 500) return answer;
  } catch { /* no way to the book */ }
  const cache = await caches.open(pages);
  return (await cache.match(new URL(request.url).pathname)) ?? (await cache.match("/rail")) ??
    new Response("The book cannot be reached, and this page is not kept on this phone yet.", { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } });
}

// dayPage asks the book first; without it, the day and its lessons as last seen. These pages hold
// names, so they are let go when the book no longer knows this phone.
async function dayPage(request) {
  const path = new URL(request.url).pathname;
  const cache = await caches.open("day");
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(4000) });
    if (answer.status === 401 || answer.status === 403) await caches.delete("day");
    else if (answer.ok && !answer.redirected) await cache.put(path, answer.clone());
    if (answer.status < 500) return answer;
  } catch { /* no way to the book */ }
  return (await cache.match(path)) ?? (path === "/day" ? undefined : await cache.match("/day")) ??
    new Response("The book cannot be reached, and this day is not kept on this phone yet.", { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } });
}
