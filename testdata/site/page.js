// @ts-check
// What several pages share: the client of public addresses, elements from texts,
// and reading a number from a label.
import { client } from "./client.js";
import { service } from "./settings.js";

/** Asks public addresses: nobody is signed in. */
export const ask = client(service);

/**
 * The element with that id; a mistake in the page if there is none.
 * @template {HTMLElement} [T=HTMLElement]
 * @param {string} id
 * @returns {T}
 */
export function find(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return /** @type {T} */ (found);
}

/**
 * Makes an element with attributes and children; texts stay texts.
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, string | undefined>} [attributes]
 * @param {...(Node | string | null | undefined)} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== undefined) node.setAttribute(name, value);
  node.append(...children.filter((child) => child != null && child !== "").map((child) => child ?? ""));
  return node;
}

/** The digits of the short form in which labels tell ids: Crockford's base 32. */
const digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/**
 * The id in what a label says, however it is written: the id alone, an address
 * that ends in it, urn:uuid:…, or the short form of the code and below it.
 * @param {string} text
 */
export function idIn(text) {
  const id = /[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}/i.exec(text);
  if (id) return id[0].toLowerCase();
  const last = text.split(/[#/=]/).pop() ?? "";
  const short = last.toUpperCase().replace(/[\s-]/g, "").replace(/[IL]/g, "1").replace(/O/g, "0");
  if (!/^[0-7][0-9A-HJKMNP-TV-Z]{25}$/.test(short)) return "";
  const bits = [...short].reduce((sum, digit) => sum * 32n + BigInt(digits.indexOf(digit)), 0n);
  return bits.toString(16).padStart(32, "0").replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

/** The id that the page was opened with: keeper.html#ID or keeper.html?bin=ID. */
export const idOfPage = () => idIn(decodeURIComponent(location.hash)) || idIn(new URLSearchParams(location.search).get("bin") ?? "");

/**
 * Lets a button scan a label where the browser can read codes; else it stays hidden.
 * @param {HTMLElement} button
 * @param {HTMLVideoElement} view
 * @param {(id: string) => void} found
 */
export function scans(button, view, found) {
  const Detector = /** @type {any} */ (globalThis).BarcodeDetector;
  if (!Detector || !navigator.mediaDevices?.getUserMedia) return;
  button.hidden = false;
  button.addEventListener("click", async () => {
    const detector = new Detector({ formats: ["qr_code"] });
    const camera = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } }).catch(() => null);
    if (!camera) return;
    view.hidden = false;
    view.srcObject = camera;
    await view.play();
    let id = "";
    while (!id && !view.hidden) {
      const codes = await detector.detect(view).catch(() => []);
      id = codes.map((/** @type {{ rawValue: string }} */ c) => idIn(c.rawValue)).find(Boolean) ?? "";
      await new Promise((done) => setTimeout(done, 200));
    }
    for (const track of camera.getTracks()) track.stop();
    view.hidden = true;
    if (id) found(id);
  });
}

/**
 * Lists the cultures that the club publishes.
 * @param {{ id: string, name: string, species: { name: string } }[]} cultures
 */
export function listCultures(cultures) {
  const place = find("cultures");
  place.querySelector("ul")?.replaceChildren(...cultures.map((c) => make("li", {}, make("a", { href: `starter.html#${c.id}` }, c.name, make("span", {}, c.species.name)))));
  place.hidden = cultures.length === 0;
}

/**
 * Tells search engines what the page shows, as data of schema.org.
 * @param {object} data
 */
export function tell(data) {
  document.head.append(make("script", { type: "application/ld+json" }, JSON.stringify({ "@context": "https://schema.org", ...data })));
}
