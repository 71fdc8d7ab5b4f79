/* The phone page's worker: opens the page and its files without a network. The server puts
   VERSION and FILES in front of this text. It touches no data: the page itself keeps those. */
/* global VERSION, FILES */

const NAME = `stillwet-phone-${VERSION}`;
const PAGES = "stillwet-phone-pages";
const WAIT_MS = 4000; // for a network that does not say no either

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request, event));
  else if (url.pathname.startsWith("/static/")) event.respondWith(file(request));
});

async function install() {
  const cache = await caches.open(NAME);
  await cache.addAll(FILES.map((path) => new Request(path, { cache: "no-cache" })));
  await self.skipWaiting();
}

async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith("stillwet-phone-") && name !== NAME && name !== PAGES) await caches.delete(name);
  }
  await self.clients.claim();
  for (const client of await self.clients.matchAll()) await keepPage(new URL(client.url).pathname);
}

/** A page: from the server if it answers in time, else as it was kept. */
async function page(request, event) {
  const path = new URL(request.url).pathname;
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(WAIT_MS) });
    if (answer.ok && !answer.redirected) event.waitUntil(keep(path, answer.clone()));
    return answer;
  } catch (error) {
    const found = await (await caches.open(PAGES)).match(path);
    if (!found) throw error;
    return asOfNow(found);
  }
}

async function file(request) {
  const found = await (await caches.open(NAME)).match(request, { ignoreSearch: true });
  return found ?? fetch(request);
}

async function keepPage(path) {
  const answer = await fetch(path, { headers: { accept: "text/html" } }).catch(() => null);
  if (answer?.ok && !answer.redirected) await keep(path, answer);
}

async function keep(path, answer) {
  const headers = new Headers(answer.headers);
  headers.set("x-kept-at", String(Date.now()));
  await (await caches.open(PAGES)).put(path, new Response(await answer.text(), { headers }));
}

/** The kept page with the server's clock moved on by the time that went by since. */
async function asOfNow(found) {
  const went = Date.now() - Number(found.headers.get("x-kept-at"));
  const text = (await found.text()).replace(/ data-now="([^"]*)"/, (all, told) => {
    const then = Date.parse(told);
    return Number.isNaN(then) ? all : ` data-now="${new Date(then + went).toISOString()}"`;
  });
  return new Response(text, { headers: found.headers });
}
