// The service worker: a page of the floor that was open once opens again with no network, and keeps the scans. The
// network goes first; only the pages of the floor and their files are kept, nothing else passes through here.

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
/** The server puts before this text which state of the files it has. @type {{ edition: string, files: string[] }} */
const { edition, files } = /** @type {any} */ (self).tagd;

const shelf = `tagd-${edition}`;
const patience = 4_000; // ms that a page may take before the kept one is shown

/** @param {string} path */
const isFloor = (path) => path === '/' || path === '/device' || /^\/at\/[^/]+$/.test(path);

worker.addEventListener('install', (e) => {
  e.waitUntil(caches.open(shelf).then((cache) => cache.addAll(files)).then(() => worker.skipWaiting()));
});

worker.addEventListener('activate', (e) => {
  e.waitUntil((async () => {
    for (const old of await caches.keys()) if (old.startsWith('tagd-') && old !== shelf) await caches.delete(old);
    await worker.clients.claim();
  })());
});

// A page that is open says so: the first one was there before its worker.
worker.addEventListener('message', (e) => {
  const path = String(e.data?.open ?? '');
  if (isFloor(path)) e.waitUntil(caches.open(shelf).then(async (cache) => { if (!await cache.match(path)) await cache.add(new Request(path, { headers: { Accept: 'text/html' } })); }).catch(() => {}));
});

worker.addEventListener('fetch', (e) => {
  const { request } = e;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== worker.location.origin) return;
  if (url.pathname.startsWith('/static/')) e.respondWith(file(request));
  else if (request.mode === 'navigate' && isFloor(url.pathname)) e.respondWith(page(request, url.pathname));
});

/** A static file: its address changes with it, so the kept one is right. @param {Request} request */
async function file(request) {
  const cache = await caches.open(shelf);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await cache.put(request, answer.clone());
  return answer;
}

/** @param {Request} request @param {string} path */
async function page(request, path) {
  const cache = await caches.open(shelf);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(patience) });
    if (answer.ok && !answer.redirected) await cache.put(path, answer.clone());
    return answer;
  } catch (gone) {
    const kept = await cache.match(path);
    if (kept) return kept;
    throw gone;
  }
}
