package main

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
)

// What bounds everything that is sent: no text is longer than the body or the
// head that holds it, and no list has more items than a body has room for.
const (
	bodyBytes    = 1 << 20
	bigBodyBytes = 16 << 20
	headBytes    = 64 << 10
	itemBytes    = 2 // the least that an item takes: a digit and a comma
)

// lengths are the longest texts of each format.
var lengths = map[string]float64{
	"uuid": 36, "date": 10, "date-time": float64(len("2026-05-01T09:30:00.000000000+00:00")),
}

// addLimits says of everything that is sent how much of it is taken: what a
// handler declares, else what its format or the limit of the body allows.
func (d *document) addLimits() error {
	for _, op := range d.operations() {
		bytes := float64(bodyBytes)
		if op.flags["big"] {
			bytes = bigBodyBytes
		}
		seen := map[string]bool{}
		walk(op.body["requestBody"], func(o object) { d.limit(o, bytes, seen) })
		given, _ := op.body["parameters"].([]any)
		for _, p := range given {
			d.limit(in(d.resolve(p.(object)), "schema"), headBytes, seen)
		}
	}
	return nil
}

// limit bounds a schema and those that it refers to. One that several routes
// read gets the bound of the largest.
func (d *document) limit(schema object, bytes float64, seen map[string]bool) {
	if ref := text(schema["$ref"]); ref != "" && !seen[ref] {
		seen[ref] = true
		walk(d.resolve(schema), func(o object) { d.limit(o, bytes, seen) })
	}
	switch kindOf(schema) {
	case "string":
		if schema["enum"] == nil {
			widen(schema, "maxLength", bytes, lengths[text(schema["format"])])
		}
	case "array":
		widen(schema, "maxItems", math.Floor(bytes/itemBytes), 0)
		if items := in(schema, "items"); items != nil {
			d.limit(items, bytes, seen)
		}
	case "integer":
		if schema["enum"] == nil {
			wholeNumber(schema)
		}
	}
}

// widen sets a limit that isn't set, or that a smaller body has set: to exact, or
// where that is 0 to the most that the body allows.
func widen(schema object, name string, most, exact float64) {
	if exact > 0 {
		most = exact
	}
	outer := []float64{bodyBytes, math.Floor(bodyBytes / itemBytes), headBytes}
	if had := schema[name]; had == nil || slices.Contains(outer, asNumber(had)) && asNumber(had) < most {
		schema[name] = most
	}
}

// wholeNumber sets the limits that a whole number has by its format.
func wholeNumber(schema object) {
	low, high := int64(math.MinInt64), int64(math.MaxInt64)
	if schema["format"] == "int32" {
		low, high = math.MinInt32, math.MaxInt32
	}
	for name, n := range map[string]int64{"minimum": low, "maximum": high} {
		if schema[name] == nil {
			schema[name] = json.Number(strconv.FormatInt(n, 10))
		}
	}
}
