package main

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
)

// deepest is how far examples follow schemas that contain themselves.
const deepest = 8

// addExamples builds an example of every body from the examples of its members.
func (d *document) addExamples() {
	for _, op := range d.operations() {
		d.exemplify(in(op.body, "requestBody", "content"), true)
		responses := in(op.body, "responses")
		for status := range responses {
			if code, err := strconv.Atoi(status); err == nil && code < http.StatusBadRequest {
				d.exemplify(in(responses, status, "content"), false)
			}
		}
	}
}

// exemplify gives each media type of a body an example.
func (d *document) exemplify(content object, asked bool) {
	for media := range content {
		body := content[media].(object)
		if body["example"] != nil || body["examples"] != nil {
			continue
		}
		if v, ok := (sample{document: d, asked: asked}).of(in(body, "schema")); ok {
			body["example"] = v
		}
	}
}

// sample makes values of schemas.
type sample struct {
	*document
	asked bool // for a request, where what has no example is left out
	depth int
}

// of returns a value of the schema; false when nothing says what it could be.
func (s sample) of(schema object) (any, bool) {
	if v, ok := schema["examples"].([]any); ok {
		return v[0], true
	}
	schema = s.resolve(schema)
	s.depth++
	if s.depth > deepest {
		return nil, false
	}
	if v, ok := schema["examples"].([]any); ok {
		return v[0], true
	}
	if v, ok := schema["enum"].([]any); ok {
		return v[0], true
	}
	if v, ok := schema["oneOf"].([]any); ok {
		return s.of(v[0].(object))
	}
	return s.typed(schema)
}

// typed makes a value by the schema's type.
func (s sample) typed(schema object) (any, bool) {
	switch kindOf(schema) {
	case "object":
		return s.object(schema), true
	case "array":
		item, ok := s.of(in(schema, "items"))
		if !ok {
			return []any{}, true
		}
		return []any{item}, true
	case "boolean":
		return true, true
	case "string":
		v, ok := map[string]string{
			"date-time": "2026-05-01T09:30:00Z", "date": "2026-05-01", "uuid": "01970000-0000-7000-8000-000000000001",
		}[text(schema["format"])]
		return v, ok
	default:
		return nil, false
	}
}

// kindOf is the schema's type but for null.
func kindOf(schema object) string {
	if kinds, ok := schema["type"].([]any); ok {
		return text(kinds[0])
	}
	return text(schema["type"])
}

// object makes an object: in answers with every member that can be had, null
// where null is allowed; in requests with those that say what they could be.
func (s sample) object(schema object) object {
	out := object{}
	required, _ := schema["required"].([]any)
	members := in(schema, "properties")
	for name := range members {
		member := members[name].(object)
		v, ok := s.of(member)
		if !ok && !slices.Contains(required, any(name)) {
			continue
		}
		if !ok {
			v = s.filler(member)
		}
		out[name] = v
	}
	if extra, ok := schema["additionalProperties"].(object); ok {
		if v, ok := s.of(extra); ok {
			out["name"] = v
		}
	}
	return out
}

// filler is the value of a required member without an example.
func (s sample) filler(member object) any {
	kinds, _ := member["type"].([]any)
	if slices.Contains(kinds, any("null")) {
		return nil
	}
	switch kindOf(s.resolve(member)) {
	case "integer", "number":
		return max(1, asNumber(member["minimum"]))
	default:
		return strings.Repeat("x", int(max(1, asNumber(member["minLength"]))))
	}
}

func asNumber(v any) float64 {
	n, _ := v.(float64)
	return n
}
