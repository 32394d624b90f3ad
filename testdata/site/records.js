// @ts-check
// What was recorded on this phone and hasn't reached the club's book yet. It is
// kept in the browser's database, sent in order as soon as there is a connection,
// and happens once: its id and its Idempotency-Key are made here.
import { Away, Refused } from "./client.js";
import { ask, who } from "./session.js";
import { club } from "./settings.js";

/** @typedef {import("./client.js").Problem} Problem */
/** @typedef {"batches" | "feedings" | "checks" | "harvests" | "movements"} Noun */
/**
 * @typedef {object} Waiting
 * @property {string} id of the record
 * @property {string} key its Idempotency-Key
 * @property {Noun} noun
 * @property {any} body
 * @property {string} form by which it was made
 * @property {Record<string, string>} typed into that form
 * @property {string} bin
 * @property {string} said what it says, for people
 * @property {string} made when, RFC 3339
 * @property {string} by e-mail address of who made it
 * @property {Problem} [problem] why the service refused it
 */

/** Tells of every change: "change", and "sign-in" when somebody has to. */
export const changes = new EventTarget();
const others = new BroadcastChannel("lumbricary-records");
others.onmessage = () => changes.dispatchEvent(new Event("change"));

function changed() {
  changes.dispatchEvent(new Event("change"));
  others.postMessage("change");
}

/** Records for which the phone has no room: they last as long as this page. @type {Map<string, Waiting>} */
const loose = new Map();

/** Whether all that waits outlasts this page. */
export const safe = () => loose.size === 0;

/** @type {Promise<IDBDatabase> | undefined} */
let opened;

function database() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open("lumbricary", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("records", { keyPath: "id" });
      asked.result.createObjectStore("book", { keyPath: "address" });
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  opened.catch(() => (opened = undefined));
  return opened;
}

/**
 * Does something with a table of the browser's database.
 * @template T
 * @param {"records" | "book"} table
 * @param {IDBTransactionMode} mode
 * @param {(table: IDBObjectStore) => IDBRequest<T>} act
 * @returns {Promise<T>}
 */
export async function inTable(table, mode, act) {
  const transaction = (await database()).transaction(table, mode, { durability: "strict" });
  return new Promise((done, failed) => {
    const asked = act(transaction.objectStore(table));
    transaction.oncomplete = () => done(asked.result);
    transaction.onabort = () => failed(transaction.error ?? asked.error);
  });
}

/** A UUID of version 7 (RFC 9562): in the order of time. */
export function newID() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const now = Date.now();
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) & 0xff;
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x70;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** All that waits, the oldest first. @returns {Promise<Waiting[]>} */
export async function all() {
  /** @type {Waiting[]} */
  const kept = await inTable("records", "readonly", (t) => t.getAll()).catch(() => []);
  return [...kept, ...loose.values()].sort((a, b) => (a.made < b.made ? -1 : a.made > b.made ? 1 : a.id < b.id ? -1 : 1));
}

/** @param {Waiting} record */
async function put(record) {
  try {
    await inTable("records", "readwrite", (t) => t.put(record));
    loose.delete(record.id);
  } catch {
    loose.set(record.id, record);
  }
}

/**
 * Keeps records that were made together, and sends what waits.
 * @param {...Waiting} records
 */
export async function add(...records) {
  for (const record of records) await put(record);
  changed();
  send();
}

/** @param {string} id */
export async function drop(id) {
  loose.delete(id);
  await inTable("records", "readwrite", (t) => t.delete(id)).catch(() => {});
  changed();
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let later;
let pause = 5_000;

/** Sends all that waits, in one tab at a time; comes again by itself where it can't. */
export function send() {
  clearTimeout(later);
  return navigator.locks.request("lumbricary-records", sendAll).then(
    () => (pause = 5_000),
    (why) => {
      if (why instanceof Refused && why.status === 401) changes.dispatchEvent(new Event("sign-in"));
      else if (!(why instanceof Refused || why instanceof Away)) throw why;
      const wait = why instanceof Refused && why.wait > 0 ? why.wait * 1000 : pause;
      pause = Math.min(pause * 2, 300_000);
      later = setTimeout(send, wait);
    },
  );
}

/** Errors: Away, and Refused where it would be so for every record. */
async function sendAll() {
  for (const { id, by } of await all()) {
    const record = (await all()).find((r) => r.id === id); // another tab may have mended or dropped it
    if (!record || record.problem || by !== who()) continue;
    try {
      await ask("post", `/v1/clubs/{club}/${record.noun}`, { path: { club }, headers: { "Idempotency-Key": `"${record.key}"` }, body: record.body });
      await drop(id);
    } catch (why) {
      if (!(why instanceof Refused) || passing(why)) throw why;
      await put({ ...record, problem: why.problem });
      changed();
    }
  }
}

/** Whether the same call may be taken later. @param {Refused} why */
function passing(why) {
  return [401, 408, 425, 429].includes(why.status) || why.status >= 500 || why.problem.type === "/problems/idempotency-key-busy";
}

addEventListener("online", send);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
addEventListener("beforeunload", (event) => safe() || event.preventDefault());
