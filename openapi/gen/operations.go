package main

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// operation is one method of one path.
type operation struct {
	route
	body object
}

// operations are all that the annotations describe, in the order of their paths.
func (d *document) operations() []operation {
	var all []operation
	paths := in(d.root, "paths")
	for _, path := range sortedKeys(paths) {
		item := paths[path].(object)
		for _, method := range sortedKeys(item) {
			all = append(all, operation{route: d.routeAt(method, path), body: item[method].(object)})
		}
	}
	return all
}

// routeAt finds a line of the route table; its flags are nil when there is none.
func (s *source) routeAt(method, path string) route {
	i := slices.IndexFunc(s.routes, func(r route) bool { return r.method == method && r.path == path })
	if i < 0 {
		return route{method: method, path: path}
	}
	return s.routes[i]
}

// finishOperations says of each operation what its route says. Errors: every
// route without an operation, every operation without a route, every operation
// without an id, a summary or a tag.
func (d *document) finishOperations() error {
	if err := d.matchRoutes(); err != nil {
		return err
	}
	for _, op := range d.operations() {
		d.finishParameters(op)
		delete(op.body, "security") // the document's own holds, but for public routes
		if security := op.security(); security != nil {
			op.body["security"] = security
		}
		finishBody(op)
		d.finishResponses(op)
	}
	return nil
}

func (d *document) matchRoutes() error {
	var errs []error
	for _, rt := range d.routes {
		if in(d.root, "paths", rt.path, rt.method) == nil {
			errs = append(errs, fmt.Errorf("%s %s has no annotations", rt.method, rt.path))
		}
	}
	for _, op := range d.operations() {
		if op.flags == nil {
			errs = append(errs, fmt.Errorf("%s %s is not in the route table", op.method, op.path))
		}
		for _, needed := range []string{"operationId", "summary", "tags"} {
			if op.body[needed] == nil {
				errs = append(errs, fmt.Errorf("%s %s has no %s", op.method, op.path, needed))
			}
		}
	}
	return errors.Join(errs...)
}

// security is what the operation says of who may call, where that isn't what
// the document says of all: nothing is needed, or an API key of these scopes
// will do as well, or one for the figures alone. What changes a record reads it
// first.
func (r route) security() []any {
	changes := "record"
	if r.flags["exchanged"] {
		changes = "transfer"
	}
	scopes := []any{"read", changes}
	switch r.method {
	case "get":
		scopes = []any{"read"}
	case "post":
		scopes = []any{changes}
	}
	switch {
	case r.flags["public"], r.flags["linked"]:
		return []any{}
	case r.flags["signedIn"] || !r.ofClub():
		return nil
	}
	ways := []any{object{"accessToken": []any{}}, object{"apiKey": scopes}}
	if r.flags["published"] {
		ways = append(ways, object{"apiKey": []any{"figures"}})
	}
	return ways
}

// ofClub tells whether the route leads to a club, or to something of it.
func (r route) ofClub() bool { return strings.HasPrefix(r.path, "/v1/clubs/{club}") }

// inClub tells whether the route leads to something of a club.
func (r route) inClub() bool { return strings.HasPrefix(r.path, "/v1/clubs/{club}/") }

// keyed tells whether the route takes an Idempotency-Key.
func (r route) keyed() bool {
	return r.method == "post" && r.inClub() && !r.flags["unkeyed"]
}

// guarded tells whether the route needs If-Match.
func (r route) guarded() bool {
	return r.ofClub() && (r.method == "patch" || r.method == "delete")
}

// reads tells whether the route reads a body.
func (r route) reads() bool { return r.method != "get" && r.method != "delete" && !r.flags["bare"] }

// finishParameters orders the parameters: those of the path, as the template
// has them; what the handler declares; what the route has as every one like it.
func (d *document) finishParameters(op operation) {
	declared, common := map[string]object{}, d.impliedParameters(op)
	var rest, all []any
	given, _ := op.body["parameters"].([]any)
	for _, p := range given {
		p := p.(object)
		shared := componentOf(p)
		switch {
		case p["in"] == "path":
			declared[text(p["name"])] = p
		case shared != "":
			common = append(common, shared)
		default:
			rest = append(rest, p)
		}
	}
	for _, name := range pathNames(op.path) {
		all = append(all, pathParameter(name, declared[name]))
	}
	all = append(all, rest...)
	slices.Sort(common)
	for _, name := range slices.Compact(common) {
		all = append(all, object{"$ref": "#/components/parameters/" + name})
	}
	delete(op.body, "parameters")
	if len(all) > 0 {
		op.body["parameters"] = all
	}
}

// componentOf is the shared parameter that p repeats, if there is one.
func componentOf(p object) string {
	for _, name := range sortedKeys(parameters()) {
		if in(parameters(), name)["name"] == p["name"] {
			return name
		}
	}
	return ""
}

// impliedParameters are the shared parameters that the route has as every one
// like it.
func (d *document) impliedParameters(op operation) []string {
	var names []string
	if d.pages(op) {
		names = append(names, "Limit", "Cursor")
	}
	if op.keyed() {
		names = append(names, "IdempotencyKey")
	}
	if op.flags["figured"] {
		names = append(names, "Units")
	}
	if op.flags["explained"] {
		names = append(names, "Explain")
	}
	if op.guarded() {
		names = append(names, "IfMatch")
	}
	if op.method == "get" && !op.flags["secret"] {
		names = append(names, "IfNoneMatch")
	}
	return names
}

// pages tells whether the operation answers with a page of a club's list.
func (d *document) pages(op operation) bool {
	if !op.inClub() {
		return false
	}
	schema := in(op.body, "responses", "200", "content", "application/json", "schema")
	return d.goTypes[strings.TrimPrefix(text(schema["$ref"]), schemaPrefix)] == "api.Page"
}

func pathNames(path string) []string {
	var names []string
	for part := range strings.SplitSeq(path, "/") {
		if name, ok := strings.CutPrefix(part, "{"); ok {
			names = append(names, strings.TrimSuffix(name, "}"))
		}
	}
	return names
}

func pathParameter(name string, declared object) object {
	if name == "club" {
		return object{"$ref": "#/components/parameters/Club"}
	}
	p := object{"name": name, "in": "path", "required": true, "description": "id of the " + strings.ReplaceAll(name, "_", " "), "schema": object{"type": "string"}}
	maps.Copy(p, declared)
	return p
}

// finishBody says that a body must be there, and drops what swag says twice.
func finishBody(op operation) {
	body := in(op.body, "requestBody")
	if body == nil || !op.reads() {
		delete(op.body, "requestBody")
		return
	}
	body["required"] = true
	for _, media := range in(body, "content") {
		schema := in(media.(object), "schema")
		for _, twice := range []string{"title", "summary", "description"} {
			delete(schema, twice)
		}
	}
	if form := in(body, "content", "multipart/form-data", "schema"); form != nil && form["properties"] == nil {
		form["additionalProperties"] = object{"type": "string", "format": "binary"}
	}
}

func sortedKeys(o object) []string { return slices.Sorted(maps.Keys(o)) }
