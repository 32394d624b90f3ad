// Custom elements that show what a worm club publishes. No framework, no build:
//
//   <script type="module" src="https://SERVICE/elements/lumbricary.js"></script>
//   <lumbricary-season club="harbour"></lumbricary-season>
//   <lumbricary-offers club="harbour"></lumbricary-offers>
//   <lumbricary-lineage club="harbour" culture="ID"></lumbricary-lineage>
//
// They read public addresses of the service that the script came from, send no
// credentials, and put nothing into the page but what stands in their own shadow.
// A page colours them by custom properties (see the style below), and reaches
// their parts: title, facts, chart, table, list, caution, state.

const service = new URL("../", import.meta.url).href;

const css = `
:host { display: block; container-type: inline-size;
  --ink: var(--lumbricary-ink, #23281f); --soft: var(--lumbricary-soft, #5b6354); --line: var(--lumbricary-line, #d5d8cd);
  --paper: var(--lumbricary-paper, #fff); --one: var(--lumbricary-one, #b34a00); --two: var(--lumbricary-two, #00649c);
  color: var(--ink); font: var(--lumbricary-font, inherit); line-height: 1.45; }
@supports (color: light-dark(#000, #fff)) { :host {
  --ink: var(--lumbricary-ink, light-dark(#23281f, #ebeee6)); --soft: var(--lumbricary-soft, light-dark(#5b6354, #b3baa9));
  --line: var(--lumbricary-line, light-dark(#d5d8cd, #474e42)); --paper: var(--lumbricary-paper, light-dark(#fff, #1b1f19));
  --one: var(--lumbricary-one, light-dark(#b34a00, #f2a266)); --two: var(--lumbricary-two, light-dark(#00649c, #7fc4ee)); } }
:host([hidden]) { display: none; }
section { background: var(--paper); border: 1px solid var(--line); border-radius: var(--lumbricary-radius, .4rem); padding: 1rem; }
.title { font-size: 1.2em; line-height: 1.25; margin: 0 0 .5rem; font-weight: 650; text-wrap: balance; }
p { margin: .5rem 0; max-width: 65ch; }
section > :first-child { margin-top: 0; } section > :last-child { margin-bottom: 0; }
.soft { color: var(--soft); font-size: .9em; }
dl { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 7.4rem), 1fr)); gap: .75rem 1rem; margin: .75rem 0 1rem; }
dl div { display: flex; flex-direction: column-reverse; justify-content: flex-end; border-top: 2px solid var(--line); padding-top: .35rem; }
dt { color: var(--soft); font-size: .85em; } dd { margin: 0; font-size: 1.25em; font-weight: 600; line-height: 1.2; }
svg { display: block; overflow: visible; font: inherit; font-size: 13px; }
svg text { fill: var(--ink); } svg .soft { fill: var(--soft); font-size: 12px; }
svg .one { fill: var(--one); } svg .two { fill: var(--two); } svg .axis { stroke: var(--soft); }
svg .way { fill: none; stroke: var(--soft); stroke-width: 1.5; } svg .dot { stroke: var(--two); stroke-width: 2; fill: var(--paper); }
svg .dot.now { fill: var(--two); } svg .root { fill: var(--one); }
ul.list { list-style: none; margin: .5rem 0; padding: 0; display: grid; gap: .75rem; grid-template-columns: repeat(auto-fill, minmax(min(100%, 15rem), 1fr)); }
.list li { border: 1px solid var(--line); border-radius: .3rem; padding: .7rem .8rem; }
.list strong { display: block; font-size: 1.05em; overflow-wrap: anywhere; }
.terms { margin: .3rem 0; } .price { font-weight: 600; white-space: nowrap; }
.caution { border-left: 3px solid var(--one); margin: 1rem 0 0; padding: .1rem 0 .1rem .75rem; font-size: .9em; }
.caution ul { margin: .25rem 0; padding-left: 1.1rem; } .caution li { margin: .25rem 0; }
details { margin-top: .9rem; } summary { cursor: pointer; width: fit-content; padding: .3rem 0; text-decoration: underline; text-underline-offset: .2em; }
.scroll { overflow-x: auto; } table { border-collapse: collapse; margin-top: .4rem; font-size: .9em; }
caption { text-align: left; color: var(--soft); padding-bottom: .3rem; }
th, td { text-align: left; padding: .35rem .9rem .35rem 0; border-bottom: 1px solid var(--line); vertical-align: top; font-weight: inherit; overflow-wrap: anywhere; }
thead th { font-weight: 600; } td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
button { font: inherit; color: inherit; background: none; border: 1px solid currentColor; border-radius: .3rem; padding: .5rem .9rem; min-height: 2.75rem; cursor: pointer; }
:focus-visible { outline: 3px solid var(--two); outline-offset: 2px; }
`;
const sheet = new CSSStyleSheet();
sheet.replaceSync(css);

/** Makes an element: attributes by name, children that are nodes or texts; nothing is left out. */
function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/** The same in a drawing. */
function draw(tag, attributes = {}, ...children) {
  return filled(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

function filled(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) if (value != null) node.setAttribute(name, value);
  node.append(...children.flat().filter((child) => child != null && child !== ""));
  return node;
}

const plural = (n, one, many) => `${n} ${n === 1 ? one : many}`;
const upper = (text) => text.charAt(0).toUpperCase() + text.slice(1);
const short = (text, most) => (text.length > most ? text.slice(0, most - 1) + "…" : text);

/** The language of the page around an element, as its reader writes it: en is en-GB to whoever reads that. */
function languageOf(element) {
  const language = element.closest("[lang]")?.lang;
  return (language && navigator.languages.find((l) => l.startsWith(language))) || language || undefined;
}

/** How numbers and months are written: in the language of the page, in the club's units. */
class Writing {
  constructor(language, units, zone) {
    this.language = language;
    this.us = units === "us";
    this.zone = zone;
  }
  number(value, digits = 3) {
    return new Intl.NumberFormat(this.language, { maximumSignificantDigits: Math.max(digits, String(Math.trunc(Math.abs(value))).length) }).format(value);
  }
  mass(g) {
    const [value, unit] = this.us ? (g && Math.abs(g) < 453.59237 ? [g / 28.349523125, "oz"] : [g / 453.59237, "lb"]) : g && Math.abs(g) < 1000 ? [g, "g"] : [g / 1000, "kg"];
    return `${this.number(value)} ${unit}`;
  }
  quantity({ value, unit }) {
    const names = { "{worms}": value === 1 ? "worm" : "worms", "[lb_av]": "lb", "[oz_av]": "oz", "[gal_us]": "US gal", "[qt_us]": "US qt", "[cft_i]": "cu ft", "[cyd_i]": "cu yd" };
    return `${this.number(value)} ${names[unit] ?? unit}`;
  }
  month(month, style = "long") {
    return new Intl.DateTimeFormat(this.language, { month: style, year: "numeric", timeZone: "UTC" }).format(new Date(`${month}-15T00:00:00Z`));
  }
  day(day) {
    return new Intl.DateTimeFormat(this.language, { dateStyle: "long", timeZone: "UTC" }).format(new Date(`${day}T12:00:00Z`));
  }
  money(minor, currency) {
    const format = new Intl.NumberFormat(this.language, { style: "currency", currency });
    return format.format(minor / 10 ** format.resolvedOptions().maximumFractionDigits);
  }
  share(share) {
    return new Intl.NumberFormat(this.language, { style: "percent", maximumFractionDigits: share > 0.995 && share < 1 ? 1 : 0 }).format(share);
  }
}

/** An element that reads one public address and shows what it answers. */
class Published extends HTMLElement {
  static observedAttributes = ["club", "period", "culture", "lot", "units", "service", "level"];
  #asked = 0;
  #planned = false;
  /** What was answered; null until then. */
  data = null;

  constructor() {
    super();
    this.attachShadow({ mode: "open" }).adoptedStyleSheets = [sheet];
    this.wide = new ResizeObserver(() => this.fit());
  }

  connectedCallback() {
    this.wide.observe(this);
    addEventListener("online", this.comesBack);
    this.plan();
  }

  disconnectedCallback() {
    this.wide.disconnect();
    removeEventListener("online", this.comesBack);
    this.#asked++;
  }

  attributeChangedCallback() {
    if (this.isConnected) this.plan();
  }

  comesBack = () => {
    if (!this.data) this.plan();
  };

  /** Reads again, once for all attributes that change together. */
  plan() {
    if (this.#planned) return;
    this.#planned = true;
    queueMicrotask(() => {
      this.#planned = false;
      this.load();
    });
  }

  /** Reads the address and shows the answer, or says why there is none. */
  async load() {
    const asked = ++this.#asked;
    this.data = null;
    this.say("Reading the club's book …", true);
    const answer = await this.ask();
    if (asked !== this.#asked || !this.isConnected) return;
    if (answer.state === "away") {
      const again = make("button", { type: "button" }, "Try again");
      again.addEventListener("click", () => this.plan());
      this.say("The club's book can't be reached at the moment.", false, again);
    } else if (answer.state === "none") {
      this.say(this.missing);
    } else {
      this.data = answer.data;
      this.write = new Writing(languageOf(this), this.getAttribute("units") ?? answer.data.club.units, answer.data.club.time_zone);
      this.show(this.isEmpty(this.data) ? [this.title(), make("p", { part: "state" }, this.nothing)] : this.render(this.data));
      this.fit();
      this.dispatchEvent(new CustomEvent("lumbricary-data", { detail: this.data, bubbles: true, composed: true }));
    }
  }

  async ask() {
    try {
      const club = encodeURIComponent(this.getAttribute("club") ?? "");
      const address = new URL(`v1/public/clubs/${club}${this.address()}`, this.getAttribute("service") ?? service);
      const answer = await fetch(address, { credentials: "omit", signal: AbortSignal.timeout(20_000) });
      if (answer.ok) return { state: "there", data: await answer.json() };
      return { state: answer.status === 404 || answer.status === 422 ? "none" : "away" };
    } catch {
      return { state: "away" };
    }
  }

  say(text, busy = false, ...more) {
    this.setAttribute("aria-busy", String(busy));
    this.shadowRoot.replaceChildren(make("section", {}, make("p", { part: "state", role: "status" }, text), ...more));
  }

  show(nodes) {
    this.setAttribute("aria-busy", "false");
    this.shadowRoot.replaceChildren(make("section", { "aria-labelledby": "title" }, ...nodes));
  }

  title() {
    const level = Math.min(6, Math.max(2, Number(this.getAttribute("level")) || 2));
    return make("h" + level, { class: "title", part: "title", id: "title" }, this.heading(this.data));
  }

  /** Draws the chart as wide as there is room. */
  fit() {
    const place = this.shadowRoot.querySelector(".chart");
    if (!place || !this.data) return;
    const width = Math.max(240, Math.min(720, Math.floor(place.clientWidth)));
    if (place.dataset.width !== String(width)) {
      place.dataset.width = String(width);
      place.replaceChildren(this.chart(this.data, width));
    }
  }

  cautions(list) {
    return make("aside", { class: "caution", part: "caution", "aria-label": "Cautions" }, make("ul", {}, list.map((text) => make("li", {}, text))));
  }
}

/** Makes a table; the columns whose names end in a number sign hold numbers. */
function table(caption, columns, rows) {
  const name = (c) => c.replace(/#$/, "");
  const of = (c) => (c.endsWith("#") ? "n" : null);
  return make("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": caption, part: "table" },
    make("table", {}, make("caption", {}, caption),
      make("thead", {}, make("tr", {}, columns.map((c) => make("th", { scope: "col", class: of(c) }, name(c))))),
      make("tbody", {}, rows.map((row) => make("tr", {}, row.map((cell, i) => (i ? make("td", { class: of(columns[i]) }, cell) : make("th", { scope: "row" }, cell))))))));
}

const folded = (summary, ...content) => make("details", {}, make("summary", {}, summary), ...content);

/** The figures of a season, and month by month what was fed and harvested. */
class Season extends Published {
  missing = "The club shows no figures of that season.";
  nothing = "Nothing is on record for that time.";

  address() {
    const asked = new URLSearchParams();
    for (const name of ["period", "units"]) if (this.getAttribute(name)) asked.set(name, this.getAttribute(name));
    return `/season${asked.size ? "?" + asked : ""}`;
  }
  isEmpty(s) { return s.empty; }
  heading(s) { return `${s.period.name} at ${s.club.name}`; }

  facts(s) {
    const w = this.write;
    const facts = [["fed", w.mass(s.feed_g)], ["castings harvested", w.mass(s.castings_g)], [s.bins === 1 ? "bin" : "bins", w.number(s.bins)], [s.keepers === 1 ? "keeper" : "keepers", w.number(s.keepers)]];
    if (s.bedding_g) facts.push(["bedding given", w.mass(s.bedding_g)]);
    if (s.yield.value != null) facts.push([`castings from each ${w.us ? "lb" : "kg"} of feed`, `${w.number(s.yield.value, 2)} ${w.us ? "lb" : "kg"}`]);
    return facts;
  }

  render(s) {
    const w = this.write;
    const unit = w.us ? "lb" : "kg";
    const months = s.months.map((m) => [w.month(m.month), w.mass(m.feed_g), w.mass(m.bedding_g), w.mass(m.castings_g)]);
    const moved = s.transfers.map((t) => [{ sale: "sold", swap: "swapped", gift: "given", loan: "lent" }[t.terms] ?? t.terms, { within: "among members", in: "into the club", out: "out of the club" }[t.way], t.commodity.name, w.mass(t.mass_g), w.number(t.times)]);
    const r = s.rate;
    return [
      this.title(),
      make("dl", { part: "facts" }, this.facts(s).map(([name, value]) => make("div", {}, make("dt", {}, name), make("dd", {}, value)))),
      make("div", { class: "chart", part: "chart" }),
      r.value != null ? make("p", { class: "soft" }, `Each ${unit} of worms worked through ${w.number(r.value, 2)} ${unit} of feed a day`, r.low != null ? ` (${w.number(r.low, 2)} to ${w.number(r.high, 2)} with ${w.share(r.level)} confidence)` : "", ".") : null,
      folded("As a table",
        table("Month by month, wet", ["Month", "Fed#", "Bedding#", "Castings#"], months),
        s.stock.length ? table("Worms in the book", ["Species", "At the start#", "At the end#"], s.stock.map((x) => [x.name, w.mass(x.start_g), w.mass(x.end_g)])) : null,
        moved.length ? table("What changed hands (of castings the dry matter)", ["How", "Where", "What", "Mass#", "Times#"], moved) : null),
    ];
  }

  /** A pair of bars for each month, from zero, with their values beside them. */
  chart(s, width) {
    const w = this.write;
    const left = 52, right = 128, bar = 15, row = 46;
    const most = Math.max(1, ...s.months.flatMap((m) => [m.feed_g, m.castings_g]));
    const long = (g) => (g / most) * (width - left - right);
    const rows = s.months.map((m, i) => {
      const y = i * row + 4;
      const beam = (g, name, kind, at) => [
        draw("rect", { class: kind, x: left, y: at, width: Math.max(g > 0 ? 1 : 0, long(g)), height: bar }),
        draw("text", { x: left + long(g) + 6, y: at + bar - 3 }, `${w.mass(g)} ${name}`),
      ];
      return [draw("text", { x: 0, y: y + bar + 5 }, new Intl.DateTimeFormat(w.language, { month: "short", timeZone: "UTC" }).format(new Date(`${m.month}-15T00:00:00Z`))), beam(m.feed_g, "fed", "one", y), beam(m.castings_g, "castings", "two", y + bar + 2)];
    });
    const height = s.months.length * row;
    const told = s.months.map((m) => `${w.month(m.month)}: ${w.mass(m.feed_g)} fed, ${w.mass(m.castings_g)} of castings`).join("; ");
    return draw("svg", { width, height, role: "img", "aria-label": `Fed and harvested by month. ${told}.` }, draw("line", { class: "axis", x1: left, x2: left, y1: 0, y2: height - 6 }), rows.flat(2));
  }
}

/** What members are willing to part with. */
class Offers extends Published {
  missing = "The club shows no offers.";
  nothing = "Nobody has anything to spare at the moment.";

  address() { return "/offers"; }
  isEmpty(o) { return o.items.length === 0; }
  heading(o) { return `To spare at ${o.club.name}`; }

  price(p) {
    const w = this.write;
    const of = { "{worms}": "worm", "[lb_av]": "lb", "[oz_av]": "oz", "[gal_us]": "US gal" };
    return [p.total_minor != null ? w.money(p.total_minor, p.currency) : null, p.unit_minor != null ? `${w.money(p.unit_minor, p.currency)} for each ${of[p.unit] ?? p.unit}` : null].filter(Boolean).join(", ");
  }

  render(o) {
    const w = this.write;
    const words = { sale: "for sale", swap: "to swap", gift: "to give away", loan: "to lend" };
    const item = (x) => make("li", {},
      make("strong", {}, upper(x.what)),
      x.species && x.species.name !== x.what ? make("span", { class: "soft" }, x.species.name) : null,
      make("div", { class: "terms" }, [x.quantity ? w.quantity(x.quantity) : null, x.terms.length ? x.terms.map((t) => words[t] ?? t).join(" or ") : "to be talked about"].filter(Boolean).join(", "), x.price ? [": ", make("span", { class: "price" }, this.price(x.price))] : null),
      make("div", { class: "soft" }, `${x.keeper.name}, since ${w.day(x.since)}${x.until ? `, until ${w.day(x.until)}` : ""}`));
    return [this.title(), make("ul", { class: "list", part: "list" }, o.items.map(item)), this.cautions(o.cautions)];
  }
}

const came = { stocking: "came in", split: "split off", combine: "combined", "hand-over": "handed over", arrival: "arrived", harvest: "moved over", census: "found at a census" };

/** How a culture came to where it lives, or where one lot came from. */
class Lineage extends Published {
  missing = "The club shows no lineage of that.";
  nothing = "The culture lives in no bin at the moment.";

  address() {
    const lot = this.getAttribute("lot");
    return lot ? `/lots/${encodeURIComponent(lot)}/lineage` : `/cultures/${encodeURIComponent(this.getAttribute("culture") ?? "")}/lineage`;
  }
  isEmpty(l) { return l.steps.length === 0; }
  heading(l) { return l.culture ? l.culture.name : `Where this lot of ${l.species.name} came from`; }

  summary(l) {
    if (l.culture) return `${upper(l.culture.species.name)}. Lives in ${plural(l.bins, "bin", "bins")} at ${plural(l.sites, "site", "sites")} with ${plural(l.keepers, "keeper", "keepers")}.`;
    return l.cultures.map((c) => `${this.write.share(c.share)} ${c.name}`).join(", ") + ".";
  }

  render(l) {
    const w = this.write;
    const origins = new Map(l.origins.map((o) => [o.id, `${o.name} (${o.kind})`]));
    const steps = new Map(l.steps.map((s) => [s.lot, s]));
    const from = (s) => s.parents.map((p) => (p.lot ? steps.get(p.lot)?.bin.name : origins.get(p.origin)) ?? "something else").join(", ");
    const rows = l.steps.map((s) => [w.month(s.month), came[s.kind] ?? s.kind, s.bin.name, s.from_keeper && s.from_keeper.id !== s.keeper.id ? `${s.keeper.name}, from ${s.from_keeper.name}` : s.keeper.name, from(s), w.mass(s.mass_g), w.share(s.share), s.stands_g ? w.mass(s.stands_g) : "–"]);
    return [
      this.title(),
      make("p", {}, this.summary(l)),
      make("div", { class: "chart", part: "chart" }),
      l.cut || l.steps.length > Lineage.drawn ? make("p", { class: "soft" }, l.cut ? "Older steps aren't told." : "The table has the older steps too.") : null,
      folded("As a table", table("Step by step, the oldest first", ["Month", "What", "Bin", "Keeper", "Out of", "Then#", "Share#", "Stands now#"], rows)),
      this.cautions(l.cautions),
    ];
  }

  static drawn = 60;

  /** A lane for each bin, a dot for each lot – full where it stands – and a way from what it came out of. */
  chart(l, width) {
    const w = this.write;
    const all = l.steps.slice(-Lineage.drawn);
    const lanes = [...new Set(all.map((s) => s.bin.id))];
    const narrow = width < 480;
    const lane = Math.min(18, (width * (narrow ? 0.25 : 0.4)) / Math.max(1, lanes.length));
    const x = (s) => 8 + lanes.indexOf(s.bin.id) * lane;
    const row = narrow ? 60 : 42, right = lanes.length * lane + 14;
    const chars = Math.floor((width - right) / 6.6);
    const at = new Map(all.map((s, i) => [s.lot, [x(s), i * row + 14]]));
    const ways = all.flatMap((s) => s.parents.filter((p) => at.has(p.lot)).map((p) => {
      const [x1, y1] = at.get(p.lot), [x2, y2] = at.get(s.lot);
      return draw("path", { class: "way", d: x1 === x2 ? `M${x1} ${y1}V${y2}` : `M${x1} ${y1}V${y2 - 29}C${x1} ${y2 - 8} ${x2} ${y2 - 21} ${x2} ${y2}` });
    }));
    const dots = all.flatMap((s) => {
      const [cx, cy] = at.get(s.lot);
      const who = s.from_keeper && s.from_keeper.id !== s.keeper.id ? `${s.from_keeper.name} to ${s.keeper.name}` : s.keeper.name;
      const now = s.stands_g ? `; ${w.mass(s.stands_g)} now` : "";
      return [
        s.parents.some((p) => p.origin) ? draw("rect", { class: "root", x: cx - 7, y: cy - 12, width: 14, height: 4 }) : null,
        draw("circle", { class: s.stands_g ? "dot now" : "dot", cx, cy, r: 5 }),
        draw("text", { x: right, y: cy + 1 }, short(`${w.month(s.month, "short")}: ${came[s.kind] ?? s.kind}, ${w.mass(s.mass_g)}`, chars)),
        (narrow ? [s.bin.name + now, who] : [`${s.bin.name}, ${who}${now}`]).map((line, i) => draw("text", { class: "soft", x: right, y: cy + 17 + i * 15 }, short(line, Math.floor(chars * 1.08)))),
      ].flat();
    });
    const standing = l.steps.filter((s) => s.stands_g).length;
    return draw("svg", { width, height: all.length * row, role: "img", "aria-label": `${plural(l.steps.length, "step", "steps")} from ${w.month(l.steps[0].month)} on, ${standing} of which stand now; the table tells each.` }, ways, dots);
  }
}

for (const [name, element] of [["season", Season], ["offers", Offers], ["lineage", Lineage]]) {
  if (!customElements.get("lumbricary-" + name)) customElements.define("lumbricary-" + name, element);
}
