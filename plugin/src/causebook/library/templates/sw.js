/* Keeps the site for where there is no signal.  The network is asked first; the copy answers when it does not, and a
   page from the copy says so on its first line and gets its files from there too.  Once the network kept silent it is
   not waited for again for a while, but every page opened still asks it, so that it is heard as soon as it is back. */
"use strict";
const DIGEST = "@DIGEST@";
const PREFIX = "causebook " + self.registration.scope + " ";
const CACHE = PREFIX + DIGEST, VISITED = PREFIX + "visited";
const PATIENCE = 4000, MOST_PATIENCE = 60000, UNWAITED = 60000, AT_ONCE = 6, MOST_VISITED = 80;
const fromCopy = new Set();  // ids of the open pages that came from the copy
let unwaitedUntil = 0;
const address = (path) => new URL(path, self.registration.scope).href;

self.addEventListener("install", (event) => event.waitUntil(keep().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(tidy().then(() => self.clients.claim())));
self.addEventListener("fetch", (event) => {
  const asked = event.request;
  if (asked.method === "GET" && asked.url.startsWith(self.registration.scope)) { event.respondWith(answer(event)); }
});

/* Every file of the list, those that did not change taken over from the copy before. */
async function keep() {
  const response = await fetch(address("offline.json"), { cache: "no-store" });
  const list = await response.clone().json();
  if (list.digest !== DIGEST) { throw new Error("the list and this worker are of different builds"); }
  const cache = await caches.open(CACHE);
  const before = await former();
  const left = list.files.slice();
  const one = async () => {
    for (let next = left.pop(); next; next = left.pop()) {
      const [path, digest] = next, url = address(path);
      if (await cache.match(url)) { continue; }
      const same = before && before.files[path] === digest && await before.cache.match(url);
      const got = same || await fetch(url, { cache: "no-cache" });
      if (!got.ok) { throw new Error(path + ": " + got.status); }
      await cache.put(url, got);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, one));
  const built = await fetch(address("built.js"), { cache: "no-cache" });
  if (built.ok) { await confirmed(built); }
  await cache.put(address("offline.json"), response);
}
/* When the site was built stands in one file beside the list.  While its digest is that of this copy, the copy is as
   good as the site of that time, and says so. */
async function confirmed(built) {
  const told = date(await built.clone().text());
  if (told.digest === DIGEST) { await (await caches.open(CACHE)).put(address("built.js"), built); }
}
function date(script) {
  try { return JSON.parse(script.slice(script.indexOf("{"), script.lastIndexOf("}") + 1)); } catch (other) { return {}; }
}
async function former() {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX) || name === CACHE || name === VISITED) { continue; }
    const cache = await caches.open(name), list = await cache.match(address("offline.json"));
    if (list) { return { cache: cache, files: Object.fromEntries((await list.json()).files) }; }
  }
  return null;
}
async function tidy() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== CACHE && name !== VISITED) { await caches.delete(name); }
  }
}

async function answer(event) {
  const asked = event.request, page = asked.mode === "navigate";
  const own = !page && fromCopy.has(event.clientId) && await listed(asked.url);
  if (own) { return own; }
  const copy = await kept(asked.url);
  const waits = !copy || Date.now() >= unwaitedUntil;
  const asking = (waits || page) && ask(asked.url, copy ? PATIENCE : MOST_PATIENCE);
  const got = waits && await asking;
  if (got) {
    if (page && got.ok && !(await listed(asked.url))) { await remember(asked.url, got.clone()); }
    if (got.ok && file(asked.url) === address("built.js")) { await confirmed(got.clone()); }
    return got;
  }
  if (asking) { event.waitUntil(asking); }
  if (!copy) { return page ? nothing() : Response.error(); }
  if (!page) { return copy; }
  fromCopy.add(event.resultingClientId);
  return marked(copy);
}
/* What the network answers; null when it refuses or is silent for longer than `most` milliseconds. */
async function ask(url, most) {
  const patience = new AbortController();
  const timer = setTimeout(() => { unwaitedUntil = Date.now() + UNWAITED; patience.abort(); }, most);
  try {
    const got = await fetch(url, { cache: "no-cache", credentials: "same-origin", signal: patience.signal });
    unwaitedUntil = 0;
    return got;
  } catch (silent) {
    return null;
  } finally {
    clearTimeout(timer);
  }
}
/* Of a photo only the smallest size is kept, which then stands for the others. */
async function kept(url) {
  return await listed(url) || await listed(url.replace(/-\d+\.(webp|jpg)$/, "-480.webp"))
    || (await caches.open(VISITED)).match(file(url));
}
async function listed(url) {
  return (await caches.open(CACHE)).match(file(url));
}
function file(url) {
  const bare = url.split(/[?#]/)[0];
  return bare.endsWith("/") ? bare + "index.html" : bare;
}
/* A page opened that is not in the list stays too; of these only the last ones. */
async function remember(url, response) {
  const cache = await caches.open(VISITED);
  await cache.delete(file(url));
  const headers = { "Content-Type": "text/html; charset=utf-8", "X-Kept": new Date().toISOString() };
  await cache.put(file(url), new Response(await response.blob(), { headers: headers }));
  const keys = await cache.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST_VISITED))) { await cache.delete(old); }
}

async function marked(copy) {
  const text = await copy.text();
  const script = await (await caches.open(CACHE)).match(address("built.js"));
  const day = copy.headers.get("X-Kept") || (script && date(await script.text()).at) || "an unknown day";
  const built = day.slice(0, day.indexOf("T") < 0 ? undefined : 10);
  const line = '<p class="cb-saved-copy" role="status"><strong>Saved copy of ' + built + '.</strong> Ask about stop-use'
    + "<span>: a stop-use notice may have been set or lifted since then, and the site did not answer</span>.</p>";
  return new Response(text.replace(/<body[^>]*>/, (body) => body + line),
    { headers: { "Content-Type": "text/html; charset=utf-8" } });
}
function nothing() {
  const page = '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    + '<title>Not saved</title><body style="font:1.1em/1.5 sans-serif;max-width:34em;margin:2em auto;padding:0 1em">'
    + "<h1>This page is not saved on this device</h1><p>There is no connection, and this page was never opened here before.</p>"
    + '<p><a href="' + address("cases/index.html") + '">Look through the cases that are saved</a></p></body></html>';
  return new Response(page, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
