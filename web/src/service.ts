/**
 * Service worker: keeps the page's own files, and the last answers to what the yard is read by.
 *
 * Files are taken from the copy, whose name changes with them. Answers come from the program while it answers, else
 * as they were last; nothing that writes passes through here.
 */

interface Extendable extends Event {
  waitUntil(promise: Promise<unknown>): void;
}
interface Fetching extends Extendable {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface Worker {
  readonly location: Location;
  readonly clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
  addEventListener(type: "install" | "activate", listener: (event: Extendable) => void): void;
  addEventListener(type: "fetch", listener: (event: Fetching) => void): void;
}

declare const __FILES__: readonly string[]; // of the built page
declare const __BUILD__: string;

const worker = self as unknown as Worker;
const SHELL = `shell ${__BUILD__}`;
const ANSWERS = "answers";
const MOST_ANSWERS = 60;
const PATIENCE = 5000; // [ms] for the page itself, when the network is there and answers nothing
const READ = [
  /^\/api\/yards$/,
  /^\/api\/yards\/[^/]+\/(revisions\/current|plans|ticks|log|images)$/,
  /^\/api\/plans\/[^/]+\/(document|ground|steps)$/,
  /^\/api\/(units|schema\/yard)$/,
];

worker.addEventListener("install", (event) => {
  const fill = caches.open(SHELL).then((shell) => shell.addAll(["./", ...__FILES__]));
  event.waitUntil(fill.then(() => worker.skipWaiting()));
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(tidy().then(() => worker.clients.claim()));
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== worker.location.origin) return;
  if (request.mode === "navigate" && address.pathname === "/") event.respondWith(page(request));
  else if (READ.some((read) => read.test(address.pathname))) event.respondWith(answer(request));
  else if (!address.pathname.startsWith("/api/")) event.respondWith(file(request));
});

async function tidy(): Promise<void> {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name !== SHELL && name !== ANSWERS).map((name) => caches.delete(name)));
}

async function page(request: Request): Promise<Response> {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
  } catch {
    return (await (await caches.open(SHELL)).match("./")) ?? Response.error();
  }
}

async function file(request: Request): Promise<Response> {
  return (await (await caches.open(SHELL)).match(request)) ?? fetch(request);
}

async function answer(request: Request): Promise<Response> {
  const answers = await caches.open(ANSWERS);
  try {
    const fresh = await fetch(request);
    if (fresh.ok) {
      await answers.delete(request); // so that the oldest come first
      await answers.put(request, fresh.clone());
      const kept = await answers.keys();
      await Promise.all(kept.slice(0, -MOST_ANSWERS).map((old) => answers.delete(old)));
    } else if (fresh.status === 401) {
      await caches.delete(ANSWERS); // the device is no longer let in
    }
    return fresh;
  } catch (error) {
    const last = await answers.match(request);
    if (last) return last;
    throw error;
  }
}
