// Keeps the page on the phone, whole and of one version, so that it starts with the hub away. A new version is fetched
// whole before it takes over, at the page's own request: a page under a helper's thumb never changes by itself.

const version = 'rackside-__VERSION__';
const files = '__FILES__';

self.addEventListener('install', (event) => {
  const fetchAll = async () => {
    const cache = await caches.open(version);
    await cache.addAll(files.map((path) => new Request(path, { cache: 'no-cache' })));
  };
  event.waitUntil(fetchAll());
});

self.addEventListener('activate', (event) => {
  const takeOver = async () => {
    // Only pages of other versions: the outbox's second copy is a cache too.
    for (const name of await caches.keys()) if (/^rackside-[0-9a-f]+$/.test(name) && name !== version) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(takeOver());
});

self.addEventListener('message', (event) => {
  if (event.data === 'take over') self.skipWaiting();
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== location.origin) return;
  if (url.pathname.startsWith('/v1/') || url.pathname === '/trusted') return;
  const answer = async () => {
    const cache = await caches.open(version);
    const page = event.request.mode === 'navigate' ? '/' : url.pathname;
    return (await cache.match(page)) ?? fetch(event.request);
  };
  event.respondWith(answer());
});
