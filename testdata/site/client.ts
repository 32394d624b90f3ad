// A typed client of the service: every address, parameter, body and answer has the
// types of its contract, which `make client` writes to contract.d.ts beside this.
// client.js is what the compiler makes of it; pages use that as it is.
import type { paths } from "./contract.js";

type Verb = "get" | "post" | "patch" | "delete";

/** The addresses that take a verb. */
export type Address<V extends Verb> = { [P in keyof paths]: paths[P] extends { [K in V]: { responses: unknown } } ? P : never }[keyof paths];

type Operation<V extends Verb, P extends Address<V>> = paths[P] extends { [K in V]: infer O } ? O : never;
type Content<T> = T extends { content: infer C } ? (C extends { "application/json": infer J } ? J : C extends { "application/merge-patch+json": infer M } ? M : never) : undefined;
type Parameters<O, In extends string> = O extends { parameters: { [K in In]?: infer T } } ? NonNullable<T> : never;

/** What an operation answers where all went well. */
export type Answer<V extends Verb, P extends Address<V>> =
  Operation<V, P> extends { responses: infer R } ? (R extends { 200: infer A } ? Content<A> : R extends { 201: infer A } ? Content<A> : undefined) : never;

/** What an operation takes as its body. */
export type Body<V extends Verb, P extends Address<V>> = Operation<V, P> extends { requestBody: infer B } ? Content<B> : undefined;

/** What a call says besides its verb and address. */
export interface Call<V extends Verb, P extends Address<V>> {
  path?: Parameters<Operation<V, P>, "path">;
  query?: Parameters<Operation<V, P>, "query">;
  headers?: Record<string, string>;
  body?: Body<V, P>;
  signal?: AbortSignal;
}

/** What the service says when it refuses (RFC 9457). */
export interface Problem {
  type: string;
  title: string;
  status: number;
  detail: string;
  errors?: { pointer: string; code: string; detail: string }[];
}

/** The service answered, and refused. */
export class Refused extends Error {
  constructor(readonly status: number, readonly problem: Problem, readonly wait: number) {
    super(problem.detail);
  }
}

/** No answer came: the service or the connection is away. */
export class Away extends Error {}

/** Asks the service. Errors: Refused, Away. */
export type Ask = <V extends Verb, P extends Address<V>>(verb: V, address: P, call?: Call<V, P>) => Promise<Answer<V, P>>;

/** A client of the service at an address; headers are asked for before each call. */
export function client(service: string, headers: () => Promise<Record<string, string>> = async () => ({})): Ask {
  return async (verb, address, call = {}) => {
    const at = String(address).slice(1).replace(/\{(\w+)\}/g, (_, name: string) => encodeURIComponent(String((call.path as Record<string, unknown>)[name])));
    const url = new URL(at, service);
    for (const [name, value] of Object.entries((call.query ?? {}) as Record<string, unknown>)) if (value != null) url.searchParams.set(name, String(value));
    const media: Record<string, string> = call.body === undefined ? {} : { "Content-Type": verb === "patch" ? "application/merge-patch+json" : "application/json" };
    const all = { ...media, ...(await headers()), ...call.headers };
    const body = call.body === undefined ? null : JSON.stringify(call.body);
    const answer = await fetch(url, { method: verb.toUpperCase(), headers: all, body, credentials: "omit", signal: call.signal ?? AbortSignal.timeout(20_000) }).catch((why: unknown) => {
      throw new Away(String(why));
    });
    const text = await answer.text();
    const read = text === "" ? undefined : parsed(text);
    if (answer.ok) return read;
    throw new Refused(answer.status, read?.detail ? read : { type: "about:blank", title: answer.statusText, status: answer.status, detail: `The service answered ${answer.status}.` }, Number(answer.headers.get("Retry-After")));
  };
}

function parsed(text: string) {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
