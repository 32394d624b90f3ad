package main

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
)

// csvExample is a table of the club's book.
const csvExample = "id,name,address,owner,note\r\n,Cellar,,,under the stairs\r\n"

// addExamples builds an example of every body from the examples of its members.
func (d *document) addExamples() {
	for _, op := range d.operations() {
		d.exemplify(in(op.body, "requestBody", "content"))
		responses := in(op.body, "responses")
		for status := range responses {
			if code, err := strconv.Atoi(status); err == nil && code < http.StatusBadRequest {
				d.exemplify(in(responses, status, "content"))
			}
		}
	}
}

// exemplify gives each media type of a body an example; files have none.
func (d *document) exemplify(content object) {
	for media := range content {
		body := content[media].(object)
		switch {
		case body["example"] != nil || media == "multipart/form-data":
		case media == "text/csv":
			body["example"] = csvExample
		case in(body, "schema")["format"] != "binary":
			body["example"] = sample{document: d}.given(in(body, "schema"))
		}
	}
}

// sample makes values of schemas.
type sample struct {
	*document
	path []string // of references, none of which is followed into itself
}

// of returns a value of the schema; false when nothing says what it could be.
func (s sample) of(schema object) (any, bool) {
	if v, ok := schema["examples"].([]any); ok {
		return v[0], true
	}
	if ref := text(schema["$ref"]); ref != "" {
		if slices.Contains(s.path, ref) {
			return nil, false
		}
		s.path = append(slices.Clone(s.path), ref)
		schema = s.resolve(schema)
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
		v := s.object(schema)
		return v, len(v) > 0
	case "array":
		item, ok := s.of(in(schema, "items"))
		if !ok {
			return nil, false
		}
		return []any{item}, true
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

// object makes an object of the members that must be there, and of those that
// say what they could be.
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
			v = s.given(member)
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

// given is a value of the schema, come what may.
func (s sample) given(schema object) any {
	if v, ok := s.of(schema); ok {
		return v
	}
	if s.takesNull(schema) {
		return nil
	}
	schema = s.resolve(schema)
	switch kindOf(schema) {
	case "object":
		return object{}
	case "array":
		return []any{}
	case "boolean":
		return true
	case "integer", "number":
		return max(1, asNumber(schema["minimum"]))
	default:
		return strings.Repeat("x", int(max(1, asNumber(schema["minLength"]))))
	}
}

func asNumber(v any) float64 {
	n, _ := v.(float64)
	return n
}
