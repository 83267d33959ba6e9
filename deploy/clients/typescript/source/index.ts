// Asks a service by POST, in the types of its contract, and throws its problems. Needs nothing but fetch.

import type { components, paths } from "./contract.js";

export type Schemas = components["schemas"];

type Json<T> = T extends { content: { "application/json": infer J } } ? J : never;
type Posted<P extends keyof paths> = NonNullable<paths[P]["post"]>;

/** Addresses that take a job. */
export type Path = { [P in keyof paths]: paths[P] extends { post: object } ? P : never }[keyof paths];
/** The job that an address takes. */
export type Job<P extends Path> = Posted<P> extends { requestBody: infer B } ? Json<B> : never;
/** What it answers. The same can be had as sheets; this client asks for JSON alone. */
export type Answer<P extends Path> = Posted<P> extends { responses: { 200: infer R } } ? Json<R> : never;

/** A refusal: what is wrong, and every place to change. */
export class ProblemError extends Error {
  override readonly name = "ProblemError";
  constructor(
    readonly problem: Schemas["Problem"],
    /** After what time it may be asked again, where the service says so (Retry-After). [s] */
    readonly retryAfter?: number,
  ) {
    super(told(problem));
  }
}

/** The detail and each mistake; the detail of one mistake already says it, with its place. */
function told({ detail, errors }: Schemas["Problem"]): string {
  const mistakes = errors.map((mistake) => `${mistake.pointer}: ${mistake.detail}`);
  const said = errors.length === 1 && errors.every((mistake) => detail.includes(mistake.detail));
  return (said ? [detail] : [detail, ...mistakes]).join("\n");
}

/** A reply that is none of the service's, such as the page of a proxy. */
export class ReplyError extends Error {
  override readonly name = "ReplyError";
  constructor(readonly status: number) {
    super(`The reply of status ${status} is neither an answer nor a problem.`);
  }
}

export interface Options {
  /** A key, where the service asks for one. */
  key?: string;
  /** How often a job is sent again that the service was too busy for; 3 unless said. */
  retries?: number;
  /** The longest that is waited before it is sent again; where the service asks for more its problem is thrown. [s] */
  longestWait?: number;
  /**
   * From 0 to 1: how much later than the service asks it is sent again, so that many programs do not come back at
   * once; Math.random unless said. 1 is half of the time more, at least a second, and never beyond longestWait.
   */
  jitter?: () => number;
  /** Ends the waiting and the asking. */
  signal?: AbortSignal;
}

const AGAIN = new Set([429, 502, 503, 504]);
const MOST_WAIT = 30;
/** Over what time at least those who were refused together come back. [s] */
const LEAST_SPREAD = 1;

/**
 * Asks one question. A calculation keeps nothing, so it may be sent again; that is done only where the service
 * says when (Retry-After).
 */
export async function ask<P extends Path>(service: string, path: P, job: Job<P>, options: Options = {}): Promise<Answer<P>> {
  const { key, retries = 3, longestWait = MOST_WAIT, jitter = Math.random, signal } = options;
  const headers: Record<string, string> = { Accept: "application/json", "Content-Type": "application/json" };
  if (key !== undefined) headers["Authorization"] = `Bearer ${key}`;
  const request: RequestInit = { method: "POST", headers, body: JSON.stringify(job), ...(signal && { signal }) };
  for (let left = retries; ; left -= 1) {
    const reply = await fetch(new URL(path.slice(1), service.endsWith("/") ? service : `${service}/`), request);
    const wait = AGAIN.has(reply.status) && left > 0 ? waitOf(reply) : undefined;
    if (wait === undefined || wait > longestWait) return await read<P>(reply);
    await reply.body?.cancel();
    await pause(Math.min(wait + jitter() * Math.max(LEAST_SPREAD, wait / 2), longestWait), signal);
  }
}

/** What Retry-After names: seconds, or a date (RFC 9110, section 10.2.3). */
function waitOf(reply: Response): number | undefined {
  const value = reply.headers.get("Retry-After");
  if (value === null) return undefined;
  const wait = /^\d+$/.test(value) ? Number(value) : (Date.parse(value) - Date.now()) / 1000;
  return Number.isNaN(wait) ? undefined : Math.max(0, wait);
}

async function read<P extends Path>(reply: Response): Promise<Answer<P>> {
  const type = reply.headers.get("Content-Type")?.split(";")[0];
  if (reply.ok && type === "application/json") return (await reply.json()) as Answer<P>;
  if (!reply.ok && type === "application/problem+json") {
    throw new ProblemError((await reply.json()) as Schemas["Problem"], waitOf(reply));
  }
  throw new ReplyError(reply.status);
}

function pause(seconds: number, signal?: AbortSignal): Promise<void> {
  return new Promise((done, failed) => {
    const left = () => {
      clearTimeout(timer);
      failed(signal?.reason);
    };
    const timer = setTimeout(() => {
      signal?.removeEventListener("abort", left);
      done();
    }, seconds * 1000);
    if (signal?.aborted) left();
    signal?.addEventListener("abort", left, { once: true });
  });
}
