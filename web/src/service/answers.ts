/**
 * The last answers that a yard is read by, kept by the service worker for a time without a connection.
 *
 * An answer comes from the program while it answers, else as it was last. All of them together stay within a stated size:
 * what was read longest ago goes first, and of one yard what can best be spared.
 */

export const NAME = "answers";
export const LIMIT = 24_000_000; // [bytes] of all yards together
const SIZE = "x-kept-bytes"; // header of what is kept

const READ = [
  /^\/api\/yards$/,
  /^\/api\/yards\/[^/]+\/(revisions\/current|plans|ticks|log|images)$/,
  /^\/api\/plans\/[^/]+\/(document|ground|depth|workings|explained|steps|money|done|as-built|answers|changes)$/,
  /^\/api\/(units|schema\/(yard|entry))$/,
];
const WORKING = /^(\/api\/plans\/[^/]+)\/workings\/(.+)$/;
const OF_PLAN = ["explained", "depth", "ground", "workings", "document", "steps"]; // what can best be spared first

/** What is kept of a yard. */
export interface Kept {
  readonly bytes: number;
  readonly limit: number;
  readonly plan: string | null; // when the plan was made
  readonly missing: readonly string[]; // what did not fit, or did not come
}

interface Note {
  readonly id: string;
  readonly current: boolean; // the one that is built and worked by
  readonly status: string;
  readonly made: string;
}

export const reads = (path: string): boolean => READ.some((read) => read.test(path)) || WORKING.test(path);

export class Answers {
  constructor(
    private readonly caches: CacheStorage,
    private readonly ask: (request: Request | string) => Promise<Response>,
    private readonly limit = LIMIT,
  ) {}

  /** The program's answer, else the last one. Errors: that of the network when there is none. */
  async answer(request: Request): Promise<Response> {
    const { pathname } = new URL(request.url);
    try {
      const fresh = await this.ask(request);
      if (fresh.ok && !WORKING.test(pathname)) await this.put(request, fresh.clone());
      else if (fresh.status === 401) await this.caches.delete(NAME); // the device is no longer let in
      return fresh;
    } catch (error) {
      const last = (await (await this.open()).match(request)) ?? (await this.working(pathname));
      if (last) return last;
      throw error;
    }
  }

  /** Read what the phone needs of a yard, so that it is kept: of the plan only what is not here yet, for it never changes. */
  async keepYard(yard: string): Promise<Kept> {
    const own = `/api/yards/${yard}`;
    const plans = await this.fresh(`${own}/plans`);
    const notes = plans ? ((await plans.json()) as Note[]) : [];
    const plan = notes.find(({ current }) => current);
    const missing: string[] = [];
    for (const part of plan ? OF_PLAN : []) {
      const path = `/api/plans/${plan!.id}/${part}`;
      if (!(await this.touched(path)) && !(await this.fresh(path))) missing.push(part);
    }
    const small = ["revisions/current", "ticks", "log?after=0&most=1000", "images", "plans"].map(
      (part) => `${own}/${part}`,
    );
    const schemas = ["/api/schema/yard", "/api/schema/entry"];
    const moving = plan ? ["done", "money", "as-built"].map((part) => `/api/plans/${plan.id}/${part}`) : [];
    for (const path of ["/api/units", ...schemas, "/api/yards", ...small, ...moving]) await this.fresh(path);
    return { bytes: await this.bytes(), limit: this.limit, plan: plan?.made ?? null, missing };
  }

  private open(): Promise<Cache> {
    return this.caches.open(NAME);
  }

  /** Ask and keep. Returns: the answer; null when none came or it is not kept. */
  private async fresh(path: string): Promise<Response | null> {
    try {
      const answer = await this.ask(path);
      if (Number(answer.headers.get("content-length")) > this.limit) {
        void answer.body?.cancel(); // not worth the phone's line
        return null;
      }
      return answer.ok && (await this.put(path, answer.clone())) ? answer : null;
    } catch {
      return null;
    }
  }

  /** Make what is kept the newest. Returns: whether it is. */
  private async touched(path: string): Promise<boolean> {
    const cache = await this.open();
    const kept = await cache.match(path);
    if (!kept) return false;
    await cache.delete(path);
    await cache.put(path, kept);
    return true;
  }

  /** Keep an answer, and give up the oldest beyond the limit. Returns: whether it is kept. */
  private async put(request: Request | string, answer: Response): Promise<boolean> {
    const body = await answer.arrayBuffer();
    if (body.byteLength > this.limit) return false;
    const headers = new Headers(answer.headers);
    headers.set(SIZE, String(body.byteLength));
    const cache = await this.open();
    await cache.delete(request); // so that the oldest come first
    await cache.put(request, new Response(body, { status: answer.status, headers }));
    let held = await this.bytes();
    for (const old of await cache.keys()) {
      if (held <= this.limit) break;
      held -= sizeOf((await cache.match(old))!);
      await cache.delete(old);
    }
    return true;
  }

  private async bytes(): Promise<number> {
    return (await (await this.open()).matchAll()).reduce((sum, kept) => sum + sizeOf(kept), 0);
  }

  /** A working by itself, out of all the workings of its plan. */
  private async working(pathname: string): Promise<Response | null> {
    const [, plan, key] = WORKING.exec(pathname) ?? [];
    const all = plan && (await (await this.open()).match(`${plan}/explained`));
    if (!all) return null;
    const found = ((await all.json()) as Record<string, unknown>)[decodeURIComponent(key!)];
    return found ? Response.json(found) : null;
  }
}

function sizeOf(kept: Response): number {
  return Number(kept.headers.get(SIZE) ?? 0);
}
