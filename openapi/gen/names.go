package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

const schemaPrefix = "#/components/schemas/"

// rename gives schemas the names that callers see: Bin for api.Bin, BinPage for
// api.Page-api_Bin, BookfileBin for bookfile.Bin. Errors: two schemas want one name.
func (d *document) rename() error {
	d.goTypes = map[string]string{}
	names, renamed := map[string]string{}, object{}
	old := d.schemas()
	for _, name := range slices.Sorted(maps.Keys(old)) {
		clean := cleanName(name)
		if _, taken := renamed[clean]; taken {
			return fmt.Errorf("two schemas want the name %s; one is %s", clean, name)
		}
		names[schemaPrefix+name] = schemaPrefix + clean
		renamed[clean] = old[name]
		d.goTypes[clean] = strings.Split(name, "-")[0]
	}
	d.root["components"].(object)["schemas"] = renamed
	walk(d.root, func(o object) {
		if to, ok := names[text(o["$ref"])]; ok {
			o["$ref"] = to
		}
	})
	return nil
}

// cleanName is the name of a schema for callers: type arguments stand before
// the generic type's name.
func cleanName(name string) string {
	parts := strings.Split(name, "-")
	var clean strings.Builder
	for _, argument := range parts[1:] {
		clean.WriteString(exported(strings.Replace(argument, "_", ".", 1)))
	}
	return clean.String() + exported(parts[0])
}

// exported is a type's name with a capital, after that of its package where
// this isn't api.
func exported(name string) string {
	pkg, bare, found := strings.Cut(name, ".")
	switch {
	case !found:
		return capital(name)
	case pkg == "api":
		return capital(bare)
	default:
		return capital(pkg) + capital(bare)
	}
}

func capital(name string) string {
	first, size := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[size:]
}

// walk calls f on every object under v, outermost first.
func walk(v any, f func(object)) {
	switch v := v.(type) {
	case object:
		f(v)
		for _, k := range slices.Sorted(maps.Keys(v)) {
			walk(v[k], f)
		}
	case []any:
		for _, item := range v {
			walk(item, f)
		}
	}
}

func text(v any) string {
	s, _ := v.(string)
	return s
}

// in returns the object at the path, or nil.
func in(o object, path ...string) object {
	for _, p := range path {
		o, _ = o[p].(object)
	}
	return o
}
