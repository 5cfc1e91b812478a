/**
 * Service worker: keeps the page's own files, and the last answers to what the yard is read by.
 *
 * Files are taken from the copy, whose name changes with them. Answers come from the program while it answers, else
 * as they were last; nothing that writes passes through here.
 */

import { Answers, NAME, reads } from "./answers.ts";

interface Extendable extends Event {
  waitUntil(promise: Promise<unknown>): void;
}
interface Fetching extends Extendable {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface Message extends Extendable {
  readonly data: { readonly keep?: string };
  readonly ports: readonly MessagePort[];
}
interface Worker {
  readonly location: Location;
  readonly clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
  addEventListener(type: "install" | "activate", listener: (event: Extendable) => void): void;
  addEventListener(type: "fetch", listener: (event: Fetching) => void): void;
  addEventListener(type: "message", listener: (event: Message) => void): void;
}

declare const __FILES__: readonly string[]; // of the built page
declare const __BUILD__: string;

const worker = self as unknown as Worker;
const SHELL = `shell ${__BUILD__}`;
const PATIENCE = 5000; // [ms] for the page itself, when the network is there and answers nothing
const answers = new Answers(caches, (request) => fetch(request));

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
  else if (reads(address.pathname)) event.respondWith(answers.answer(request));
  else if (!address.pathname.startsWith("/api/")) event.respondWith(file(request));
});

worker.addEventListener("message", (event) => {
  const { keep } = event.data;
  if (keep) event.waitUntil(answers.keepYard(keep).then((kept) => event.ports[0]?.postMessage(kept)));
});

async function tidy(): Promise<void> {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name !== SHELL && name !== NAME).map((name) => caches.delete(name)));
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
