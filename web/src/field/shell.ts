/** The copy of the page that the browser keeps: it opens without a connection, with the last plan it has seen. */

const WAIT = 6000; // [ms]

/** Let the browser keep the page; nothing happens where it may not, such as on an address without https. */
export function keepShell(): void {
  if (!import.meta.env.PROD || !("serviceWorker" in navigator)) return;
  void navigator.serviceWorker.register("service.js").catch(() => undefined);
}

/** Whether what is read from now on is kept for a time without a connection. */
export async function shellKept(): Promise<boolean> {
  if (!("serviceWorker" in navigator)) return false;
  if (navigator.serviceWorker.controller) return false; // what was read before was kept already
  return new Promise((resolve) => {
    const timer = setTimeout(() => resolve(false), WAIT);
    navigator.serviceWorker.addEventListener(
      "controllerchange",
      () => {
        clearTimeout(timer);
        resolve(true);
      },
      { once: true },
    );
  });
}
