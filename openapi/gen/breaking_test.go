package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lumbricary.example/openapi"
)

const released = `{"openapi": "3.1.0", "paths": {"/bins": {
  "get": {
    "parameters": [{"name": "kind", "in": "query"}],
    "responses": {"200": {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Bin"}}}}}},
  "post": {
    "requestBody": {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/NewBin"}}, "text/csv": {"schema": {"type": "string"}}}},
    "responses": {"201": {"content": {}}}}}},
  "components": {"schemas": {
    "NewBin": {"type": "object", "required": ["name"], "properties": {"name": {"type": "string"}, "kind": {"type": ["string", "null"], "enum": ["tote", "bag", null]}, "note": {"type": "string"}}},
    "Bin": {"type": "object", "required": ["name", "state"], "properties": {
      "name": {"type": "string"}, "state": {"type": "string", "enum": ["new", "old"]}, "marks": {"type": "array", "items": {"type": "string"}},
      "home": {"oneOf": [{"$ref": "#/components/schemas/Bin"}, {"type": "null"}]}}}}}}`

func documentOf(t *testing.T, body string) *document {
	t.Helper()
	d := &document{source: &source{}}
	if err := json.Unmarshal([]byte(body), &d.root); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestWhatBreaksCallersIsFound(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ old, with, want string }{
		"an operation is gone":                      {`"get": {`, `"put": {`, "GET /bins is gone"},
		"a parameter is gone":                       {`"name": "kind", "in": "query"`, `"name": "sort", "in": "query"`, "GET /bins no longer takes the parameter query kind"},
		"a parameter is needed":                     {`[{"name": "kind", "in": "query"}]`, `[{"name": "kind", "in": "query"}, {"name": "day", "in": "query", "required": true}]`, "GET /bins needs the parameter query day"},
		"a media type is no longer read":            {`"text/csv"`, `"text/tab-separated-values"`, "POST /bins no longer reads text/csv"},
		"a status is gone":                          {`"201"`, `"202"`, "POST /bins no longer answers 201"},
		"an answer has another media type":          {`"200": {"content": {"application/json"`, `"200": {"content": {"text/xml"`, "GET /bins 200 no longer answers with application/json"},
		"an answer's member is gone":                {`"marks"`, `"labels"`, "GET /bins 200/marks is gone"},
		"an answer's member may be left out":        {`"required": ["name", "state"]`, `"required": ["name"]`, "GET /bins 200/state may be left out"},
		"an answer's member may be null":            {`"marks": {"type": "array"`, `"marks": {"type": ["array", "null"]`, "GET /bins 200/marks may be null"},
		"an answer's member has another type":       {`"items": {"type": "string"}`, `"items": {"type": "integer"}`, "GET /bins 200/marks/* is integer, not string"},
		"an answer has a new value":                 {`["new", "old"]`, `["new", "old", "lost"]`, "GET /bins 200/state may be lost"},
		"a request needs a member":                  {`"required": ["name"]`, `"required": ["name", "note"]`, "POST /bins application/json/note must be given"},
		"a request has fewer values":                {`["tote", "bag", null]`, `["tote", null]`, "POST /bins application/json/kind no longer takes bag"},
		"a request has only some values":            {`"note": {"type": "string"}`, `"note": {"type": "string", "enum": ["a"]}`, "POST /bins application/json/note takes only some values"},
		"a request's member can't be null any more": {`["string", "null"]`, `"string"`, "POST /bins application/json/kind can't be null"},
		"a request's member is refused":             {`, "note": {"type": "string"}`, ``, "POST /bins application/json/note is gone"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			now := strings.Replace(released, tt.old, tt.with, 1)
			if now == released {
				t.Fatal("nothing was changed")
			}
			if got := breaking(documentOf(t, released), documentOf(t, now)); !slices.Contains(got, tt.want) {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestWhatCallersCanBearIsNotFound(t *testing.T) {
	t.Parallel()
	for name, change := range map[string][2]string{
		"nothing":                         {`"paths"`, `"paths"`},
		"a new operation":                 {`"post": {`, `"patch": {}, "post": {`},
		"a new optional parameter":        {`"parameters": [`, `"parameters": [{"name": "sort", "in": "query"}, `},
		"a new member of an answer":       {`"marks"`, `"age": {"type": "string"}, "marks"`},
		"an optional member of a request": {`"note"`, `"age": {"type": "string"}, "note"`},
		"a value more in a request":       {`["tote", "bag", null]`, `["tote", "bag", "bed", null]`},
		"a value less in an answer":       {`["new", "old"]`, `["new"]`},
		"a member no longer needed":       {`"required": ["name"]`, `"required": []`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			now := strings.Replace(released, change[0], change[1], 1)
			if got := breaking(documentOf(t, released), documentOf(t, now)); len(got) > 0 {
				t.Errorf("got %q", got)
			}
		})
	}
}

// epoch is the part of a version that is raised when callers would break.
func epoch(t *testing.T, version string) []int {
	t.Helper()
	var out []int
	for i, part := range strings.Split(version, ".") {
		n, err := strconv.Atoi(part)
		if err != nil {
			t.Fatal(err)
		}
		if out = append(out, n); n > 0 || i == 1 {
			break
		}
	}
	return out
}

func TestAReleaseThatBreaksCallersHasAnotherVersion(t *testing.T) {
	t.Parallel()
	last := filepath.Join("..", "released.json")
	var found bytes.Buffer
	if err := printBreaking(last, filepath.Join("..", "openapi.json"), &found); err != nil {
		t.Fatal(err)
	}
	before, err := load(last)
	if err != nil {
		t.Fatal(err)
	}
	version := text(in(before.root, "info")["version"])
	if found.Len() > 0 && slices.Compare(epoch(t, openapi.Version), epoch(t, version)) <= 0 {
		t.Errorf("callers of %s would break; raise openapi.Version or undo:\n%s", version, &found)
	}
}

func TestOnlyTheLeadingNumberOfAVersionCounts(t *testing.T) {
	t.Parallel()
	for version, want := range map[string][]int{"0.1.0": {0, 1}, "0.1.7": {0, 1}, "0.0.0": {0, 0}, "1.4.2": {1}, "2.0.0": {2}} {
		if got := epoch(t, version); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", version, got, want)
		}
	}
}
