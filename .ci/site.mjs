// The example club site in a browser: see site. Arguments: the site's folder, the
// service's address, a folder for temporary files.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";

const [folder, service, temp] = process.argv.slice(2);
const pictures = process.env.PICTURES;
if (pictures) mkdirSync(pictures, { recursive: true });
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const steward = { email: "ines@harbour.example", passphrase: "tide lantern bucket cellar" };

/** Serves the site from an origin of its own. */
function serve() {
  const types = { ".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml" };
  const readme = readFileSync(path.join(folder, "../../README.md"), "utf8").split("\n## On the club's website\n")[1];
  const copied = `<!doctype html><html lang="en"><title>Copied</title><h1>Copied</h1>${/^```html\n([^]*?)^```$/m.exec(readme)[1]}</html>`;
  const server = createServer((request, answer) => {
    const name = path.basename(new URL(request.url, "http://site").pathname) || "index.html";
    try {
      const body = (name === "copied.html" ? copied : readFileSync(path.join(folder, name), "utf8")).replaceAll("https://worms.example", service);
      answer.writeHead(200, { "Content-Type": `${types[path.extname(name)]}; charset=utf-8` }).end(body);
    } catch {
      answer.writeHead(404).end();
    }
  });
  return new Promise((done) => server.listen(0, "127.0.0.1", () => done({ at: `http://localhost:${server.address().port}`, other: `http://127.0.0.1:${server.address().port}`, server })));
}

let token = "";
/** Asks the service past any browser. */
async function api(method, place, body, headers = {}) {
  const media = method === "PATCH" ? "application/merge-patch+json" : "application/json";
  const all = { ...(body ? { "Content-Type": media } : {}), ...(token ? { Authorization: `Bearer ${token}` } : {}), ...headers };
  const answer = await fetch(service + place, { method, headers: all, body: body && JSON.stringify(body) });
  const text = await answer.text();
  assert.ok(answer.ok, `${method} ${place}: ${answer.status} ${text}`);
  return text ? JSON.parse(text) : null;
}
const club = (method, place, body, headers) => api(method, "/v1/clubs/harbour" + place, body, headers);

let done = 0;
const began = Date.now();
async function proves(what, check) {
  await check();
  done++;
  console.log(`ok ${what} (${((Date.now() - began) / 1000).toFixed(0)}s)`);
}

const site = await serve();
token = (await api("POST", "/v1/sessions", steward)).access_token;
await club("PATCH", "", { allowed_origins: [site.at], publish_season: true, publish_offers: true }, { "If-Match": "*" });
const members = (await club("GET", "/members?limit=100")).items;
const cultures = (await club("GET", "/cultures?limit=100")).items;
for (const c of cultures.slice(0, 4)) await club("PATCH", `/cultures/${c.id}`, { published: true }, { "If-Match": "*" });
const bins = (await club("GET", "/bins?limit=100")).items.filter((b) => b.retired === null);
const batches = (await club("GET", "/batches?limit=100")).items;
const tote = bins.find((b) => b.name === "Cellar Two");
const stock = await club("GET", `/bins/${tote.id}/stock`);
await club("POST", "/offers", { what: "Reds, call me", species: stock.stock[0].species.id, quantity: { value: 250, unit: "g" }, terms: ["swap", "gift"] });
await club("POST", "/offers", { what: "Fine castings", batch: batches[0].id, quantity: { value: 5, unit: "kg" }, terms: ["sale"], price: { unit_minor: 450, unit: "kg", currency: "EUR" }, until: "2099-12-31" });
const fed = async () => (await club("GET", "/reports/seasons/current")).total.sums.feed_g;

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"] });
const phone = { viewport: { width: 360, height: 740 }, isMobile: true, hasTouch: true, deviceScaleFactor: 2 };
const desk = { viewport: { width: 1200, height: 800 } };
const heard = []; // what the service answered to pages without a token

/** Opens a context in which a fault of a page or of the policy fails the run. */
async function context(options = {}) {
  const c = await browser.newContext({ ...desk, locale: "en-GB", ...options });
  c.setDefaultTimeout(15_000);
  c.faults = [];
  c.on("page", (page) => {
    page.on("pageerror", (why) => c.faults.push(String(why)));
    page.on("console", (line) => /Content Security Policy|Refused to/.test(line.text()) && c.faults.push(line.text()));
  });
  return c;
}
const close = async (c) => {
  assert.deepEqual(c.faults, []);
  await c.close();
};
const settled = (page) => page.waitForFunction(() => ![...document.querySelectorAll("lumbricary-season, lumbricary-offers, lumbricary-lineage")].some((e) => e.getAttribute("aria-busy") !== "false"));
async function picture(page, name) {
  if (pictures) await page.screenshot({ path: path.join(pictures, name + ".png"), fullPage: !name.includes("form") });
}
async function accessible(page, what) {
  await page.evaluate(axe + ";0");
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ") + " " + n.failureSummary).join("; ")}`), [], what);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0, `${what} is ${wide} px too wide`);
}

const lot = stock.stock[0].lot;
const structured = [];
// Colours don't hang on the screen, so two of the four will do; pictures are of all.
const looks = Object.entries({ phone, desk }).flatMap(([screen, size]) => ["light", "dark"].map((colorScheme) => ({ screen, size, colorScheme }))).filter((_, i) => pictures || i === 0 || i === 3);
for (const { screen, size, colorScheme } of looks) {
  await proves(`home and starter, ${screen}, ${colorScheme}: shown, accessible, without names`, async () => {
    const c = await context({ ...size, colorScheme });
    const page = await c.newPage();
    page.on("response", async (r) => r.url().startsWith(service) && heard.push(await r.text().catch(() => "")));
    await page.goto(site.at + "/?period");
    await settled(page);
    await page.locator("#cultures a").first().waitFor();
    const season = page.locator("lumbricary-season");
    assert.equal(await season.locator("svg").count(), 1);
    await picture(page, `home-${screen}-${colorScheme}`);
    await season.locator("summary").press("Enter");
    assert.ok(await season.locator("tbody tr").first().isVisible());
    await accessible(page, "home");
    structured.push(...(await page.locator('script[type="application/ld+json"]').allTextContents()));
    await page.goto(`${site.at}/starter.html`);
    await page.locator("#number").fill(`urn:uuid:${cultures[0].id}`);
    await page.locator("#number").press("Enter");
    await page.locator("lumbricary-lineage svg").waitFor();
    await picture(page, `culture-${screen}-${colorScheme}`);
    await page.locator("lumbricary-lineage summary").press("Enter");
    await accessible(page, "starter");
    structured.push(...(await page.locator('script[type="application/ld+json"]').allTextContents()));
    await close(c);
  });
}

await proves("a starter is followed back by its lot, by its bin, and nothing is told of a number that nobody has", async () => {
  const c = await context(phone);
  const page = await c.newPage();
  const copies = (await api("GET", `/v1/public/clubs/harbour/cultures/${cultures[0].id}/lineage`)).copies;
  for (const id of [copies[0].lot, copies[0].bin.id]) {
    await page.goto(`${site.at}/starter.html#${id}`);
    await page.reload();
    await page.locator("lumbricary-lineage h2").waitFor();
    assert.match(await page.locator("lumbricary-lineage h2").innerText(), /Where this lot of/);
  }
  await picture(page, "starter-phone-light");
  await page.goto(`${site.at}/starter.html#0197aaaa-0000-7000-8000-00000000000f`);
  await page.getByText("We show nothing about that number").waitFor();
  await picture(page, "starter-unknown-phone-light");
  await accessible(page, "an unknown starter");
  await close(c);
});

await proves("empty, missing and away say so, and what was away comes back", async () => {
  const c = await context({ ...phone, colorScheme: "dark" });
  const page = await c.newPage();
  await c.route(service + "/v1/public/**", (route) => route.abort());
  await page.goto(site.at);
  await settled(page);
  await page.locator("lumbricary-season").getByText("can't be reached").waitFor();
  await picture(page, "home-away-phone-dark");
  await accessible(page, "home while the service is away");
  await c.unroute(service + "/v1/public/**");
  await page.locator("lumbricary-season button").click();
  await page.locator("lumbricary-season svg").waitFor();
  await page.evaluate(() => {
    document.querySelector("lumbricary-season").setAttribute("period", "1990");
    document.querySelector("lumbricary-offers").setAttribute("club", "no-such-club");
  });
  await page.locator("lumbricary-season").getByText("Nothing is on record").waitFor();
  await page.locator("lumbricary-offers").getByText("shows no offers").waitFor();
  await picture(page, "home-empty-phone-dark");
  await accessible(page, "home when empty");
  await close(c);
});

await proves("what the README says to copy into a page works there", async () => {
  const c = await context();
  const page = await c.newPage();
  await page.goto(site.at + "/copied.html");
  await page.locator("lumbricary-season svg").waitFor();
  await page.locator("lumbricary-offers li").first().waitFor();
  await close(c);
});

await proves("what is due at a bin is shown where the service tells it", async () => {
  const c = await context(phone);
  await c.route(`${service}/v1/clubs/harbour/bins/*/due`, (route) =>
    route.fulfill({ headers: { "Access-Control-Allow-Origin": site.at }, json: { items: [{ title: "First check of Cellar Two", detail: "10 days since the bin was started", due: "2026-11-25" }] } }));
  const page = await atTheBin(c);
  await page.locator("#due").getByText("First check of Cellar Two").waitFor();
  await picture(page, "keeper-due-phone-light");
  await accessible(page, "due");
  await close(c);
});

await proves("no public answer has a name, and no page but a listed one reads what is private", async () => {
  assert.ok(heard.length > 12);
  for (const m of members) for (const text of heard.filter((t) => !t.includes("customElements"))) assert.ok(!text.includes(m.name) && !text.includes(m.id), `${m.name} is in ${text.slice(0, 200)}`);
  const c = await context();
  const page = await c.newPage();
  const ask = (place, bearer) => page.evaluate(([url, t]) => fetch(url, t ? { headers: { Authorization: `Bearer ${t}` } } : {}).then((r) => r.status, () => "blocked"), [service + place, bearer]);
  await page.goto(site.at + "/settings.js");
  assert.equal(await ask("/v1/clubs/harbour/members"), 401);
  assert.equal(await ask("/v1/clubs/harbour/members", token), 200);
  assert.equal(await ask("/v1/clubs/lagoon/members", token), "blocked");
  assert.equal(await ask("/v1/me", token), "blocked");
  await page.goto(site.other + "/settings.js");
  for (const place of ["/v1/clubs/harbour", "/v1/clubs/harbour/members", "/v1/clubs/harbour/bins", "/v1/clubs/harbour/reports/seasons/current", "/v1/me", "/v1/sessions"]) assert.equal(await ask(place, token), "blocked", place);
  assert.equal(await ask("/v1/public/clubs/harbour"), 200);
  await close(c);
});

/** Signs in at the keeper's page of a bin. */
async function atTheBin(c, id = tote.id) {
  const page = await c.newPage();
  await page.goto(`${site.at}/keeper.html#${id}`);
  await page.getByLabel("E-mail address").fill(steward.email);
  await page.getByLabel("Passphrase").fill(steward.passphrase);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.locator("#name").waitFor();
  await page.locator("#timeline li").first().waitFor();
  await page.waitForFunction(() => document.querySelector("#about").textContent !== "");
  return page;
}
async function feed(page, kg) {
  await page.getByRole("button", { name: "Feed", exact: true }).click();
  await page.locator("#feeding .choices label").first().click();
  await page.getByLabel("How much").first().fill(String(kg));
  await page.locator("#feeding button[value=record]").click();
}
const says = (page, text) => page.locator("#state").getByText(text).waitFor();

for (const { screen, size, colorScheme } of looks) {
  await proves(`the keeper's page, ${screen}, ${colorScheme}: shown and accessible`, async () => {
    const c = await context({ ...size, colorScheme });
    const page = await c.newPage();
    await page.goto(`${site.at}/keeper.html#${tote.id}`);
    await page.getByLabel("E-mail address").waitFor();
    await picture(page, `keeper-sign-in-${screen}-${colorScheme}`);
    await accessible(page, "sign-in");
    await page.close();
    const bin = await atTheBin(c);
    await picture(bin, `keeper-bin-${screen}-${colorScheme}`);
    await accessible(bin, "bin");
    structured.push(...(await bin.locator('script[type="application/ld+json"]').allTextContents()));
    for (const [button, form] of [["Feed", "feeding"], ["Look", "check"], ["Harvest", "harvest"], ["Split", "split"]]) {
      await bin.getByRole("button", { name: button, exact: true }).click();
      await picture(bin, `keeper-form-${form}-${screen}-${colorScheme}`);
      await accessible(bin, form);
      await bin.keyboard.press("Escape");
    }
    await bin.locator("#others").click();
    await bin.locator("#mine a").first().waitFor();
    await picture(bin, `keeper-bins-${screen}-${colorScheme}`);
    await accessible(bin, "bins");
    await close(c);
  });
}

await proves("what is recorded without a connection arrives exactly once in the season's report", async () => {
  const before = await fed();
  const c = await context(phone);
  const page = await atTheBin(c);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.reload();
  await page.locator("#timeline li").first().waitFor();
  await c.setOffline(true);
  await feed(page, 1.25);
  await says(page, "Waiting to send (1)");
  await page.getByRole("button", { name: "Look", exact: true }).click();
  await page.locator("#leftover").fill("20");
  await page.locator("#check").getByText("Gives drops").click();
  await page.locator("#check button[value=record]").click();
  await says(page, "Waiting to send (2)");
  await picture(page, "keeper-waiting-phone-light");
  await accessible(page, "waiting");
  await page.reload();
  await says(page, "Waiting to send (2)");
  await page.locator("#timeline .waiting").getByText("Fed 1.25 kg").waitFor();
  await page.getByText("No connection: as it was").waitFor();
  assert.equal(await fed(), before);
  let lost = 0;
  await c.route(service + "/v1/clubs/harbour/feedings", async (route) => {
    if (route.request().method() === "POST" && lost++ === 0) {
      await route.fetch(); // it arrives, and its answer is lost
      return route.abort();
    }
    return route.continue();
  });
  await c.setOffline(false);
  await page.waitForFunction(() => navigator.onLine);
  await page.waitForTimeout(500);
  await page.locator("#send").click().catch(() => {});
  await says(page, "All is sent");
  assert.ok(lost >= 2, "its answer was not lost");
  assert.equal(await fed(), before + 1250);
  const checks = (await club("GET", `/bins/${tote.id}/timeline?order=newest&limit=5&kind=check`)).items;
  assert.equal(checks[0].check.leftover_pct, 20);
  assert.equal(checks[0].check.squeeze, "drops");
  await close(c);
});

await proves("a refused record says why, and is mended or dropped", async () => {
  const c = await context(phone);
  const page = await atTheBin(c);
  const split = async (amount) => {
    await page.locator("#split-amount").fill(amount);
    await page.locator("#split button[value=record]").click();
  };
  await page.getByRole("button", { name: "Split", exact: true }).click();
  await split("99000");
  await page.locator(".refused").getByText("more than the book").waitFor();
  await picture(page, "keeper-refused-phone-light");
  await accessible(page, "refused");
  await page.getByRole("button", { name: "Mend it" }).click();
  assert.equal(await page.locator("#split-amount").inputValue(), "99000");
  await split("5");
  await page.locator("#timeline").getByText("Split 5 g").first().waitFor();
  assert.equal(await page.locator(".refused").count(), 0);
  await page.getByRole("button", { name: "Split", exact: true }).click();
  await split("99001");
  await page.getByRole("button", { name: "Drop it" }).click();
  await page.locator(".refused").waitFor({ state: "detached" });
  await close(c);
});

await proves("a harvest goes into a batch that is made with it", async () => {
  const c = await context(phone);
  const page = await atTheBin(c);
  await page.getByRole("button", { name: "Harvest", exact: true }).click();
  await page.locator("#harvest").getByText("A part", { exact: true }).click();
  await page.locator("#harvest-amount").fill("2,5");
  await page.locator("#harvest button[value=record]").click();
  await page.locator("#timeline").getByText("Harvested 2.5 kg of castings, a part").first().waitFor();
  await says(page, "All is sent");
  assert.equal((await club("GET", "/batches?limit=100")).items.length, batches.length + 1);
  await close(c);
});

await proves("a phone without room says so, and what was recorded still arrives once", async () => {
  const before = await fed();
  const c = await context(phone);
  await c.addInitScript(() => {
    IDBObjectStore.prototype.put = () => {
      throw new DOMException("full", "QuotaExceededError");
    };
  });
  const page = await atTheBin(c);
  await c.setOffline(true);
  await feed(page, 0.75);
  await says(page, "no room");
  await page.locator("#timeline .waiting").getByText("Fed 750 g").or(page.locator("#timeline .waiting").getByText("Fed 0.75 kg")).waitFor();
  await picture(page, "keeper-full-phone-light");
  await c.setOffline(false);
  await says(page, "All is sent");
  assert.equal(await fed(), before + 750);
  await close(c);
});

await proves("two tabs send what waits once, and stay signed in", async () => {
  const before = await fed();
  const c = await context(desk);
  const one = await atTheBin(c);
  const two = await c.newPage();
  await two.goto(one.url());
  await two.locator("#timeline li").first().waitFor();
  await c.setOffline(true);
  await feed(one, 2);
  await feed(two, 3);
  await says(one, "Waiting to send (2)");
  await says(two, "Waiting to send (2)");
  await one.evaluate(() => {
    const s = JSON.parse(localStorage.getItem("lumbricary-session"));
    localStorage.setItem("lumbricary-session", JSON.stringify({ ...s, expires_at: "2000-01-01T00:00:00Z" }));
  });
  await c.setOffline(false);
  await Promise.all([says(one, "All is sent"), says(two, "All is sent")]);
  assert.equal(await fed(), before + 5000);
  await Promise.all([one.reload(), two.reload()]);
  for (const page of [one, two]) await page.locator("#timeline").getByText("Fed 3 kg").first().waitFor();
  await close(c);
});

await proves("a label is scanned where the browser reads codes", async () => {
  const label = await fetch(`${service}/v1/clubs/harbour/bins/${tote.id}/label.svg`, { headers: { Authorization: `Bearer ${token}` } });
  const code = [...(await label.text()).matchAll(/class="typed"[^>]*>(\w+)/g)].map((line) => line[1]).join("");
  assert.equal(code.length, 26);
  const c = await context(phone);
  await c.addInitScript((code) => {
    globalThis.BarcodeDetector = class {
      async detect() {
        return [{ rawValue: code }];
      }
    };
  }, code);
  const page = await atTheBin(c);
  await page.locator("#others").click();
  await page.getByRole("button", { name: "Scan" }).click();
  await page.waitForURL(`**#${tote.id}`);
  await page.locator("#name").getByText(tote.name).waitFor();
  await page.goto("about:blank");
  await page.goto(`${site.at}/keeper.html#${code}`);
  await page.locator("#name").getByText(tote.name).waitFor();
  await close(c);
});

await proves("who agreed to be shown by name is, until they take it back", async () => {
  const me = members.find((m) => m.name === "Inês Tavarela");
  await club("POST", `/members/${me.id}/public-name`, { public_name: "Inês of the harbour" });
  const c = await context();
  const page = await c.newPage();
  await page.goto(site.at);
  await page.locator("lumbricary-offers").getByText("Inês of the harbour").first().waitFor();
  await page.locator("lumbricary-offers").getByText("Reds, call me").first().waitFor();
  await club("POST", `/members/${me.id}/public-name`, { public_name: null });
  await close(c);
});

await proves("the pages' structured data is of schema.org, and true", async () => {
  const all = [...new Set(structured)].map((text) => JSON.parse(text));
  assert.deepEqual([...new Set(all.map((d) => d["@type"]))].sort(), ["OfferCatalog", "Organization", "WebPage"]);
  const shown = await api("GET", "/v1/public/clubs/harbour");
  assert.equal(all.find((d) => d["@type"] === "Organization").name, shown.name);
  const offers = (await api("GET", "/v1/public/clubs/harbour/offers")).items;
  const catalog = all.find((d) => d["@type"] === "OfferCatalog").itemListElement;
  assert.deepEqual(catalog.map((o) => o.name).length, offers.length);
  assert.deepEqual(catalog[0].priceSpecification, { "@type": "UnitPriceSpecification", price: "4.50", priceCurrency: "EUR", unitText: "kg" });
  symlinkSync(path.resolve("node_modules"), path.join(temp, "node_modules"));
  writeFileSync(path.join(temp, "data.ts"), `import type { Thing, WithContext } from "schema-dts";\n${all.map((d, i) => `export const d${i}: WithContext<Thing> = ${JSON.stringify(d)};`).join("\n")}\n`);
  try {
    execFileSync("tsc", ["--strict", "--noEmit", "--skipLibCheck", "--moduleResolution", "bundler", "--module", "es2022", "--target", "es2022", path.join(temp, "data.ts")], { encoding: "utf8" });
  } catch (why) {
    assert.fail(why.stdout);
  }
});

await browser.close();
site.server.close();
console.log(`${done} proofs`);
