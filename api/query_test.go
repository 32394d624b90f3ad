package api

import (
	"context"
	"net/http/httptest"
	"testing"
	"time"

	"lumbricary.example/service"

	"github.com/gin-gonic/gin"
)

// asked reads a query in a club thirteen hours ahead of UTC.
func asked(query string, filters ...string) (listing, error) {
	c, _ := gin.CreateTestContext(httptest.NewRecorder())
	c.Request = httptest.NewRequestWithContext(context.Background(), "GET", "/v1/clubs/harbour/checks?"+query, nil)
	r := &request{gin: c, server: &Server{CursorKey: []byte("key")}, local: &service.Custom{Zone: service.Club{TimeZone: "Pacific/Tongatapu"}.Zone()}}
	return r.query(filters...)
}

func TestAListIsFiltered(t *testing.T) {
	t.Parallel()
	got, err := asked("bin=b&member=m&species=s&batch=c&kind=k&from=2026-05-01&to=2026-05-02T00:00:00%2B01:00&order=newest&limit=7",
		"bin", "member", "species", "batch", "kind", "from", "to", "order")
	want := service.Query{
		Bin: "b", Member: "m", Species: "s", Batch: "c", Kind: "k", Newest: true, Limit: 7,
		From: time.Date(2026, 4, 30, 11, 0, 0, 0, time.UTC), To: time.Date(2026, 5, 1, 23, 0, 0, 0, time.UTC),
	}
	if err != nil || got.Query != want {
		t.Errorf("%+v, %v", got.Query, err)
	}
}

func TestAFilterThatCanNotBeReadIsMalformed(t *testing.T) {
	t.Parallel()
	for query, pointer := range map[string]string{"from=soon": "?from", "to=2026-02-30": "?to", "order=up": "?order", "bin=%00": "?bin", "bin=a&bin=b": "?bin"} {
		_, err := asked(query, "bin", "from", "to", "order")
		e := classed(err)
		if !service.ErrMalformed.Is(err) || len(e.Fields) != 1 || e.Fields[0].Pointer != pointer {
			t.Errorf("%s: %+v", query, e)
		}
	}
}

func TestACursorIsBoundToTheFilterButNotToTheLimit(t *testing.T) {
	t.Parallel()
	first, err := asked("bin=a&kind=k&limit=2", "bin", "kind")
	if err != nil {
		t.Fatal(err)
	}
	at := service.Place{At: time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC), ID: "x"}
	cursor := (&Server{CursorKey: []byte("key")}).cursor(first.scope, at)
	if got, err := asked("kind=k&bin=a&limit=9&cursor="+cursor, "bin", "kind"); err != nil || got.After != at {
		t.Errorf("%v, %v", got.After, err)
	}
	for _, query := range []string{"bin=b&kind=k", "bin=a", "kind=k", ""} {
		if _, err := asked(query+"&cursor="+cursor, "bin", "kind"); !service.ErrCursor.Is(err) {
			t.Errorf("%s: %v", query, err)
		}
	}
}
