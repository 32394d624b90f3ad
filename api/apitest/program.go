// Package apitest runs the whole program on a fresh database, with a clock that
// tests move and ids that repeat, and has words for scenarios:
//
//	c := apitest.New(t)
//	ana := c.SignUp("ana")
//	club := ana.Found("harbour")
//	site := club.Post("/sites", `{"name":"Cellar"}`).Want(201).ID()
//	club.Post("/bins", `{"site":"`+site+`"}`).Problem(422, "invalid", "/name", "/kind")
package apitest

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/api"
	"lumbricary.example/auth"
	"lumbricary.example/openapi/openapitest"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/reference"
)

// Passphrase is everybody's.
const Passphrase = "rhubarb under seven lids"

// Program is a running program and a caller who hasn't signed in.
type Program struct {
	Caller
	Server *api.Server
	Store  service.Store
	Clock  *Clock
	Log    *Log

	open    sync.Once
	handler http.Handler
}

// New starts a program on a fresh SQLite file. It is 2026-05-01T08:00:00Z.
func New(t testing.TB) *Program {
	t.Helper()
	return On(t, repotest.SQLite(t))
}

// On starts a program on a store without rows.
func On(t testing.TB, store service.Store) *Program {
	t.Helper()
	tables, err := reference.Load()
	if err != nil {
		t.Fatal(err)
	}
	p := &Program{Store: store, Clock: &Clock{now: time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)}, Log: &Log{}}
	gate := auth.NewGate(auth.GateOptions{Store: store, Name: "https://worms.example", Now: p.Clock.Now, Random: newDice(), Secret: []byte("a key for the refresh tokens of tests")})
	desk := &service.Desk{Store: store, Now: p.Clock.Now, NewID: ids("7"), Reference: tables, Founding: service.FoundingOpen, Pseudonyms: []byte("a key for the pseudonyms of tests")}
	p.Server = &api.Server{
		Service: service.New(desk, gate), Log: slog.New(slog.NewJSONHandler(p.Log, nil)), Now: p.Clock.Now,
		NewRequestID: ids("4"), PublicURL: "https://worms.example", CursorKey: []byte("a key for the cursors of tests"), JWKS: gate.JWKS,
	}
	p.Caller = Caller{t: t, program: p}
	return p
}

// ids makes UUIDs of a version that count up.
func ids(version string) func() string {
	var n atomic.Int64
	return func() string { return fmt.Sprintf("01970000-0000-%s000-8000-%012x", version, n.Add(1)) }
}

// serve answers one request. The interface is made at the first one, so that a
// test may change the Server before.
func (p *Program) serve(w http.ResponseWriter, r *http.Request) {
	p.open.Do(func() { p.handler = openapitest.Handler(p.t, p.Server.Handler()) })
	p.handler.ServeHTTP(w, r)
}

// SignUp opens an account and signs in.
func (p *Program) SignUp(name string) Person {
	p.t.Helper()
	email := name + "@example.org"
	p.Post("/v1/accounts", map[string]string{"email": email, "name": name, "passphrase": Passphrase}).Want(http.StatusCreated)
	return p.SignIn(name)
}

// SignIn gets a token for somebody who has an account.
func (p *Program) SignIn(name string) Person {
	p.t.Helper()
	email := name + "@example.org"
	given := p.Post("/v1/sessions", map[string]string{"email": email, "passphrase": Passphrase}).Want(http.StatusCreated)
	token := given.Text("/access_token")
	return Person{Caller: p.With("Authorization", "Bearer "+token), Name: name, Email: email, Token: token, Refresh: given.Text("/refresh_token")}
}

// Clock is a clock that stands still until it is moved.
type Clock struct {
	mu  sync.Mutex
	now time.Time
}

// Now returns the time.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Move moves the clock.
func (c *Clock) Move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// Log keeps what is logged.
type Log struct {
	mu   sync.Mutex
	text bytes.Buffer
}

// Write implements io.Writer. The error is always nil.
func (l *Log) Write(line []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(line)
}

// Lines returns the lines with the text in them.
func (l *Log) Lines(with string) []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []string
	for line := range strings.Lines(l.text.String()) {
		if strings.Contains(line, with) {
			out = append(out, line)
		}
	}
	return out
}

// dice is randomness that repeats.
type dice struct {
	mu     sync.Mutex
	source *rand.ChaCha8
}

func newDice() *dice {
	var seed [32]byte
	binary.LittleEndian.PutUint64(seed[:], 1837)
	return &dice{source: rand.NewChaCha8(seed)}
}

// Read implements io.Reader. The error is always nil.
func (d *dice) Read(p []byte) (int, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.source.Read(p)
}
