// @ts-check
// Tells the records of a bin in words.

/** @typedef {import("./client.js").Answer<"get", "/v1/clubs/{club}/bins/{bin}/timeline">["items"][number]} Event */
/** @typedef {{ materials: Map<string, string>, measures: Map<string, string>, bins: Map<string, string> }} Names */

/** @param {number} g */
export const mass = (g) => (Math.abs(g) < 1000 ? `${round(g)} g` : `${round(g / 1000)} kg`);

/** @param {number} value */
const round = (value) => new Intl.NumberFormat(language, { maximumSignificantDigits: 3 }).format(value);

/** The language of the page, as its reader writes it. */
const language = navigator.languages.find((l) => l.startsWith(document.documentElement.lang)) ?? document.documentElement.lang;

/** @param {string} at a time, or a date in the club's zone */
export function day(at) {
  const whole = at.length === 10;
  return new Intl.DateTimeFormat(language, whole ? { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" } : { day: "numeric", month: "long", year: "numeric", hour: "numeric", minute: "2-digit" }).format(new Date(whole ? `${at}T12:00:00Z` : at));
}

/** How long ago. @param {string} at */
export function ago(at) {
  const days = Math.floor((Date.now() - Date.parse(at)) / 86_400_000);
  return days <= 0 ? "today" : days === 1 ? "yesterday" : `${days} days ago`;
}

/**
 * What an event says.
 * @param {Event} e
 * @param {string} bin of which the timeline is
 * @param {Names} n
 */
export function told(e, bin, n) {
  if (e.feeding) return "Fed " + e.feeding.items.map((i) => `${mass(i.wet_g)} of ${n.materials.get(i.material) ?? "something"}`).join(", ");
  if (e.check) return "Looked: " + (seen(e.check) || "noted");
  if (e.harvest) return `Harvested ${mass(e.harvest.wet_g)} of castings, ${e.harvest.full ? "all there was" : "a part"}`;
  if (e.census) return e.census.estimate.value === null ? "Counted" : `Counted: ${mass(e.census.estimate.value * (grams[e.census.estimate.unit] ?? 1))}`;
  if (e.quarantine) return "In quarantine";
  if (e.movement) return moved(e.movement, bin, n);
  return e.kind;
}

/** In a unit. @type {Record<string, number>} */
const grams = { kg: 1000, "[lb_av]": 453.59237, "[oz_av]": 28.349523125 };

/** @type {Record<string, string>} */
const squeezed = { dry: "too dry", drops: "moist", stream: "too wet" };

/** @type {Record<string, string>} */
const verbs = { stocking: "Stocked", split: "Split", combine: "Combined", "hand-over": "Handed over", dispatch: "Sent", arrival: "Arrived", loss: "Lost", use: "Used", reversal: "Taken back" };

/** @param {NonNullable<Event["check"]>} c */
function seen(c) {
  return [
    c.leftover_pct !== null ? `${c.leftover_pct} % left` : "",
    squeezed[c.squeeze ?? ""] ?? "",
    c.temperature_c !== null ? `${round(c.temperature_c)} °C` : "",
    c.ammonia ? "smells of ammonia" : "",
    c.escape ? "worms escaped" : "",
  ].filter(Boolean).join(", ");
}

/** @param {NonNullable<Event["movement"]>} m @param {string} bin @param {Names} n */
function moved(m, bin, n) {
  const verb = verbs[m.kind] ?? m.kind;
  const into = m.to_bin === bin ? ", into this bin" : m.to_bin ? `, into ${n.bins.get(m.to_bin) ?? "another bin"}` : "";
  return `${verb} ${mass(m.lines.reduce((sum, l) => sum + l.mass_g, 0))}${into}`;
}
