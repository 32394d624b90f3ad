package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

// printBreaking writes one line for everything that would break callers of the
// older document. Errors: those of the file system and of package json.
func printBreaking(older, newer string, out io.Writer) error {
	before, err := load(older)
	if err != nil {
		return err
	}
	after, err := load(newer)
	if err != nil {
		return err
	}
	for _, line := range breaking(before, after) {
		fmt.Fprintln(out, line)
	}
	return nil
}

// load reads a document. Errors: those of the file system and of package json.
func load(path string) (*document, error) {
	body, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	d := &document{source: &source{}}
	return d, json.Unmarshal(body, &d.root)
}

// comparison gathers what breaks callers between two documents.
type comparison struct {
	before, after *document
	found         []string
}

// breaking lists what breaks callers: an operation, an answer or a member of an
// answer that is gone, a member or parameter that must be given now, a value
// that is no longer taken, one that answers didn't have.
func breaking(before, after *document) []string {
	c := &comparison{before: before, after: after}
	for _, op := range before.operations() {
		name := strings.ToUpper(op.method) + " " + op.path
		now := in(after.root, "paths", op.path, op.method)
		if now == nil {
			c.say("%s is gone", name)
			continue
		}
		c.parameters(name, op.body, now)
		c.request(name, op.body, now)
		c.answers(name, op.body, now)
	}
	return c.found
}

func (c *comparison) say(format string, a ...any) {
	c.found = append(c.found, fmt.Sprintf(format, a...))
}

func (c *comparison) parameters(name string, before, after object) {
	old := parametersOf(c.before, before)
	now := parametersOf(c.after, after)
	for _, key := range sortedKeys(now) {
		if old[key] == nil && in(now, key)["required"] == true {
			c.say("%s needs the parameter %s", name, key)
		}
	}
	for _, key := range sortedKeys(old) {
		if now[key] == nil {
			c.say("%s no longer takes the parameter %s", name, key)
		}
	}
}

// parametersOf are an operation's parameters by place and name.
func parametersOf(d *document, op object) object {
	all := object{}
	list, _ := op["parameters"].([]any)
	for _, p := range list {
		p := d.resolve(p.(object))
		all[text(p["in"])+" "+text(p["name"])] = p
	}
	return all
}

func (c *comparison) request(name string, before, after object) {
	old, now := in(before, "requestBody", "content"), in(after, "requestBody", "content")
	for _, media := range sortedKeys(old) {
		if now[media] == nil {
			c.say("%s no longer reads %s", name, media)
			continue
		}
		at := place{name + " " + media, true, 0}
		c.schema(at, in(old, media, "schema"), in(now, media, "schema"))
	}
}

func (c *comparison) answers(name string, before, after object) {
	old, now := in(before, "responses"), in(after, "responses")
	for _, status := range sortedKeys(old) {
		if now[status] == nil {
			if status < "400" {
				c.say("%s no longer answers %s", name, status)
			}
			continue
		}
		was := in(c.before.resolve(in(old, status)), "content")
		is := in(c.after.resolve(in(now, status)), "content")
		for _, media := range sortedKeys(was) {
			if is[media] == nil {
				c.say("%s %s no longer answers with %s", name, status, media)
				continue
			}
			c.schema(place{name + " " + status, false, 0}, in(was, media, "schema"), in(is, media, "schema"))
		}
	}
}

// deepest is how far schemas that contain themselves are compared.
const deepest = 12

// place is where two schemas are compared.
type place struct {
	name  string
	asked bool // in a request
	depth int
}

func (p place) member(name string) place { return place{p.name + "/" + name, p.asked, p.depth + 1} }

// schema compares two schemas.
func (c *comparison) schema(at place, old, now object) {
	was, is := c.before.takesNull(old), c.after.takesNull(now)
	switch {
	case at.asked && was && !is:
		c.say("%s can't be null", at.name)
	case !at.asked && is && !was:
		c.say("%s may be null", at.name)
	}
	old, now = c.before.plain(old), c.after.plain(now)
	if at.depth > deepest || old == nil || now == nil {
		return
	}
	if o, n := kindOf(old), kindOf(now); o != n {
		c.say("%s is %s, not %s", at.name, n, o)
		return
	}
	c.values(at, old["enum"], now["enum"])
	c.members(at, old, now)
	if items := in(old, "items"); items != nil {
		c.schema(at.member("*"), items, in(now, "items"))
	}
}

// takesNull tells whether null is one of the schema's values.
func (d *document) takesNull(schema object) bool {
	kinds, _ := schema["type"].([]any)
	return slices.Contains(kinds, any("null")) || schema["oneOf"] != nil
}

// plain is what a schema says but for null.
func (d *document) plain(schema object) object {
	schema = d.resolve(schema)
	if either, ok := schema["oneOf"].([]any); ok {
		return d.plain(either[0].(object))
	}
	return schema
}

func (c *comparison) members(at place, old, now object) {
	was, is := in(old, "properties"), in(now, "properties")
	for _, name := range sortedKeys(was) {
		if is[name] == nil {
			c.say("%s/%s is gone", at.name, name)
			continue
		}
		c.schema(at.member(name), in(was, name), in(is, name))
	}
	for _, name := range missing(old["required"], now["required"]) {
		if at.asked {
			c.say("%s/%v must be given", at.name, name)
		}
	}
	for _, name := range missing(now["required"], old["required"]) {
		if !at.asked && is[text(name)] != nil {
			c.say("%s/%v may be left out", at.name, name)
		}
	}
}

// values compares enumerations: all that callers could send must still be
// taken, and what they get must be among what they could get.
func (c *comparison) values(at place, old, now any) {
	switch {
	case at.asked && old == nil && now != nil:
		c.say("%s takes only some values", at.name)
	case at.asked && now != nil:
		for _, v := range missing(now, old) {
			c.say("%s no longer takes %v", at.name, v)
		}
	case !at.asked && old != nil:
		for _, v := range missing(old, now) {
			c.say("%s may be %v", at.name, v)
		}
	}
}

// missing are the items that are wanted and not there, null aside.
func missing(there, wanted any) []any {
	has, _ := there.([]any)
	wants, _ := wanted.([]any)
	return slices.DeleteFunc(slices.Clone(wants), func(v any) bool { return v == nil || slices.Contains(has, v) })
}
