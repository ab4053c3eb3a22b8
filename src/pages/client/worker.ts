/**
 * Under TLS only: the pages that hold no price open without a network as they were last seen. A page that may not be kept
 * says so itself (no-store).
 */
interface Waiting extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface Fetching extends Event {
  request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface Worker {
  addEventListener(type: 'install' | 'activate', listen: (event: Waiting) => void): void;
  addEventListener(type: 'fetch', listen: (event: Fetching) => void): void;
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
}
/** The types of a page say nothing of a worker's own. */
const worker = self as unknown as Worker;
const name = 'pages-ASSETS';

worker.addEventListener('install', () => void worker.skipWaiting());
worker.addEventListener('activate', (event) =>
  event.waitUntil(
    (async () => {
      for (const old of await caches.keys()) if (old !== name) await caches.delete(old);
      await worker.clients.claim();
    })(),
  ),
);
worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const asked = new URL(request.url);
  if (request.method !== 'GET' || asked.origin !== location.origin || /\/(do|state|sign)/.test(asked.pathname)) return;
  if (request.mode !== 'navigate' && !asked.pathname.startsWith('/shop/assets/')) return;
  event.respondWith(
    (async () => {
      const cache = await caches.open(name);
      const plain = asked.pathname;
      try {
        const response = await fetch(request);
        if (response.ok && !response.redirected && !/no-store/.test(response.headers.get('Cache-Control') ?? ''))
          await cache.put(plain, response.clone());
        return response;
      } catch (error) {
        const kept = await cache.match(plain, { ignoreVary: true });
        if (kept) return kept;
        throw error;
      }
    })(),
  );
});
