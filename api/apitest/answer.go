package apitest

import (
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Answer is what came back.
type Answer struct {
	Status int
	Header http.Header
	Body   string

	t     testing.TB
	asked string
}

// Want fails the test unless the answer has the status.
func (a *Answer) Want(status int) *Answer {
	a.t.Helper()
	if a.Status != status {
		a.t.Fatalf("%s: status %d, want %d: %s", a.asked, a.Status, status, a.Body)
	}
	return a
}

// Problem fails the test unless the answer is the problem, with the pointers
// among its errors.
func (a *Answer) Problem(status int, code string, pointers ...string) *Answer {
	a.t.Helper()
	a.Want(status)
	if got := a.Header.Get("Content-Type"); got != "application/problem+json" {
		a.t.Errorf("%s: content type %q", a.asked, got)
	}
	a.Is("/type", "/problems/"+code).Is("/status", status).Is("/request_id", a.Header.Get("X-Request-Id"))
	var p struct{ Errors []struct{ Pointer string } }
	a.Into(&p)
	for _, want := range pointers {
		if !slices.ContainsFunc(p.Errors, func(f struct{ Pointer string }) bool { return f.Pointer == want }) {
			a.t.Errorf("%s: no error at %q: %s", a.asked, want, a.Body)
		}
	}
	return a
}

// Is fails the test unless the member at the pointer has the value.
func (a *Answer) Is(pointer string, want any) *Answer {
	a.t.Helper()
	encoded, err := json.Marshal(want)
	if err != nil {
		a.t.Fatal(err)
	}
	var plain any
	if err := json.Unmarshal(encoded, &plain); err != nil {
		a.t.Fatal(err)
	}
	if got := a.Value(pointer); !reflect.DeepEqual(got, plain) {
		a.t.Errorf("%s: %s is %v, want %v", a.asked, pointer, got, plain)
	}
	return a
}

// Has fails the test unless the header has the value.
func (a *Answer) Has(header, want string) *Answer {
	a.t.Helper()
	if got := a.Header.Get(header); got != want {
		a.t.Errorf("%s: %s is %q, want %q", a.asked, header, got, want)
	}
	return a
}

// Into decodes the body.
func (a *Answer) Into(v any) {
	a.t.Helper()
	if err := json.Unmarshal([]byte(a.Body), v); err != nil {
		a.t.Fatalf("%s: %v: %s", a.asked, err, a.Body)
	}
}

// ID is the id of the record that was answered.
func (a *Answer) ID() string {
	a.t.Helper()
	return a.Text("/id")
}

// Text is the member at the pointer, a text.
func (a *Answer) Text(pointer string) string {
	a.t.Helper()
	text, ok := a.Value(pointer).(string)
	if !ok {
		a.t.Fatalf("%s: %s is no text: %s", a.asked, pointer, a.Body)
	}
	return text
}

// Value is the member at an RFC 6901 pointer, or all at ""; the test fails if
// there is none.
func (a *Answer) Value(pointer string) any {
	a.t.Helper()
	var v any
	a.Into(&v)
	if pointer == "" {
		return v
	}
	for part := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		next, err := member(v, part)
		if err != nil {
			a.t.Fatalf("%s: %s: %v: %s", a.asked, pointer, err, a.Body)
		}
		v = next
	}
	return v
}

func member(v any, name string) (any, error) {
	switch v := v.(type) {
	case map[string]any:
		if item, ok := v[name]; ok {
			return item, nil
		}
	case []any:
		if i, err := strconv.Atoi(name); err == nil && i >= 0 && i < len(v) {
			return v[i], nil
		}
	}
	return nil, fmt.Errorf("no member %q", name)
}
