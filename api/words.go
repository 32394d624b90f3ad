package api

import "strings"

// reasonWords says why a figure can't be had.
var reasonWords = map[string]string{
	"no-full-harvest":    "no full harvest closed in that time",
	"no-feed":            "nothing was fed",
	"moisture-unknown":   "a moisture is missing",
	"no-leftover-record": "no check says what was left of the feed",
	"leftover-unknown":   "the checks don't say what was left of every feeding",
	"no-stock-estimate":  "the stock at the start isn't known",
	"no-stock":           "the book has no worms there",
	"no-bin":             "there was no bin",
	"no-bin-with-a-rate": "no bin has all the records that a rate needs",
	"no-records-before":  "nothing was recorded a year before",
	"no-surface":         "the surface of the bin isn't known",
	"nothing-received":   "nothing came in",
	"nothing-before":     "there was nothing a year before",
	"not-recorded":       "nobody recorded it",
}

// flagWords says what a flag on a figure gives away.
var flagWords = map[string]string{
	"outside-published-range":                  "outside what has been published",
	"stock-underestimated-or-feed-not-weighed": "likely the stock is underestimated or the feed wasn't weighed",
	"stock-overestimated-or-feeding-missing":   "likely the stock is overestimated or a feeding is missing",
	"more-than-a-worm-can-take":                "more than a worm is thought to eat",
	"no-change-seen":                           "no feed was seen to go",
	"stock-below-zero":                         "more worms left than there were",
	"mass-not-conserved":                       "more solids came out than went in: a feeding, an earlier harvest or a truer moisture is missing",
	"bedding-may-explain-it":                   "the bedding may explain it",
	"yield-suspiciously-low":                   "few solids came out: a harvest may be missing",
	"conversion-falls":                         "so dense that the worms turn feed to castings less well",
	"over-customary-density":                   "denser than is customary",
}

// missingWords says what a bin lacks, and for what.
var missingWords = map[string]string{
	"no-full-harvest":       "No full harvest, so no yield",
	"no-leftover-record":    "No check of what was left of the feed, so no processing rate",
	"no-recent-census":      "No census within 180 days, so the stock is by the book alone",
	"feed-without-moisture": "Feed without a moisture, so no dry figures",
	"feed-not-weighed":      "Feed that wasn't weighed, in part at least",
	"harvest-not-measured":  "A harvest without a moisture, so its dry matter is taken for granted",
	"harvest-without-mass":  "A full harvest without a mass of castings",
	"no-check":              "No check",
	"no-stock":              "Fed, but the book has no worms",
}

// changeWords names the figures that a season is compared by.
var changeWords = map[string]string{
	"received-wet": "Received", "rejected-wet": "Rejected", "diverted-wet": "Diverted",
	"bins": "Bins", "fed-wet": "Feed", "fed-dry": "Feed, dry", "bedding-wet": "Bedding",
	"castings-wet": "Castings", "castings-dry": "Castings, dry",
	"yield-wet": "Yield", "yield-dry": "Dry yield",
	"yield-wet-with-bedding": "Yield with bedding", "yield-dry-with-bedding": "Dry yield with bedding",
	"rate": "Rate", "stock-end": "Worms at the end",
}

// inWords looks a code up, and spells out one that has no words of its own.
func inWords(words map[string]string, code string) string {
	if w, ok := words[code]; ok {
		return w
	}
	return strings.ReplaceAll(code, "-", " ")
}
