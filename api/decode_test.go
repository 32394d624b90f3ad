package api

import (
	"errors"
	"strings"
	"testing"

	"lumbricary.example/service"
)

type sample struct {
	Name   string         `json:"name" validate:"required"`
	Note   string         `json:"note,omitempty"`
	Size   *float64       `json:"size_m2"`
	Worms  int32          `json:"worms,omitempty"`
	Wet    bool           `json:"wet,omitempty"`
	Mass   *Quantity      `json:"mass" units:"mass volume"`
	Items  []sampleItem   `json:"items,omitempty"`
	Tags   []string       `json:"tags,omitempty"`
	Bottom *sampleAddress `json:"bottom"`
}

type sampleItem struct {
	Quantity Quantity `json:"quantity" validate:"required" units:"count"`
}

type sampleAddress struct {
	Street string `json:"street"`
}

func decoded(body string) (sample, error) { return decode[sample](&request{body: []byte(body)}) }

func TestABodyIsDecoded(t *testing.T) {
	t.Parallel()
	got, err := decoded(`{"name":"a","note":null,"size_m2":1.5e0,"worms":3,"wet":true,"mass":{"value":2,"unit":"[lb_av]"},
		"items":[{"quantity":{"value":7,"unit":"{worms}"}}],"tags":["x","y"],"bottom":{"street":"é\u0301"}}`)
	if err != nil {
		t.Fatal(err)
	}
	if got.Name != "a" || *got.Size != 1.5 || got.Worms != 3 || !got.Wet || *got.Mass != (Quantity{2, "[lb_av]"}) ||
		got.Items[0].Quantity.Value != 7 || got.Tags[1] != "y" || got.Bottom.Street != "é\u0301" {
		t.Errorf("%+v", got)
	}
}

func TestWhatCanNotBeReadIsMalformedByItsPointer(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ body, pointer, code string }{
		"empty":                 {"", "", "syntax"},
		"cut off":               {`{"name":"a"`, "", "syntax"},
		"two values":            {`{"name":"a"} {}`, "", "syntax"},
		"a comma too many":      {`{"name":"a",}`, "", "syntax"},
		"a comma in a list":     {`{"name":"a","tags":["x",]}`, "", "syntax"},
		"no UTF-8":              {"{\"name\":\"\xff\"}", "", "syntax"},
		"no object":             {`[]`, "", "type"},
		"null":                  {`null`, "", "type"},
		"unknown":               {`{"name":"a","na/m~e":1}`, "/na~1m~0e", "unknown"},
		"another case":          {`{"Name":"a"}`, "/Name", "unknown"},
		"unknown, deep":         {`{"name":"a","items":[{"quantity":{"value":1,"unit":"{worms}","x":1}}]}`, "/items/0/quantity/x", "unknown"},
		"repeated":              {`{"name":"a","name":"b"}`, "/name", "repeated"},
		"repeated by an escape": {`{"name":"a","n\u0061me":"b"}`, "/name", "repeated"},
		"repeated, deep":        {`{"name":"a","mass":{"value":1,"value":1,"unit":"g"}}`, "/mass/value", "repeated"},
		"a number for a text":   {`{"name":1}`, "/name", "type"},
		"a text for a number":   {`{"name":"a","size_m2":"1"}`, "/size_m2", "type"},
		"a text for a list":     {`{"name":"a","tags":"x"}`, "/tags", "type"},
		"a number in a list":    {`{"name":"a","tags":["x",1]}`, "/tags/1", "type"},
		"a number for a flag":   {`{"name":"a","wet":1}`, "/wet", "type"},
		"null for a needed one": {`{"name":null}`, "/name", "type"},
		"null in a list":        {`{"name":"a","tags":[null]}`, "/tags/0", "type"},
		"a part of a worm":      {`{"name":"a","worms":1.5}`, "/worms", "range"},
		"too many worms":        {`{"name":"a","worms":3000000000}`, "/worms", "range"},
		"more than a float":     {`{"name":"a","size_m2":1e999}`, "/size_m2", "range"},
		"U+0000":                {`{"name":"a\u0000b"}`, "/name", "format"},
		"before what is wrong":  {`{"nome":"a"}`, "/nome", "unknown"},
	} {
		_, err := decoded(tt.body)
		mustPoint(t, name, err, service.ErrMalformed, service.FieldError{Pointer: tt.pointer, Code: tt.code})
	}
}

func TestWhatIsMissingOrHasAnotherUnitIsInvalidByItsPointer(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ body, pointer, code string }{
		"no name":         {`{}`, "/name", "required"},
		"no quantity":     {`{"name":"a","items":[{}]}`, "/items/0/quantity", "required"},
		"no unit":         {`{"name":"a","mass":{"value":1}}`, "/mass/unit", "required"},
		"no value":        {`{"name":"a","mass":{"unit":"g"}}`, "/mass/value", "required"},
		"unknown unit":    {`{"name":"a","mass":{"value":1,"unit":"stone"}}`, "/mass/unit", "unit"},
		"another thing":   {`{"name":"a","mass":{"value":1,"unit":"Cel"}}`, "/mass/unit", "unit"},
		"mass of a count": {`{"name":"a","items":[{"quantity":{"value":1,"unit":"g"}}]}`, "/items/0/quantity/unit", "unit"},
	} {
		_, err := decoded(tt.body)
		mustPoint(t, name, err, service.ErrInvalid, service.FieldError{Pointer: tt.pointer, Code: tt.code})
	}
}

func TestAWrongUnitIsToldTheRightOnes(t *testing.T) {
	t.Parallel()
	_, err := decoded(`{"name":"a","items":[{"quantity":{"value":1,"unit":"worms"}}]}`)
	e, _ := errors.AsType[*service.Error](err)
	if e == nil || len(e.Fields) != 1 || e.Fields[0].Detail != "use one of {worms}" {
		t.Errorf("%+v", e)
	}
}

func TestEverythingWrongIsToldAtOnce(t *testing.T) {
	t.Parallel()
	_, err := decoded(`{"name":1,"nome":"a","worms":1.5}`)
	e, _ := errors.AsType[*service.Error](err)
	if e == nil || len(e.Fields) != 3 {
		t.Errorf("%+v", e)
	}
}

func TestABodyNestedWithoutEndIsRefused(t *testing.T) {
	t.Parallel()
	_, err := decoded(strings.Repeat("[", 1<<20))
	mustPoint(t, "deep", err, service.ErrMalformed, service.FieldError{Code: "syntax"})
}

func mustPoint(t *testing.T, name string, err, want error, at service.FieldError) {
	t.Helper()
	e, _ := errors.AsType[*service.Error](err)
	if !errors.Is(err, want) || e == nil {
		t.Errorf("%s: %v, want %v", name, err, want)
		return
	}
	for _, f := range e.Fields {
		if f.Pointer == at.Pointer && f.Code == at.Code && f.Detail != "" {
			return
		}
	}
	t.Errorf("%s: no %s at %q in %+v", name, at.Code, at.Pointer, e.Fields)
}

func FuzzDecodeNeverFailsUnclassed(f *testing.F) {
	for _, seed := range []string{`{"name":"a"}`, `{"mass":{"value":1e400,"unit":"g"}}`, `[[[`, `{"items":[null]}`, `{"":{"":""}}`, "\x00", `"\ud800"`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, body string) {
		if _, err := decoded(body); err != nil && service.KindOf(err) == service.Internal {
			t.Errorf("%q: %v", body, err)
		}
	})
}
