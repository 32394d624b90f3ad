package apitest

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// Caller sends requests with the headers it has been given.
type Caller struct {
	t       testing.TB
	program *Program
	base    string // of paths
	header  http.Header
}

// Person is a caller who has signed in.
type Person struct {
	Caller
	Name  string
	Email string
	Token string

	Refresh string // token
}

// Club is a person calling within a club: paths are the club's.
type Club struct {
	Person
	Handle string
}

// Found starts a club, and is its steward.
func (p Person) Found(handle string) Club {
	p.t.Helper()
	p.Post("/v1/clubs", map[string]string{
		"handle": handle, "name": handle, "time_zone": "Europe/Lisbon", "currency": "EUR",
	}).Want(http.StatusCreated)
	return p.In(handle)
}

// In is the person within a club, member or not.
func (p Person) In(handle string) Club {
	p.base = "/v1/clubs/" + handle
	return Club{Person: p, Handle: handle}
}

// As is another person within the same club.
func (c Club) As(p Person) Club { return p.In(c.Handle) }

// WithKey is a program that calls in the club by an API key.
func (c Club) WithKey(key string) Club {
	c.Caller = c.With("Authorization", "Bearer "+key)
	return c
}

// Elsewhere is the caller in another club.
func (c Club) Elsewhere(handle string) Club { return c.In(handle) }

// Absolute is the caller whose paths are whole.
func (c Club) Absolute() Caller {
	c.base = ""
	return c.Caller
}

// Join makes a new person a member of the club with a role.
func (c Club) Join(name, role string) Club {
	c.t.Helper()
	p := c.program.SignUp(name)
	code := c.Post("/invitations", map[string]string{"email": p.Email, "name": name, "role": role}).Want(http.StatusCreated).Text("/code")
	c.As(p).Post("/invitations/accept", map[string]string{"code": code}).Want(http.StatusOK)
	return c.As(p)
}

// MemberID is the id of the member who calls.
func (c Club) MemberID() string {
	c.t.Helper()
	me := c
	me.base = ""
	for _, m := range me.Get("/v1/me").Want(http.StatusOK).Value("/memberships").([]any) {
		in := m.(map[string]any)
		if in["club"].(map[string]any)["handle"] == c.Handle {
			return in["member"].(map[string]any)["id"].(string)
		}
	}
	c.t.Fatalf("%s is no member of %s", c.Name, c.Handle)
	return ""
}

// With is the caller with one more header.
func (c Caller) With(name, value string) Caller {
	h := c.header.Clone()
	if h == nil {
		h = http.Header{}
	}
	h.Set(name, value)
	c.header = h
	return c
}

// Get asks for a path.
func (c Caller) Get(path string) *Answer {
	c.t.Helper()
	return c.Do(http.MethodGet, path, nil)
}

// Post sends JSON: a string as it is, anything else encoded.
func (c Caller) Post(path string, body any) *Answer {
	c.t.Helper()
	text, ok := body.(string)
	if !ok {
		encoded, err := json.Marshal(body)
		if err != nil {
			c.t.Fatal(err)
		}
		text = string(encoded)
	}
	if c.header.Get("Content-Type") == "" {
		c = c.With("Content-Type", "application/json")
	}
	return c.Do(http.MethodPost, path, strings.NewReader(text))
}

// Patch sends a merge patch of what the caller saw with that entity tag.
func (c Caller) Patch(path, etag, patch string) *Answer {
	c.t.Helper()
	return c.With("If-Match", etag).With("Content-Type", "application/merge-patch+json").Do(http.MethodPatch, path, strings.NewReader(patch))
}

// Delete removes what the caller saw with that entity tag.
func (c Caller) Delete(path, etag string) *Answer {
	c.t.Helper()
	return c.With("If-Match", etag).Do(http.MethodDelete, path, nil)
}

// Do sends any request.
func (c Caller) Do(method, path string, body io.Reader) *Answer {
	c.t.Helper()
	r := httptest.NewRequestWithContext(c.t.Context(), method, c.base+path, body)
	for name, values := range c.header {
		r.Header[name] = values
	}
	w := httptest.NewRecorder()
	c.program.serve(w, r)
	return &Answer{t: c.t, asked: method + " " + c.base + path, Status: w.Code, Header: w.Result().Header, Body: w.Body.String()}
}
