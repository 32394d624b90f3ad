// @ts-check
// Reads the club's book, and what was read last where there is no connection.
import { Away } from "./client.js";
import { inTable } from "./records.js";
import { ask } from "./session.js";
import { club } from "./settings.js";

/** @typedef {import("./client.js").Address<"get">} Place */

/** What was read since the page was opened, for a phone without room. @type {Map<string, any>} */
const lately = new Map();

/**
 * Reads an address of the club; when the service is away, what it said last.
 * Errors: Refused; Away where it never said anything.
 * @template {Extract<Place, `/v1/clubs/{club}/${string}`>} P
 * @param {P} place
 * @param {Record<string, string>} [path]
 * @param {Record<string, string | number>} [query]
 * @returns {Promise<{ data: import("./client.js").Answer<"get", P>, at: string, old: boolean }>}
 */
export async function read(place, path = {}, query = {}) {
  const address = JSON.stringify([place, path, query]);
  try {
    const data = await ask("get", place, /** @type {any} */ ({ path: { club, ...path }, query }));
    const at = new Date().toISOString();
    lately.set(address, { data, at });
    await inTable("book", "readwrite", (t) => t.put({ address, data, at })).catch(() => {});
    return { data, at, old: false };
  } catch (why) {
    const kept = why instanceof Away && ((await inTable("book", "readonly", (t) => t.get(address)).catch(() => null)) ?? lately.get(address));
    if (!kept) throw why;
    return { data: kept.data, at: kept.at, old: true };
  }
}

/** Forgets what was read. */
export function forget() {
  lately.clear();
  return inTable("book", "readwrite", (t) => t.clear()).catch(() => {});
}
