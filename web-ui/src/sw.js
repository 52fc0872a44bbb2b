// The shell worker: keeps this version's page, scripts and styles, so that it opens with no link to the notebook.
// It never touches `/api/`: views seen and drafts not sent have owners of their own. Build id and file list are filled
// in at build; a new version waits until the person agrees.
const BUILD = 'dev';
const FILES = [];
const PREFIX = 'storypole-shell-';
const CACHE = PREFIX + BUILD;

self.addEventListener('install', (event) => {
  // Where the browser can be told so, questions to the notebook do not even wake the worker: one that is woken while a newer version
  // takes its place holds that version up.
  event.addRoutes?.({ condition: { urlPattern: '/api/*' }, source: 'network' });
  // `reload` goes past the browser's own cache, so that no file of an older build is kept under this one's name.
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })))));
});

self.addEventListener('activate', (event) => {
  event.waitUntil(takeOver());
});

async function takeOver() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener('message', (event) => {
  if (event.data === 'use-new-version') self.skipWaiting();
  if (event.data === 'take-this-page') event.waitUntil(self.clients.claim());
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (url.pathname === '/api' || url.pathname.startsWith('/api/')) return;
  const file = url.pathname === '/index.html' ? '/' : url.pathname;
  if (!FILES.includes(file)) return;
  event.respondWith(answer(file, event.request));
});

async function answer(file, request) {
  // Not `open`: a worker whose version was just replaced would make its shell's cache anew, empty and for good.
  const kept = await caches.match(file, { cacheName: CACHE });
  return kept ?? fetch(request);
}
