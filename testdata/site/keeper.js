// @ts-check
// The keeper's page: opened by the code on a bin's label, it shows the bin and
// records what is done there, with or without a connection.
import { Away, Refused } from "./client.js";
import * as book from "./book.js";
import { forms } from "./forms.js";
import { find, idIn, idOfPage, make, scans } from "./page.js";
import * as records from "./records.js";
import * as session from "./session.js";
import { ago, day, told } from "./timeline.js";

/** @typedef {import("./forms.js").FormName} FormName */
/** @typedef {import("./forms.js").Typed} Typed */

const sections = ["sign-in", "bins", "bin", "trouble"];

/** Shows one section, and hides the others. @param {string} id */
function turnTo(id) {
  for (const other of sections) find(other).hidden = other !== id;
}

/** Whether somebody has to sign in before what waits can be sent. */
let locked = false;

/** What forms choose from: material with those that were fed lately first. @type {{ material: Choice[], measure: Choice[], bin: Choice[], beside: Choice[], batch: Choice[] }} */
const known = { material: [], measure: [], bin: [], beside: [], batch: [] };
/** @typedef {{ value: string, label: string }} Choice */

/** Opens what the page was opened with. */
async function open() {
  find("out").hidden = !session.who();
  if (!session.who()) return turnTo("sign-in");
  try {
    const id = idOfPage();
    await (id ? openBin(id) : openBins());
    locked = false;
  } catch (why) {
    trouble(why);
  }
}

/** @param {unknown} why */
function trouble(why) {
  if (why instanceof Refused && why.status === 401) {
    locked = true;
    return turnTo("sign-in");
  }
  if (!(why instanceof Refused || why instanceof Away)) throw why;
  find("trouble-title").textContent = why instanceof Away ? "No connection" : why.status === 404 ? "No such bin here" : "That didn't work";
  find("trouble-text").textContent = why instanceof Away ? "This phone hasn't read that yet. Come back with a connection." : why.problem.detail;
  turnTo("trouble");
}

async function openBins() {
  const [{ data: bins }, { data: members }] = await Promise.all([
    book.read("/v1/clubs/{club}/bins", {}, { limit: 100 }), book.read("/v1/clubs/{club}/members", {}, { limit: 100 }),
  ]);
  const names = new Map(members.items.map((m) => [m.id, m.name]));
  const all = bins.items.filter((b) => b.retired === null).sort((a, b) => a.name.localeCompare(b.name));
  const me = members.items.find((m) => m.account === session.account())?.id;
  for (const [place, some] of /** @type {const} */ ([["mine", all.filter((b) => b.keeper === me)], ["theirs", all.filter((b) => b.keeper !== me)]])) {
    find(place).replaceChildren(...some.map((b) => make("li", {}, make("a", { href: `#${b.id}` }, b.name, make("span", {}, names.get(b.keeper))))));
    find(place + "-title").hidden = some.length === 0;
  }
  document.title = "My bins";
  turnTo("bins");
}

/** @param {string} id */
async function openBin(id) {
  const bin = await book.read("/v1/clubs/{club}/bins/{bin}", { bin: id });
  find("name").textContent = bin.data.name;
  document.title = bin.data.name;
  find("about").textContent = "";
  find("timeline").replaceChildren();
  find("due").hidden = true;
  turnTo("bin");
  await choices(bin.data);
  await Promise.all([showTimeline(id), showStock(id), showDue(id)]);
}

/** Reads what forms choose from. @param {{ id: string, keeper: string }} here */
async function choices(here) {
  const [materials, measures, bins, batches] = await Promise.all([
    book.read("/v1/clubs/{club}/materials", {}, { limit: 100 }), book.read("/v1/clubs/{club}/measures", {}, { limit: 100 }),
    book.read("/v1/clubs/{club}/bins", {}, { limit: 100 }), book.read("/v1/clubs/{club}/batches", {}, { limit: 100 }),
  ]);
  known.material = materials.data.items.map((m) => ({ value: m.id, label: m.name }));
  known.measure = measures.data.items.map((m) => ({ value: m.id, label: m.name }));
  known.bin = bins.data.items.map((b) => ({ value: b.id, label: b.name }));
  known.beside = bins.data.items.filter((b) => b.retired === null && b.keeper === here.keeper && b.id !== here.id).map((b) => ({ value: b.id, label: b.name }));
  known.batch = batches.data.items.map((b) => ({ value: b.id, label: b.lot_number })).reverse();
}

/** @param {Choice[]} list */
const names = (list) => new Map(list.map((c) => [c.value, c.label]));

/** @param {string} id */
async function showTimeline(id) {
  const { data, at, old } = await book.read("/v1/clubs/{club}/bins/{bin}/timeline", { bin: id }, { order: "newest", limit: 30 });
  const n = { materials: names(known.material), measures: names(known.measure), bins: names(known.bin) };
  const waiting = (await records.all()).filter((r) => r.bin === id && !r.problem && r.noun !== "batches").reverse();
  find("timeline").replaceChildren(
    ...waiting.map((r) => make("li", { class: "waiting" }, make("strong", {}, r.said), make("span", { class: "soft small" }, `${day(r.made)}, waiting to send`))),
    ...data.items.map((e) => make("li", {}, make("strong", {}, told(e, id, n)), make("span", { class: "soft small" }, day((e.feeding ?? e.check ?? e.harvest ?? e.movement ?? e.census ?? e.quarantine ?? e).at)))),
  );
  if (find("timeline").childElementCount === 0) find("timeline").append(make("li", {}, "Nothing yet."));
  find("old").hidden = !old;
  find("old").textContent = old ? `No connection: as it was on ${day(at)}.` : "";
  const lately = [...new Set(data.items.flatMap((e) => e.feeding?.items.map((i) => i.material) ?? []))];
  known.material.sort((a, b) => place(lately, a.value) - place(lately, b.value) || a.label.localeCompare(b.label));
  const last = (/** @type {"feeding" | "check"} */ kind) => data.items.find((e) => e.kind === kind)?.at;
  const fed = last("feeding"), looked = last("check");
  find("about").dataset.last = [fed ? `Fed ${ago(fed)}.` : "Not fed lately.", looked ? `Looked at ${ago(looked)}.` : "Not looked at lately."].join(" ");
  sayAbout();
}

/** Where a text stands in a list; behind it, if it doesn't. @param {string[]} list @param {string} text */
const place = (list, text) => (list.indexOf(text) + 1 || list.length + 1);

/** @param {string} id */
async function showStock(id) {
  const found = await book.read("/v1/clubs/{club}/bins/{bin}/stock", { bin: id }).catch(() => null);
  find("about").dataset.stock = found ? found.data.stock.map((s) => `${s.species.name}: ${Math.round(s.book_g)} g.`).join(" ") || "No worms in the book." : "";
  sayAbout();
}

function sayAbout() {
  const { stock = "", last = "" } = find("about").dataset;
  const text = `${stock} ${last}`.trim();
  find("about").textContent = text.charAt(0).toUpperCase() + text.slice(1);
}

/** Shows what is due at the bin, where the service has a due list. @param {string} id */
async function showDue(id) {
  const found = await book.read(/** @type {any} */ ("/v1/clubs/{club}/bins/{bin}/due"), { bin: id }).catch(() => null);
  /** @type {{ title: string, detail: string, due: string }[]} */
  const items = /** @type {any} */ (found?.data)?.items ?? [];
  find("due").hidden = items.length === 0;
  find("due").querySelector("ul")?.replaceChildren(...items.map((i) => make("li", {}, make("strong", {}, i.title), make("br"), make("span", { class: "soft small" }, `${day(i.due)}: ${i.detail}`))));
}

/** Fills the choices of a form. @param {HTMLFormElement} form @param {FormName} name */
function fill(form, name) {
  const options = (/** @type {Choice[]} */ list) => list.map((c) => make("option", { value: c.value }, c.label));
  const chips = (/** @type {Choice[]} */ list) => list.map((c) => make("label", {}, make("input", { type: "radio", name: "material", value: c.value, required: "" }), c.label));
  form.querySelector('[data-choices="lately"]')?.replaceChildren(...chips(known.material.slice(0, 4)));
  form.querySelector('[data-choices="rest"]')?.replaceChildren(...chips(known.material.slice(4)));
  find("rest").hidden = known.material.length <= 4;
  const units = { feeding: ["kg", "g", "L", "[lb_av]"], harvest: ["kg", "g", "[lb_av]"], split: ["g", "%", "{worms}", "[oz_av]"], check: [] }[name].map((u) => ({ value: u, label: unitNames[u] ?? u }));
  if (name === "feeding") units.push(...known.measure.map((c) => ({ value: `measure:${c.value}`, label: `× ${c.label}` })));
  form.querySelector('[name="unit"]')?.replaceChildren(...options(units));
  form.querySelector('[name="to"]')?.replaceChildren(...options(known.beside));
  form.querySelector('[name="batch"]')?.replaceChildren(...options([{ value: "new", label: "a new batch" }, ...known.batch]));
}

/** @type {Record<string, string>} */
const unitNames = { "[lb_av]": "lb", "[oz_av]": "oz", "{worms}": "worms", "%": "% of the bin" };

/**
 * Opens a form, empty or with what was typed before, and records what is typed.
 * @param {FormName} name
 * @param {import("./records.js").Waiting} [mended]
 */
function ask(name, mended) {
  const dialog = /** @type {HTMLDialogElement} */ (find(name));
  const form = /** @type {HTMLFormElement} */ (dialog.querySelector("form"));
  fill(form, name);
  form.reset();
  touch("");
  for (const [field, value] of Object.entries(mended?.typed ?? {})) {
    const control = form.elements.namedItem(field);
    if (control instanceof HTMLInputElement && control.type === "checkbox") control.checked = value !== "";
    else if (control instanceof RadioNodeList || control instanceof HTMLInputElement || control instanceof HTMLSelectElement || control instanceof HTMLTextAreaElement) control.value = value;
  }
  if (mended?.typed.leftover) touch(mended.typed.leftover);
  /** @type {HTMLDetailsElement} */ (find("rest")).open = known.material.findIndex((c) => c.value === mended?.typed.material) > 3;
  dialog.returnValue = "";
  dialog.onclose = () => {
    if (dialog.returnValue === "record") record(name, typedIn(form), label(form), mended).catch(trouble);
  };
  dialog.showModal();
}

/** @param {HTMLFormElement} form @returns {Typed} */
function typedIn(form) {
  /** @type {Typed} */
  const typed = {};
  for (const [field, value] of new FormData(form)) typed[field] = String(value);
  if (typed.leftover !== undefined && find("leftover").dataset.touched === "") delete typed.leftover;
  return typed;
}

/** What a field's choice is called. @param {HTMLFormElement} form */
const label = (form) => (/** @type {string} */ field) => {
  const control = form.elements.namedItem(field);
  if (control instanceof HTMLSelectElement) return control.selectedOptions[0]?.textContent ?? "";
  return form.querySelector(`[name="${field}"]:checked`)?.closest("label")?.textContent ?? "";
};

/**
 * Records what was typed: kept on the phone first, sent as soon as it can be.
 * @param {FormName} name
 * @param {Typed} typed
 * @param {(field: string) => string} called
 * @param {import("./records.js").Waiting} [mended]
 */
async function record(name, typed, called, mended) {
  const { noun, body, said } = forms[name];
  const about = { id: mended?.id ?? records.newID(), bin: mended?.bin ?? idOfPage(), at: typed.at ? new Date(typed.at).toISOString() : mended?.body.at ?? new Date().toISOString() };
  const made = Date.now();
  const common = { form: name, bin: about.bin, by: session.who() };
  const all = [];
  if (typed.batch === "new") {
    typed = { ...typed, batch: records.newID() };
    all.push({ ...common, id: typed.batch ?? "", key: records.newID(), noun: /** @type {const} */ ("batches"), body: { id: typed.batch, product: "castings" }, typed: {}, said: "A new batch of castings", made: new Date(made - 1).toISOString() });
  }
  all.push({ ...common, id: about.id, key: records.newID(), noun, body: body(typed, about), typed, said: said(typed, called), made: mended?.made ?? new Date(made).toISOString() });
  await records.add(...all);
}

/** Says what waits, and what was refused. */
async function sayState() {
  const all = (await records.all()).filter((r) => r.noun !== "batches" || r.problem);
  const refused = all.filter((r) => r.problem), waiting = all.filter((r) => !r.problem && r.by === session.who()), others = all.filter((r) => !r.problem && r.by !== session.who());
  const says = [];
  if (waiting.length) says.push(`Waiting to send (${waiting.length})`);
  if (others.length) says.push(`${others.length} of ${others[0]?.by}: sign in to send`);
  if (locked && waiting.length) says.push("sign in to send");
  if (!records.safe()) says.push("this phone has no room: keep this page open until it is sent");
  find("state").textContent = says.join("; ") || (!session.who() ? "Nobody is signed in" : navigator.onLine ? "All is sent" : "No connection");
  find("bar").classList.toggle("waits", waiting.length + others.length > 0);
  find("send").hidden = waiting.length === 0;
  find("out").hidden = !session.who() || waiting.length > 0;
  find("refused").replaceChildren(...refused.map(refusal));
}

/** A record that the book refused, with its words. @param {import("./records.js").Waiting} r */
function refusal(r) {
  const mend = make("button", { type: "button", class: "main" }, "Mend it"), drop = make("button", { type: "button" }, "Drop it");
  mend.addEventListener("click", () => ask(/** @type {FormName} */ (r.form), r));
  drop.addEventListener("click", () => records.drop(r.id));
  const faults = r.problem?.errors ?? [];
  return make("div", { class: "card refused" }, make("h2", {}, "Not recorded: " + r.said), make("p", {}, r.problem?.detail ?? ""),
    faults.length ? make("ul", {}, ...faults.map((f) => make("li", {}, `${f.pointer.replace(/^\//, "").replaceAll("/", " ")}: ${f.detail}`))) : null,
    make("div", { class: "row" }, r.noun === "batches" ? null : mend, drop));
}

/** Moves the slider of leftovers; empty: nobody has judged them. @param {string} value */
function touch(value) {
  const slider = /** @type {HTMLInputElement} */ (find("leftover"));
  slider.dataset.touched = value;
  slider.value = value || "50";
  find("left").textContent = value ? `${value} % left` : "not judged";
}

find("leftover").addEventListener("input", (event) => touch(/** @type {HTMLInputElement} */ (event.target).value));
find("nothing-left").addEventListener("click", () => touch("0"));
for (const button of document.querySelectorAll("button[data-form]")) {
  button.addEventListener("click", () => ask(/** @type {FormName} */ (/** @type {HTMLElement} */ (button).dataset.form)));
}

find("number-form").addEventListener("submit", (event) => {
  event.preventDefault();
  const id = idIn(/** @type {HTMLInputElement} */ (find("number")).value);
  find("number-wrong").textContent = id ? "" : "A number has 32 digits and letters from a to f, in five groups.";
  if (id) location.hash = id;
});
scans(find("scan"), find("view"), (id) => (location.hash = id));

find("sign-in").querySelector("form")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = /** @type {HTMLFormElement} */ (event.target);
  const typed = new FormData(form), wrong = form.querySelector(".error"), button = form.querySelector("button");
  if (wrong) wrong.textContent = "";
  if (button) button.disabled = true;
  try {
    await session.signIn(String(typed.get("email")), String(typed.get("passphrase")), typed.has("stays"));
    form.reset();
    await open();
    await sayState();
    records.send();
  } catch (why) {
    if (!(why instanceof Refused || why instanceof Away)) throw why;
    if (wrong) wrong.textContent = why instanceof Away ? "There is no connection to the club's book." : why.problem.detail;
  } finally {
    if (button) button.disabled = false;
  }
});
find("out").addEventListener("click", async () => {
  await session.signOut();
  await book.forget();
  await open();
  await sayState();
});
find("send").addEventListener("click", () => records.send());
find("others").addEventListener("click", (event) => {
  event.preventDefault();
  history.pushState(null, "", "keeper.html");
  open();
});

let shown = 0;
records.changes.addEventListener("change", async () => {
  const turn = ++shown;
  await sayState();
  if (turn === shown && !find("bin").hidden) showTimeline(idOfPage()).catch(() => {});
});
records.changes.addEventListener("sign-in", () => {
  locked = true;
  turnTo("sign-in");
  sayState();
});
addEventListener("hashchange", open);
addEventListener("popstate", open);
addEventListener("online", sayState);
addEventListener("offline", sayState);

sayState();
open();
records.send();
if ("serviceWorker" in navigator) navigator.serviceWorker.register("sw.js").catch(() => {});
