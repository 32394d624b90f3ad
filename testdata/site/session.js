// @ts-check
// Who is signed in on this phone. Tabs share the session: only one of them at a
// time gets the next tokens, because each refresh token is good for one use.
import { Refused, client } from "./client.js";
import { service } from "./settings.js";

/** @typedef {import("./client.js").Answer<"post", "/v1/sessions">} Tokens */
/** @typedef {Tokens & { email: string }} Session */

const name = "lumbricary-session";
const open = client(service);

/** @returns {Session | null} */
function read() {
  for (const place of [sessionStorage, localStorage]) {
    try {
      const text = place.getItem(name);
      if (text) return JSON.parse(text);
    } catch {
      // what can't be read is no session
    }
  }
  return null;
}

/**
 * @param {Session} session
 * @param {boolean} stays
 */
function keep(session, stays) {
  (stays ? localStorage : sessionStorage).setItem(name, JSON.stringify(session));
}

function forget() {
  sessionStorage.removeItem(name);
  localStorage.removeItem(name);
}

/** The e-mail address that is signed in; empty: nobody is. */
export const who = () => read()?.email ?? "";

/** The id of the account that is signed in, as its token says; empty: nobody is. */
export function account() {
  const part = read()?.access_token.split(".")[1] ?? "";
  try {
    return String(JSON.parse(atob(part.replaceAll("-", "+").replaceAll("_", "/"))).sub ?? "");
  } catch {
    return "";
  }
}

/**
 * Signs in. Errors: Refused, Away.
 * @param {string} email
 * @param {string} passphrase
 * @param {boolean} stays on this phone
 */
export async function signIn(email, passphrase, stays) {
  const tokens = await open("post", "/v1/sessions", { body: { email, passphrase } });
  forget();
  keep({ ...tokens, email: email.trim().toLowerCase() }, stays);
}

/** Signs out here, and at the service if it can be reached. */
export async function signOut() {
  const session = read();
  forget();
  if (session) await open("post", "/v1/sessions/end", { body: { refresh_token: session.refresh_token } }).catch(() => {});
}

/** The header that says who calls. Errors: Refused with 401 when nobody is signed in; Away. */
async function authorization() {
  return navigator.locks.request(name, async () => {
    const session = read();
    if (!session) throw new Refused(401, { type: "about:blank", title: "", status: 401, detail: "Sign in first." }, 0);
    if (Date.parse(session.expires_at) - Date.now() > 60_000) return { Authorization: `Bearer ${session.access_token}` };
    const stays = localStorage.getItem(name) !== null;
    try {
      const next = await open("post", "/v1/sessions/refresh", { body: { refresh_token: session.refresh_token } });
      keep({ ...next, email: session.email }, stays);
      return { Authorization: `Bearer ${next.access_token}` };
    } catch (why) {
      if (why instanceof Refused && why.status === 401) forget();
      throw why;
    }
  });
}

/** Asks as the member who is signed in. */
export const ask = client(service, authorization);
