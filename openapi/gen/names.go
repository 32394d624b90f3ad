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

// rename gives schemas the names that callers see: Bin for api.binResponse,
// BinPage for api.Page-api_Bin. Errors: two schemas want one name.
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
		d.goTypes[clean] = unqualified(strings.Split(name, "-")[0])
	}
	d.root["components"].(object)["schemas"] = renamed
	walk(d.root, func(o object) {
		if to, ok := names[text(o["$ref"])]; ok {
			o["$ref"] = to
		}
	})
	return nil
}

// cleanName is the name of a schema for callers.
func cleanName(name string) string {
	parts := strings.Split(name, "-")
	generic := exported(parts[0])
	if len(parts) == 1 {
		return generic
	}
	var arguments strings.Builder
	for _, p := range parts[1:] {
		if _, bare, ok := strings.Cut(p, "_"); ok {
			p = bare
		}
		arguments.WriteString(exported(p))
	}
	return arguments.String() + generic
}

func exported(name string) string {
	name = strings.TrimSuffix(unqualified(name), "Response")
	first, size := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[size:]
}

func unqualified(name string) string { return name[strings.LastIndex(name, ".")+1:] }

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
