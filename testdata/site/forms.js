// @ts-check
// What the forms at the bin mean: from what was typed to what the book takes.

/**
 * @typedef {Record<string, string>} Typed
 * @typedef {import("./client.js").Body<"post", "/v1/clubs/{club}/feedings">} NewFeeding
 * @typedef {import("./client.js").Body<"post", "/v1/clubs/{club}/checks">} NewCheck
 * @typedef {import("./client.js").Body<"post", "/v1/clubs/{club}/harvests">} NewHarvest
 * @typedef {import("./client.js").Body<"post", "/v1/clubs/{club}/movements">} NewMovement
 * @typedef {{ id: string, bin: string, at: string }} About
 */

/** A number with a point or a comma. @param {string | undefined} text */
const number = (text) => Number((text ?? "").replace(",", "."));

/** @param {string | undefined} text */
const given = (text) => (text ?? "").trim() !== "";

/** @param {Typed} t */
const note = (t) => (given(t.note) ? { note: (t.note ?? "").trim() } : {});

/** What each form makes of what was typed: the noun, the body, and words for people. */
export const forms = {
  feeding: {
    noun: /** @type {const} */ ("feedings"),
    /** @param {Typed} t @param {About} a @returns {NewFeeding} */
    body(t, a) {
      const amount = number(t.amount);
      const measure = /^measure:(.*)$/.exec(t.unit ?? "")?.[1];
      const item = measure ? { material: t.material ?? "", measure, count: amount } : { material: t.material ?? "", quantity: { value: amount, unit: t.unit ?? "kg" } };
      return { ...a, items: [item], ...(given(t.placement) ? { placement: /** @type {"pocket"} */ (t.placement) } : {}), ...note(t) };
    },
    /** @param {Typed} t @param {(name: string) => string} label */
    said: (t, label) => `Fed ${t.amount} ${label("unit")} of ${label("material")}`,
  },
  check: {
    noun: /** @type {const} */ ("checks"),
    /** @param {Typed} t @param {About} a @returns {NewCheck} */
    body(t, a) {
      return {
        ...a,
        ...(given(t.leftover) ? { leftover_pct: number(t.leftover) } : {}),
        ...(given(t.squeeze) ? { squeeze: /** @type {"drops"} */ (t.squeeze) } : {}),
        ...(given(t.temperature) ? { temperature: { value: number(t.temperature), unit: t.degrees ?? "Cel" } } : {}),
        ...(t.ammonia ? { ammonia: true } : {}),
        ...(t.escape ? { escape: true } : {}),
        ...note(t),
      };
    },
    /** @param {Typed} t */
    said: (t) => "Looked: " + ([given(t.leftover) ? `${t.leftover} % left` : "", { dry: "too dry", drops: "moist", stream: "too wet" }[t.squeeze ?? ""] ?? "", given(t.temperature) ? `${t.temperature} ${t.degrees === "[degF]" ? "°F" : "°C"}` : "", t.ammonia ? "smells of ammonia" : "", t.escape ? "worms escaped" : ""].filter(Boolean).join(", ") || "noted"),
  },
  harvest: {
    noun: /** @type {const} */ ("harvests"),
    /** @param {Typed} t @param {About} a @returns {NewHarvest} */
    body(t, a) {
      return {
        ...a, full: t.full === "yes", castings: { value: number(t.amount), unit: t.unit ?? "kg" }, batch: t.batch ?? "",
        ...(given(t.moisture) ? { moisture_pct: number(t.moisture) } : {}), ...note(t),
      };
    },
    /** @param {Typed} t @param {(name: string) => string} label */
    said: (t, label) => `Harvested ${t.amount} ${label("unit")} of castings, ${t.full === "yes" ? "all there was" : "a part"}`,
  },
  split: {
    noun: /** @type {const} */ ("movements"),
    /** @param {Typed} t @param {About} a @returns {NewMovement} */
    body(t, a) {
      return {
        id: a.id, at: a.at, kind: "split", to_bin: t.to ?? "", lines: [{ from_bin: a.bin, quantity: { value: number(t.amount), unit: t.unit ?? "g" } }],
        ...(given(t.material) ? { material: { value: number(t.material), unit: "kg" } } : {}), ...note(t),
      };
    },
    /** @param {Typed} t @param {(name: string) => string} label */
    said: (t, label) => `Split off ${t.amount} ${label("unit")} into ${label("to")}`,
  },
};

/** @typedef {keyof typeof forms} FormName */
