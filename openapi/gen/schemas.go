package main

import (
	"fmt"
	"slices"
	"strings"
)

// finishSchemas says what the Go types know and swag doesn't write. Errors: none
// so far.
func (d *document) finishSchemas() error {
	asked, answered := d.reachable("requestBody"), d.reachable("responses")
	for name, s := range d.schemas() {
		schema := s.(object)
		t := usage{goType: d.goTypes[name], asked: asked[name], answered: answered[name]}
		d.describe(name, schema)
		d.finishMembers(t, schema)
		if t.asked && schema["properties"] != nil {
			schema["additionalProperties"] = false // unknown members are refused
		}
	}
	walk(d.root["components"], tidy)
	walk(d.root["paths"], tidy)
	return nil
}

// usage says where a schema is used.
type usage struct {
	goType          string
	asked, answered bool // in requests, in answers
}

// requires tells whether the member is always there.
func (u usage) requires(f field) bool {
	return f.required || !u.asked && !f.omitted
}

// nullable tells whether the member may be null: in requests, where null means
// not told, what may be left out; in answers, a pointer that isn't left out.
func (u usage) nullable(f field) bool {
	if u.asked && u.answered {
		return false
	}
	if u.asked {
		return !f.required && (f.pointer || f.omitted)
	}
	return f.pointer && !f.omitted
}

func (d *document) finishMembers(u usage, schema object) {
	var required []any
	members := in(schema, "properties")
	for _, name := range sortedKeys(members) {
		member, f := members[name].(object), d.field(u.goType, name)
		if f.clock {
			stamp(member)
		}
		for limit, n := range f.limits {
			member[limit] = n
		}
		if f.units != "" {
			member["description"] = strings.TrimSpace(text(member["description"]) + " (" + strings.ReplaceAll(f.units, " ", " or ") + ")")
		}
		if u.requires(f) {
			required = append(required, name)
		}
		if u.nullable(f) {
			member["x-nullable"] = true
		}
	}
	delete(schema, "required")
	if len(required) > 0 {
		schema["required"] = required
	}
}

// stamp gives a time its format.
func stamp(member object) {
	if items := in(member, "items"); items != nil {
		stamp(items)
		return
	}
	member["format"] = "date-time"
}

// describe takes the schema's description from the Go type's comment, which
// begins with the type's Go name.
func (d *document) describe(name string, schema object) {
	goType := d.goTypes[name]
	doc := strings.Join(strings.Fields(d.structs[goType].doc), " ")
	if doc == "" {
		return
	}
	schema["description"] = strings.Replace(doc, goType[strings.Index(goType, ".")+1:]+" ", name+" ", 1)
}

// tidy writes one schema as OpenAPI 3.1 has it: null as a type, examples as a
// list, formats for numbers; and drops what says nothing.
func tidy(o object) {
	delete(o, "x-enum-varnames")
	if o["uniqueItems"] == false {
		delete(o, "uniqueItems")
	}
	kind := text(o["type"])
	switch {
	case kind == "file":
		o["type"], o["format"] = "string", "binary"
	case kind == "" && o["$ref"] == nil:
		return
	}
	if example, ok := o["example"]; ok {
		o["examples"] = []any{example}
		delete(o, "example")
	}
	if format, ok := map[string]string{"integer": "int64", "number": "double"}[kind]; ok && o["format"] == nil && o["enum"] == nil {
		o["format"] = format
	}
	if o["x-nullable"] == true {
		allowNull(o, kind)
	}
	delete(o, "x-nullable")
}

func allowNull(o object, kind string) {
	if ref, ok := o["$ref"]; ok {
		delete(o, "$ref")
		o["oneOf"] = []any{object{"$ref": ref}, object{"type": "null"}}
		return
	}
	o["type"] = []any{kind, "null"}
	if values, ok := o["enum"].([]any); ok {
		o["enum"] = append(slices.Clone(values), nil)
	}
}

// reachable are the schemas that the named part of the operations leads to.
func (d *document) reachable(part string) map[string]bool {
	found := map[string]bool{}
	var follow func(o object)
	follow = func(o object) {
		name, ok := strings.CutPrefix(text(o["$ref"]), schemaPrefix)
		if !ok || found[name] {
			return
		}
		found[name] = true
		walk(d.schemas()[name], follow)
	}
	for _, op := range d.operations() {
		walk(op.body[part], follow)
	}
	return found
}

// resolve follows a reference within the document.
func (d *document) resolve(schema object) object {
	ref, ok := strings.CutPrefix(text(schema["$ref"]), "#/")
	if !ok {
		return schema
	}
	target := in(d.root, strings.Split(ref, "/")...)
	if target == nil {
		panic(fmt.Sprintf("gen: nothing at %s", ref)) // swag wrote both ends
	}
	return target
}
