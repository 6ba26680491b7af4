/**
 * Keeps the shell on the device, so that a reload without network shows the screens again. Readings and stop packs are not
 * its business: they live in the outbox. It never answers for /api and never keeps an answer of the API.
 */
interface LifeEvent extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface FetchEvent extends Event {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
/** The part of a service worker's world that is used here; its library cannot stand beside the one of pages. */
interface ShellWorker {
  addEventListener(type: 'install' | 'activate', listener: (event: LifeEvent) => void): void;
  addEventListener(type: 'fetch', listener: (event: FetchEvent) => void): void;
  skipWaiting(): Promise<void>;
  readonly clients: { claim(): Promise<void> };
  readonly location: Location;
}
declare global {
  interface Window {
    readonly __SHELL_FILES__: readonly { readonly url: string; readonly revision: string | null }[];
  }
}

// The build puts the list of files here.
const FILES = self.__SHELL_FILES__;
const worker = self as unknown as ShellWorker;
const SHELL = 'heatround-shell';
const keyOf = ({ url, revision }: { url: string; revision: string | null }) =>
  `/${url}${revision ? `?revision=${revision}` : ''}`;

worker.addEventListener('install', (event) => {
  event.waitUntil(
    (async () => {
      const shell = await caches.open(SHELL);
      for (const file of FILES) {
        const key = keyOf(file);
        if (await shell.match(key)) continue;
        const answer = await fetch(`/${file.url}`, { cache: 'no-cache' });
        if (answer.ok && !answer.redirected) await shell.put(key, answer);
        else throw new Error(`the shell is not complete: ${file.url}`);
      }
      await worker.skipWaiting();
    })(),
  );
});

worker.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      const shell = await caches.open(SHELL);
      const wanted = new Set(FILES.map((file) => new URL(keyOf(file), worker.location.origin).href));
      // The files of the version before stay for pages that are still open with it.
      const kept = await shell.keys();
      if (kept.length > wanted.size * 3) for (const request of kept) if (!wanted.has(request.url)) await shell.delete(request);
      await worker.clients.claim();
    })(),
  );
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== worker.location.origin || url.pathname.startsWith('/api')) return;
  const path = request.mode === 'navigate' ? 'index.html' : url.pathname.slice(1);
  const file = FILES.find((known) => known.url === path);
  event.respondWith(
    (async () => {
      const kept = await (await caches.open(SHELL)).match(file ? keyOf(file) : url.pathname);
      return kept ?? fetch(request);
    })(),
  );
});

export {};
