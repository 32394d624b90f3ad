// @ts-check
// The club's home: lists its cultures, and tells search engines of its offers.
import { ask, listCultures, tell } from "./page.js";
import { club } from "./settings.js";

/** @typedef {import("./client.js").Answer<"get", "/v1/public/clubs/{club}/offers">} Offers */

const element = document.querySelector("lumbricary-offers");
element?.addEventListener("lumbricary-data", (event) => tellOffers(/** @type {CustomEvent<Offers>} */ (event).detail));
const there = /** @type {{ data?: Offers } | null} */ (element)?.data;
if (there) tellOffers(there);

/** @param {Offers} offers */
function tellOffers(offers) {
  if (offers.items.length === 0) return;
  tell({
    "@type": "OfferCatalog",
    name: `To spare at ${offers.club.name}`,
    itemListElement: offers.items.map((o) => ({
      "@type": "Offer",
      name: o.what,
      offeredBy: { "@type": "Organization", "@id": "#club", name: offers.club.name },
      ...(o.until ? { validThrough: o.until } : {}),
      ...(o.price ? { priceSpecification: price(o.price) } : {}),
    })),
  });
}

/** @param {NonNullable<Offers["items"][number]["price"]>} p */
function price(p) {
  const digits = new Intl.NumberFormat("en", { style: "currency", currency: p.currency }).resolvedOptions().maximumFractionDigits ?? 2;
  const minor = p.unit_minor ?? p.total_minor ?? 0;
  return {
    "@type": p.unit_minor != null ? "UnitPriceSpecification" : "PriceSpecification",
    price: (minor / 10 ** digits).toFixed(digits),
    priceCurrency: p.currency,
    ...(p.unit_minor != null && p.unit ? { unitText: p.unit === "{worms}" ? "worm" : p.unit } : {}),
  };
}

ask("get", "/v1/public/clubs/{club}", { path: { club } }).then((shown) => listCultures(shown.cultures), () => {});
