// Opens the pages that a phone saw last while the computer is away. Only by https or on the
// computer itself; entries are not its business, the page sends those.
// The server puts VERSION before the first line.
const FILES = `bench-files-${VERSION}`;
const PAGES = `bench-pages-${VERSION}`;
const STATIC = `/static/${VERSION}/`;
const AHEAD = [
  ...["tokens.css", "site.css", "bench.js", "outbox.js", "waiting.js", "marks/icon.svg"].map((name) => STATIC + name),
  "/offline",
];
const KEPT = /^\/(look|shelf|runs\/[0-9a-z-]+)?$/; // a run that is under way, too: its clock goes on

addEventListener("install", (event) => {
  event.waitUntil(caches.open(FILES).then((cache) => cache.addAll(AHEAD)).then(() => skipWaiting()));
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith("bench-") && ![FILES, PAGES].includes(name));
    await Promise.all(old.map((name) => caches.delete(name)));
    await clients.claim();
  })());
});

addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== location.origin) return;
  if (address.pathname.startsWith(STATIC)) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, address.pathname));
});

async function file(request) {
  const cache = await caches.open(FILES);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.status === 200) await cache.put(request, answer.clone());
  return answer;
}

async function page(event, path) {
  let answer;
  try {
    answer = await fetch(event.request);
  } catch {
    return whileAway(path);
  }
  const cache = await caches.open(PAGES);
  if (answer.type === "opaqueredirect") {
    event.waitUntil(forgetIfNotLetIn(cache));
    return answer;
  }
  const isPage = (answer.headers.get("content-type") ?? "").startsWith("text/html");
  if (KEPT.test(path) && answer.status === 200 && !answer.redirected && isPage) {
    event.waitUntil(keep(cache, path, answer.clone()));
  }
  return answer;
}

// Under its path alone; what was just kept or asked for is not part of it.
async function keep(cache, path, answer) {
  const text = await answer.text();
  const marked = text.replace("<html ", `<html data-kept-at="${new Date().toISOString()}" `);
  const headers = new Headers(answer.headers);
  headers.delete("content-encoding");
  headers.delete("content-length");
  await cache.put(path, new Response(marked, { headers }));
}

async function whileAway(path) {
  const kept = await (await caches.open(PAGES)).match(path);
  return kept ?? (await (await caches.open(FILES)).match("/offline")) ?? Response.error();
}

// A phone that is not let in any more keeps no page either. Where a redirect leads, a worker is not
// told; the first page leads elsewhere only then.
async function forgetIfNotLetIn(cache) {
  try {
    const first = await fetch("/", { redirect: "manual" });
    if (first.type !== "opaqueredirect") return;
    const pages = await cache.keys();
    await Promise.all(pages.map((page) => cache.delete(page)));
  } catch { /* away again: nothing is known */ }
}
