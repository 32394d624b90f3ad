// @ts-check
// Follows a starter back: by its lot, the bin in which it stands, or a culture.
import { Away } from "./client.js";
import { ask, find, idIn, idOfPage, listCultures, make, scans } from "./page.js";
import { club } from "./settings.js";

const form = /** @type {HTMLFormElement} */ (find("ask"));
const number = /** @type {HTMLInputElement} */ (find("number"));
const wrong = find("wrong"), found = find("found");

/** @param {string} id */
function open(id) {
  if (location.hash === "#" + id) show();
  else location.hash = id;
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const id = idIn(number.value);
  wrong.textContent = id ? "" : "A number has 32 digits and letters from a to f, in five groups.";
  if (id) open(id);
});
scans(find("scan"), find("view"), open);
addEventListener("hashchange", show);

/** Shows the lineage of what the page was opened with. */
async function show() {
  const id = idOfPage();
  wrong.textContent = "";
  if (!id) return;
  number.value = id;
  found.replaceChildren(make("p", { role: "status" }, "Looking it up …"));
  try {
    const way = await wayOf(id);
    if (way) found.replaceChildren(make(/** @type {any} */ ("lumbricary-lineage"), { club, ...way }));
    else found.replaceChildren(make("div", { class: "card", role: "status" }, make("h2", {}, "We show nothing about that number"), make("p", {}, "It may be mistyped, of another club, or of worms whose lineage the club doesn't publish. Ask the keeper who gave you the starter.")));
  } catch (why) {
    if (!(why instanceof Away)) throw why;
    found.replaceChildren(make("p", { class: "error", role: "alert" }, "The club's book can't be reached at the moment. Try again later."));
  }
}

/**
 * What the number is of: a lot, a culture, or a bin in which a copy of one lives.
 * @param {string} id
 */
async function wayOf(id) {
  if (await ask("get", "/v1/public/clubs/{club}/lots/{lot}/lineage", { path: { club, lot: id } }).catch(none)) return { lot: id };
  const cultures = (await published)?.cultures ?? [];
  if (cultures.some((c) => c.id === id)) return { culture: id };
  for (const c of cultures) {
    const lineage = await ask("get", "/v1/public/clubs/{club}/cultures/{culture}/lineage", { path: { club, culture: c.id } }).catch(none);
    const copy = lineage?.copies.find((x) => x.bin.id === id);
    if (copy) return { lot: copy.lot };
  }
  return null;
}

/** @param {unknown} why */
function none(why) {
  if (why instanceof Away) throw why;
  return null;
}

const published = ask("get", "/v1/public/clubs/{club}", { path: { club } }).catch(() => null);
published.then((shown) => listCultures(shown?.cultures ?? []));
show();
