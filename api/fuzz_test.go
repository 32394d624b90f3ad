package api

import (
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service"
)

func FuzzACursorIsReadOnlyAsItWasWritten(f *testing.F) {
	s := &Server{CursorKey: []byte("key")}
	good := s.cursor("list", service.Place{At: time.UnixMicro(1777622400000001).UTC(), ID: "01970000-0000-7000-8000-000000000001"})
	for _, seed := range []string{good, good[1:], "", "AAAAAAAAAAAAAAAAAAAAAAAAAAAA", "é", good + "=", strings.ToUpper(good)} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, cursor string) {
		at, err := s.place("list", cursor)
		if err != nil {
			if !service.ErrCursor.Is(err) {
				t.Errorf("%q: %v", cursor, err)
			}
			return
		}
		if again := s.cursor("list", at); again != cursor {
			t.Errorf("%q reads as %v, which is written %q", cursor, at, again)
		}
	})
}

func FuzzAnIdempotencyKeyIsPrintableAndReadsBack(f *testing.F) {
	for _, seed := range []string{`"a"`, "a", `"a \"b\" \\"`, `"\`, `""`, "é", "a b", `"` + strings.Repeat("k", maxKey+1) + `"`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, header string) {
		key, ok := parseKey(header)
		if !ok {
			return
		}
		if key == "" || len(key) > maxKey || strings.ContainsFunc(key, func(r rune) bool { return r < ' ' || r > '~' }) {
			t.Errorf("%q is read as %q", header, key)
		}
		quoted := `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(key) + `"`
		if again, ok := parseKey(quoted); !ok || again != key {
			t.Errorf("%q quoted is read as %q", key, again)
		}
	})
}

func FuzzAnAcceptEncodingIsReadOrNot(f *testing.F) {
	for _, seed := range []string{"gzip", "gzip;q=0", "*", "*;q=0.5, gzip;q=x", ";=", "gzip;q=1e999"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, header string) {
		if takesGzip(header) && !strings.Contains(strings.ToLower(header), "gzip") && !strings.Contains(header, "*") {
			t.Errorf("%q takes gzip", header)
		}
	})
}

func FuzzADateInAQueryIsReadOrRefused(f *testing.F) {
	for _, seed := range []string{"2026-05-01", "2026-05-01T08:00:00Z", "2026-13-01", "0000-00-00", "2026-05-01T24:00:00+99:99", "2026-05-01T08:00:00.000000001Z", "tomorrow"} {
		f.Add(seed)
	}
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r := &request{local: &service.Custom{Zone: lisbon}}
		var faults service.Faults
		at := r.instant(&faults, "from", text)
		if len(faults) > 0 {
			return
		}
		again := r.instant(&faults, "from", at.Format(time.RFC3339Nano))
		if len(faults) > 0 || !again.Equal(at) || at.Location() != time.UTC {
			t.Errorf("%q is %v, which reads back as %v (%v)", text, at, again, faults)
		}
	})
}

func FuzzAQueryNeverFailsUnclassed(f *testing.F) {
	for _, seed := range []string{"limit=5", "limit=0", "limit=1&limit=2", "cursor=AAAA", "from=2026-05-01", "%zz", "order=x&bin=%00", "a;b", "=&=&="} {
		f.Add(seed)
	}
	s := &Server{CursorKey: []byte("key")}
	f.Fuzz(func(t *testing.T, query string) {
		b := testServer(nil)
		b.engine.GET("/q", b.serve(route{get, "/q", func(r *request) (answer, error) {
			r.server = s
			r.local = &service.Custom{Zone: time.UTC, Units: service.Metric}
			r.gin.Request.URL = &url.URL{Path: "/q", RawQuery: query}
			q, err := r.query("bin", "from", "order")
			if err == nil && (q.Limit < 1 || q.Limit > maxLimit) {
				t.Errorf("%q asks for %d items", query, q.Limit)
			}
			return answer{status: 200, body: "ok"}, err
		}, public}))
		w := httptest.NewRecorder()
		b.engine.ServeHTTP(w, httptest.NewRequest("GET", "/q", nil))
		if w.Code >= 500 {
			t.Errorf("%q: %d %s", query, w.Code, w.Body)
		}
	})
}
