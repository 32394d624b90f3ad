package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"

	"lumbricary.example/openapi"
)

// small is the document of testdata/api.
var small = sync.OnceValues(func() (object, error) {
	body, err := generate(filepath.Join("testdata", "api"))
	if err != nil {
		return nil, err
	}
	var doc object
	return doc, json.Unmarshal(body, &doc)
})

// at follows a pointer into the document of testdata/api; ~ stands for a slash.
func at(t *testing.T, pointer string) any {
	t.Helper()
	doc, err := small()
	if err != nil {
		t.Fatal(err)
	}
	var v any = doc
	for name := range strings.SplitSeq(pointer, "/") {
		o, _ := v.(object)
		v = o[strings.ReplaceAll(name, "~", "/")]
	}
	return v
}

func TestTheDocumentIsWhatPackageAPISays(t *testing.T) {
	t.Parallel()
	want, err := generate(filepath.Join("..", "..", "api"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(filepath.Join("..", "openapi.json"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) || !bytes.Equal(openapi.Document(), want) {
		t.Error(errDrift)
	}
}

func TestWhatTheGeneratorAdds(t *testing.T) {
	t.Parallel()
	const (
		bins    = "paths/~v1~clubs~{club}~bins"
		schemas = "components/schemas/"
	)
	ref := func(pointer string) any { return object{"$ref": "#/components/" + pointer} }
	for name, tt := range map[string]struct {
		pointer string
		want    any
	}{
		"a generic type is named after its argument":          {bins + "/get/responses/200/content/application~json/schema/$ref", "#/components/schemas/BinPage"},
		"a type keeps its comment":                            {schemas + "Bin/description", "Bin is a container of worms."},
		"a time has its format":                               {schemas + "Bin/properties/at/format", "date-time"},
		"a 64 bit integer has its format":                     {schemas + "Bin/properties/worms/format", "int64"},
		"an answer's pointer may be null":                     {schemas + "Bin/properties/gone/type", []any{"string", "null"}},
		"an answer's object may be null":                      {schemas + "Bin/properties/last/oneOf", []any{ref("schemas/Amount"), object{"type": "null"}}},
		"what an answer always has is required":               {schemas + "Bin/required", []any{"at", "gone", "id", "last", "name", "shares", "worms"}},
		"an answer's member left out is never null":           {schemas + "Bin/properties/note/type", "string"},
		"a request needs what is marked":                      {schemas + "NewBin/required", []any{"fed", "name"}},
		"a request may give null for what it may leave out":   {schemas + "NewBin/properties/note/type", []any{"string", "null"}},
		"null is among the values of an enumeration":          {schemas + "NewBin/properties/kind/enum", []any{"tote", "bag", nil}},
		"a request's unknown members are refused":             {schemas + "NewBin/additionalProperties", false},
		"an answer may gain members":                          {schemas + "Bin/additionalProperties", nil},
		"a limit may be a fraction":                           {schemas + "NewBin/properties/depth_cm/maximum", 99.5},
		"a quantity says what it may measure":                 {schemas + "NewBin/properties/fed/description", "(mass or volume)"},
		"a request's example has what has an example":         {bins + "/post/requestBody/content/application~json/example", object{"name": "Tote 3", "depth_cm": 30.0, "fed": object{"value": 1.5, "unit": "kg"}, "kind": "tote"}},
		"a public route needs no token":                       {"paths/~health/get/security", []any{}},
		"a club's needs a token or an API key":                {bins + "/get/security", []any{object{"accessToken": []any{}}, object{"apiKey": []any{"read"}}}},
		"a problem is named once":                             {bins + "/post/responses/422", ref("responses/Invalid")},
		"a problem that swag names after another is too":      {bins + "/post/responses/400", ref("responses/Malformed")},
		"a problem in the handler's words keeps them":         {bins + "/post/responses/409/description", "another bin has that name"},
		"and has the media type of problems":                  {bins + "/post/responses/409/content/application~problem+json/schema", ref("schemas/Problem")},
		"a shared problem has it too":                         {"components/responses/Invalid/content/application~problem+json/schema", ref("schemas/Problem")},
		"a public read without parameters is never malformed": {"paths/~health/get/responses/400", nil},
		"a read with a query may be":                          {bins + "/get/responses/400", ref("responses/Malformed")},
		"a club's read may be forbidden to an API key":        {bins + "/get/responses/403", ref("responses/Forbidden")},
		"a public read may not":                               {"paths/~health/get/responses/403", nil},
		"a read can be unchanged":                             {bins + "~{bin}/get/responses/304", ref("responses/NotModified")},
		"a replay says so":                                    {bins + "/post/responses/201/headers/Idempotency-Replayed", ref("headers/Idempotency-Replayed")},
		"a declared header is the shared one":                 {bins + "/post/responses/201/headers/Location", ref("headers/Location")},
		"an answer has a tag":                                 {bins + "~{bin}/get/responses/200/headers/ETag", ref("headers/ETag")},
		"one with a secret has none":                          {bins + "~{bin}~key/post/responses/201/headers/ETag", nil},
		"a bare post reads no body":                           {bins + "~{bin}~key/post/responses/415", nil},
		"a request's text is bounded by the body":             {schemas + "NewBin/properties/note/maxLength", float64(bodyBytes)},
		"an answer's text has no bound":                       {schemas + "Bin/properties/note/maxLength", nil},
		"what nothing refers to is dropped":                   {"components/parameters/IfMatch", nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if got := at(t, tt.pointer); !reflect.DeepEqual(got, tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

func TestParametersComeInOrder(t *testing.T) {
	t.Parallel()
	shared := func(name string) any { return object{"$ref": "#/components/parameters/" + name} }
	kind := object{"name": "kind", "in": "query", "description": "of this kind", "schema": object{"type": "string", "maxLength": 65536.0}}
	bin := object{"name": "bin", "in": "path", "required": true, "description": "id of the bin", "schema": object{"type": "string", "format": "uuid", "maxLength": 36.0}}
	for name, tt := range map[string]struct {
		pointer string
		want    []any
	}{
		"of a list":   {"paths/~v1~clubs~{club}~bins/get/parameters", []any{shared("Club"), kind, shared("Cursor"), shared("IfNoneMatch"), shared("Limit")}},
		"of a post":   {"paths/~v1~clubs~{club}~bins/post/parameters", []any{shared("Club"), shared("IdempotencyKey")}},
		"of a record": {"paths/~v1~clubs~{club}~bins~{bin}/get/parameters", []any{shared("Club"), bin, shared("IfNoneMatch")}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if got := at(t, tt.pointer); !reflect.DeepEqual(got, any(tt.want)) {
				t.Errorf("got %v", got)
			}
		})
	}
}

func TestNamesOfSchemas(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"api.Bin": "Bin", "api.newBin": "NewBin", "api.Page-api_Bin": "BinPage", "bookfile.Bin": "BookfileBin",
		"api.Page-bookfile_Bin": "BookfileBinPage", "api.Pair-api_Bin-string": "BinStringPair",
	} {
		if got := cleanName(name); got != want {
			t.Errorf("%s becomes %s, want %s", name, got, want)
		}
	}
}

// changed is testdata/api with some text replaced.
func changed(t *testing.T, old, with string) string {
	t.Helper()
	folder := t.TempDir()
	for _, name := range []string{"doc.go", "bin.go"} {
		body, err := os.ReadFile(filepath.Join("testdata", "api", name))
		if err != nil {
			t.Fatal(err)
		}
		body = bytes.ReplaceAll(body, []byte(old), []byte(with))
		if err := os.WriteFile(filepath.Join(folder, name), body, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

func TestWhatTheGeneratorRefuses(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ old, with, want string }{
		"a route without annotations":  {`{get, "/health", health, public},`, `{get, "/health", health, public}, {get, "/ready", health, public},`, "get /ready has no annotations"},
		"annotations without a route":  {`{get, "/health", health, public},`, ``, "get /health is not in the route table"},
		"an operation without an id":   {"@ID\t\t\taddBin", "", "has no operationId"},
		"a struct that swag empties":   {`json:"name" example:"Tote 3" validate`, `json:"name" maxLength:"many" validate`, "swag can't read the tags of api.NewBin"},
		"a tag that nothing describes": {"@Tags\t\tservice", "@Tags\t\tsecrets", "the tag secrets has no description"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := generate(changed(t, tt.old, tt.with))
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %s", err, tt.want)
			}
		})
	}
}

func TestCheckFindsDrift(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	args := []string{"-api", filepath.Join("testdata", "api"), "-dir", folder}
	if err := run(args, os.Stdout); err != nil {
		t.Fatal(err)
	}
	if err := run(append(args, "-check"), os.Stdout); err != nil {
		t.Errorf("a fresh document: %v", err)
	}
	if err := os.WriteFile(filepath.Join(folder, "openapi.json"), []byte("{}"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := run(append(args, "-check"), os.Stdout); err != errDrift { //nolint:errorlint // returned as it is
		t.Errorf("a changed document: %v", err)
	}
}
