/** The copy of the page that the browser keeps: it opens without a connection, with the yard that was read last. */

/** What is kept of a yard, as the service worker tells it. */
export interface KeptYard {
  readonly bytes: number;
  readonly limit: number; // [bytes] of all yards together
  readonly plan: string | null; // when the plan was made
  readonly missing: readonly string[]; // what did not fit, or did not come
}

/** Let the browser keep the page; nothing happens where it may not, such as on an address without https. */
export function keepShell(): void {
  if (!import.meta.env.PROD || !("serviceWorker" in navigator)) return;
  void navigator.serviceWorker.register("service.js").catch(() => undefined);
}

/** Let what the yard needs without a connection be read and kept. Returns: what is; null where nothing may be. */
export async function keepYard(yard: string): Promise<KeptYard | null> {
  if (!import.meta.env.PROD || !("serviceWorker" in navigator)) return null;
  const worker = (await navigator.serviceWorker.ready).active;
  if (!worker) return null;
  const { port1, port2 } = new MessageChannel();
  const told = new Promise<KeptYard>((resolve) => (port1.onmessage = ({ data }) => resolve(data as KeptYard)));
  worker.postMessage({ keep: yard }, [port2]);
  return told;
}
