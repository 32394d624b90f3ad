package api

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"testing"
)

// long is a body above the least size that is packed.
var long = strings.Repeat("worms ", packMin)

func unpacked(t *testing.T, body *bytes.Buffer) string {
	t.Helper()
	r, err := gzip.NewReader(body)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func answering(a answer) *bench {
	return testServer(func(*request) (answer, error) { a.status = http.StatusOK; return a, nil })
}

func TestALongTextGoesAsGzipToWhoTakesIt(t *testing.T) {
	t.Parallel()
	b := answering(answer{body: long})
	w := b.call("GET", "/x", "Accept-Encoding", "br, gzip")
	if w.Header().Get("Content-Encoding") != "gzip" || w.Body.Len() > len(long)/10 {
		t.Errorf("%v, %d bytes", w.Header(), w.Body.Len())
	}
	if got := unpacked(t, w.Body); got != `"`+long+`"` {
		t.Errorf("unpacked to %d bytes", len(got))
	}
	if again := b.call("GET", "/x", "Accept-Encoding", "gzip"); unpacked(t, again.Body) != `"`+long+`"` {
		t.Error("the second answer differs")
	}
}

func TestOtherBodiesGoAsTheyAre(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		answer answer
		takes  string
	}{
		"nothing is said":        {answer{body: long}, ""},
		"another coding":         {answer{body: long}, "br"},
		"gzip is refused":        {answer{body: long}, "*, gzip;q=0"},
		"all but identity isn't": {answer{body: long}, "*;q=0"},
		"a short body":           {answer{body: "worms"}, "gzip"},
		"an archive":             {answer{raw: []byte(long), media: "application/zip"}, "gzip"},
		"a picture":              {answer{raw: []byte(long), media: "image/png"}, "gzip"},
		"a spreadsheet":          {answer{raw: []byte(long), media: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}, "gzip"},
	} {
		w := answering(tt.answer).call("GET", "/x", "Accept-Encoding", tt.takes)
		if w.Header().Get("Content-Encoding") != "" || !strings.Contains(w.Body.String(), "worms") {
			t.Errorf("%s: %v", name, w.Header())
		}
		if w.Header().Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s: Vary is %q", name, w.Header().Get("Vary"))
		}
	}
	for _, takes := range []string{"gzip", "*", "GZIP;q=0.1", "identity, x-gzip ; q=1"} {
		if w := answering(answer{body: long}).call("GET", "/x", "Accept-Encoding", takes); w.Header().Get("Content-Encoding") != "gzip" {
			t.Errorf("%q isn't understood", takes)
		}
	}
}

func TestAStrongTagNamesTheFormAndBothFormsAreKnown(t *testing.T) {
	t.Parallel()
	b := answering(answer{version: 3, body: long})
	plain := b.call("GET", "/x").Header().Get("ETag")
	zipped := b.call("GET", "/x", "Accept-Encoding", "gzip").Header().Get("ETag")
	if zipped != strings.TrimSuffix(plain, `"`)+`-gzip"` {
		t.Fatalf("tags %s and %s", plain, zipped)
	}
	for _, tt := range []struct{ takes, has, want string }{
		{"gzip", zipped, zipped}, {"gzip", `"other", ` + zipped, zipped}, {"gzip", plain, plain}, {"", plain, plain}, {"gzip", "*", plain},
	} {
		w := b.call("GET", "/x", "Accept-Encoding", tt.takes, "If-None-Match", tt.has)
		if w.Code != http.StatusNotModified || w.Header().Get("ETag") != tt.want || w.Header().Get("Content-Encoding") != "" || w.Body.Len() > 0 {
			t.Errorf("%q has %s: %d %v", tt.takes, tt.has, w.Code, w.Header())
		}
	}
	weak := answering(answer{body: long})
	if tag := weak.call("GET", "/x", "Accept-Encoding", "gzip").Header().Get("ETag"); !strings.HasPrefix(tag, "W/") || strings.Contains(tag, packed) {
		t.Errorf("a weak tag became %s", tag)
	}
}

func TestTheTagOfAPackedBodyIsTheRecordsOwnInIfMatch(t *testing.T) {
	t.Parallel()
	var got string
	b := testServer(func(r *request) (answer, error) {
		got = r.gin.GetHeader("If-Match")
		return answer{status: http.StatusOK, body: "worms"}, nil
	})
	b.call("POST", "/x", "Content-Type", "application/json", "If-Match", `"3-0f1e-gzip"`)
	if got != `"3-0f1e"` {
		t.Errorf("behind is %s", got)
	}
}

func TestHeadHasTheHeadersOfGetAndNoBody(t *testing.T) {
	t.Parallel()
	for _, body := range []string{"worms", long} {
		for _, takes := range []string{"", "gzip"} {
			b := answering(answer{version: 3, body: body})
			b.engine.HEAD("/x", b.serve(route{get, "/x", func(*request) (answer, error) {
				return answer{status: http.StatusOK, version: 3, body: body}, nil
			}, public}))
			got, want := b.call("HEAD", "/x", "Accept-Encoding", takes), b.call("GET", "/x", "Accept-Encoding", takes)
			if got.Code != http.StatusOK || got.Body.Len() > 0 {
				t.Errorf("%d with %d bytes", got.Code, got.Body.Len())
			}
			for _, name := range []string{"ETag", "Content-Type", "Content-Encoding", "Vary", "Cache-Control"} {
				if got.Header().Get(name) != want.Header().Get(name) {
					t.Errorf("%s is %q, and of GET %q", name, got.Header().Get(name), want.Header().Get(name))
				}
			}
		}
	}
}
