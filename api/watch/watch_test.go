package watch_test

import (
	"database/sql"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/api/watch"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

func TestMain(m *testing.M) {
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}

// collector is an OpenTelemetry collector that keeps what it is sent.
type collector struct {
	*httptest.Server
	mu     sync.Mutex
	bodies []string
	header http.Header
}

func newCollector(t *testing.T) *collector {
	t.Helper()
	c := &collector{}
	c.Server = httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		c.mu.Lock()
		defer c.mu.Unlock()
		if err == nil && r.URL.Path == "/v1/traces" {
			c.bodies, c.header = append(c.bodies, string(body)), r.Header
		}
	}))
	t.Cleanup(c.Close)
	return c
}

// watched is a program that is watched by all there is.
type watched struct {
	*apitest.Program
	metrics   *watch.Metrics
	traces    *watch.Traces
	collector *collector
}

func newWatched(t *testing.T) *watched {
	t.Helper()
	w := &watched{Program: apitest.New(t), collector: newCollector(t)}
	to, err := watch.NewOTLP(w.collector.URL, "authorization=Bearer%20of%20spans")
	if err != nil {
		t.Fatal(err)
	}
	w.metrics, w.traces = watch.NewMetrics(w.Clock.Now), watch.NewTraces(to, "0.0.0")
	w.Server.Watchers = append(w.Server.Watchers, w.metrics.Watch, w.traces.Watch)
	return w
}

// told is everything that operators were told.
func (w *watched) told(t *testing.T) (log, metrics, spans string) {
	t.Helper()
	if err := w.traces.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	w.collector.mu.Lock()
	defer w.collector.mu.Unlock()
	return strings.Join(w.Log.Lines(""), ""), figures(w.metrics), strings.Join(w.collector.bodies, "\n")
}

func figures(m *watch.Metrics) string {
	rec := httptest.NewRecorder()
	m.Handler().ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", http.NoBody))
	return rec.Body.String()
}

func TestLogsMetricsAndSpansTellTheTemplateAndNoSecret(t *testing.T) {
	t.Parallel()
	w := newWatched(t)
	ana := w.SignUp("ana")
	club := ana.Found("harbour")
	site := club.Post("/sites", `{"name":"Cellar"}`).Want(201).ID()
	code := club.Post("/invitations", `{"email":"ben@example.org","name":"ben","role":"keeper"}`).Want(201).Text("/code")
	ben := w.SignUp("ben")
	club.As(ben).Post("/invitations/accept", `{"code":"`+code+`"}`).Want(200)
	club.As(ben).Post("/invitations/accept", `{"code":"`+code+`"}`)
	key := "a-key-that-nobody-knows"
	club.Caller.With("Idempotency-Key", key).Post("/sites", `{"name":"Attic"}`).Want(201)
	const bin = "0197aaaa-0000-7000-8000-00000000000f"
	club.Get("/bins/" + bin + "?cursor=planted-query").Want(404)
	club.Get("/sites/" + site).Want(200)
	w.Get("/nowhere/planted-path").Want(404)
	w.Do("BREW", "/planted-path", nil)
	w.With("Authorization", "Bearer planted.token.here").Get("/v1/me").Want(401)
	w.Post("/v1/sessions", `{"email":"eve@planted.example","passphrase":"planted passphrase of eve"}`)

	log, metrics, spans := w.told(t)
	for name, text := range map[string]string{"log": log, "metrics": metrics, "spans": spans} {
		if !strings.Contains(text, "/v1/clubs/{club}/bins/{bin}") {
			t.Errorf("the %s doesn't name the route: %s", name, text)
		}
		for what, secret := range map[string]string{
			"token": ana.Token, "another token": ben.Token, "passphrase": apitest.Passphrase, "code": code, "key": key, "e-mail": "@example.org",
			"id in the path": bin, "another id in the path": site, "club": "harbour", "what is planted": "planted", "method": "BREW",
		} {
			if strings.Contains(text, secret) && (name != "log" || what != "method") {
				t.Errorf("the %s tells a secret: the %s", name, what)
			}
		}
	}
	if got := w.collector.header.Get("Authorization"); got != "Bearer of spans" {
		t.Errorf("the collector is sent %q", got)
	}
}

func TestASpanHasItsParentItsStatusAndNothingElse(t *testing.T) {
	t.Parallel()
	w := newWatched(t)
	w.With("Traceparent", "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01").Get("/livez").Want(200)
	_, _, spans := w.told(t)
	var sent struct {
		ResourceSpans []struct {
			ScopeSpans []struct {
				Spans []struct {
					TraceID, ParentSpanID, Name string
					Kind                        int
					Attributes                  []struct {
						Key   string
						Value map[string]string
					}
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(spans), &sent); err != nil {
		t.Fatal(err)
	}
	s := sent.ResourceSpans[0].ScopeSpans[0].Spans[0]
	if s.TraceID != "0af7651916cd43dd8448eb211c80319c" || s.ParentSpanID != "b7ad6b7169203331" || s.Name != "GET /livez" || s.Kind != 2 {
		t.Errorf("%+v", s)
	}
	got := map[string]string{}
	for _, a := range s.Attributes {
		got[a.Key] = a.Value["stringValue"] + a.Value["intValue"]
	}
	want := map[string]string{"http.request.method": "GET", "http.route": "/livez", "http.response.status_code": "200"}
	if len(got) != len(want) {
		t.Errorf("attributes %v", got)
	}
	for key, value := range want {
		if got[key] != value {
			t.Errorf("%s is %q", key, got[key])
		}
	}
}

func TestMetricsCountCallsPoolsPassphrasesAndEntries(t *testing.T) {
	t.Parallel()
	m := watch.NewMetrics(apitest.New(t).Clock.Now)
	store := repotest.SQLite(t)
	p := apitest.On(t, m.Journal(store))
	p.Server.Watchers = append(p.Server.Watchers, m.Watch)
	m.Database(store.Pools)
	m.Passphrases(func() (working, waiting int) { return 2, 7 })
	club := p.SignUp("ana").Found("harbour")
	origin := club.Post("/origins", `{"name":"Farm","kind":"supplier","species":"eisenia-fetida"}`).Want(201).ID()
	site := club.Post("/sites", `{"name":"Cellar"}`).Want(201).ID()
	bin := club.Post("/bins", `{"name":"Tote","kind":"tote","site":"`+site+`","keeper":"`+club.MemberID()+`","surface_m2":0.5,"started":"2025-12-01"}`).Want(201).ID()
	stock := `{"kind":"stocking","at":"2026-01-02","to_bin":"` + bin + `","lines":[{"origin":"` + origin + `","quantity":{"value":1,"unit":"kg"}}]}`
	club.Caller.With("Idempotency-Key", "one").Post("/movements", stock).Want(201)
	club.Caller.With("Idempotency-Key", "one").Post("/movements", stock).Want(201)
	club.Post("/movements", strings.Replace(stock, bin, origin, 1)).Want(422)
	told := figures(m)
	for _, want := range []string{
		`lumbricary_http_requests_total{method="POST",route="/v1/clubs/{club}/movements",status="2xx"} 2`,
		`lumbricary_http_requests_total{method="POST",route="/v1/clubs/{club}/movements",status="4xx"} 1`,
		`lumbricary_http_request_duration_seconds_count{method="POST",route="/v1/clubs/{club}/sites"} 1`,
		`lumbricary_http_requests_in_flight{method="POST",route="/v1/clubs/{club}/sites"} 0`,
		`lumbricary_journal_entries_total{kind="stocking"} 1`, `lumbricary_passphrases{state="waiting"} 7`,
		`lumbricary_database_max_connections{pool="write"} 1`, `go_goroutines `, `process_open_fds `,
	} {
		if !strings.Contains(told, want) {
			t.Errorf("no %s", want)
		}
	}
}

func TestNobodyWatchesUnlessToldTo(t *testing.T) {
	t.Parallel()
	w, err := watch.New(watch.Settings{})
	if err != nil || len(w.Watchers()) != 0 {
		t.Fatalf("%v, %v", w, err)
	}
	store := repotest.SQLite(t)
	w.Program(func() map[string]sql.DBStats { panic("asked") }, func() (int, int) { panic("asked") })
	if w.Journal(store) != service.Store(store) {
		t.Error("the store is watched")
	}
	if err := w.Serve(t.Context(), func(string) { t.Error("metrics are served") }); err != nil || w.Close(t.Context()) != nil {
		t.Error(err)
	}
}

func TestMetricsHaveTheirOwnAddress(t *testing.T) {
	t.Parallel()
	w, err := watch.New(watch.Settings{Metrics: "127.0.0.1:0", Now: apitest.New(t).Clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	addr := ""
	if err := w.Serve(t.Context(), func(a string) { addr = a }); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]int{"/metrics": 200, "/v1/me": 404} {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+addr+path, http.NoBody)
		if err != nil {
			t.Fatal(err)
		}
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		if resp.Body.Close(); resp.StatusCode != want {
			t.Errorf("%s: %d", path, resp.StatusCode)
		}
	}
}

func TestAnEndpointOrHeaderThatCanNotBeReadIsToldWithoutShowingIt(t *testing.T) {
	t.Parallel()
	for _, s := range [][2]string{{"127.0.0.1:4318", ""}, {"ftp://a", ""}, {"http://planted\x00", ""}, {"http://a", "planted"}, {"http://a", "b=%planted"}} {
		if _, err := watch.New(watch.Settings{Endpoint: s[0], Headers: s[1]}); err == nil || strings.Contains(err.Error(), "planted") {
			t.Errorf("%q: %v", s, err)
		}
	}
}
