package elements

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"regexp"
	"testing"
)

// released are the versions that pages may name, with the SHA-256 of each.
var released = map[string]string{
	"lumbricary-1.0.0.js": "bfeef908d17dbbf0c1647193bd8857c25ae8e891e4af60547e96a32f6623d174",
}

func ask(t *testing.T, path, known string) *httptest.ResponseRecorder {
	t.Helper()
	h, ok := Handlers()[path]
	if !ok {
		t.Fatalf("nothing is at %s", path)
	}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
	r.Header.Set("If-None-Match", known)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestAVersionStaysAsItWasReleased(t *testing.T) {
	t.Parallel()
	files, err := fs.Glob(scripts, "*.js")
	if err != nil || len(files) != len(released) {
		t.Errorf("%v %v", files, err)
	}
	for _, name := range files {
		body, err := scripts.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if sum := sha256.Sum256(body); hex.EncodeToString(sum[:]) != released[name] {
			t.Errorf("%s is %x; a change needs another version", name, sum)
		}
	}
}

func TestTheScriptIsSmall(t *testing.T) {
	t.Parallel()
	var small bytes.Buffer
	z := gzip.NewWriter(&small)
	if _, err := z.Write(ask(t, "/elements/lumbricary.js", "").Body.Bytes()); err != nil || z.Close() != nil {
		t.Fatal(err)
	}
	if small.Len() > 30_000 {
		t.Errorf("%d bytes", small.Len())
	}
}

func TestTheStableAddressServesTheNewestVersion(t *testing.T) {
	t.Parallel()
	stable, version := ask(t, "/elements/lumbricary.js", ""), ask(t, "/elements/lumbricary-"+Newest+".js", "")
	if stable.Body.String() != version.Body.String() || stable.Header().Get("Content-Type") != "text/javascript; charset=utf-8" {
		t.Error(stable.Header())
	}
	if stable.Header().Get("Cache-Control") != "public, max-age=3600" || version.Header().Get("Cache-Control") != "public, max-age=31536000, immutable" {
		t.Error(stable.Header(), version.Header())
	}
	if again := ask(t, "/elements/lumbricary.js", stable.Header().Get("ETag")); again.Code != http.StatusNotModified || again.Body.Len() > 0 {
		t.Error(again.Code)
	}
}

func TestTheScriptRunsUnderAStrictPolicyAndCallsNobodyElse(t *testing.T) {
	t.Parallel()
	script := ask(t, "/elements/lumbricary.js", "").Body.String()
	for _, unsafe := range []string{`\beval\b`, `new Function`, `innerHTML`, `insertAdjacentHTML`, `document\.write`, `\.style\b`, `setAttribute\("style"`, `(?m)^import `, `localStorage`, `document\.cookie`} {
		if found := regexp.MustCompile(unsafe).FindString(script); found != "" {
			t.Errorf("it has %s", found)
		}
	}
	for _, address := range regexp.MustCompile(`https?://[\w./]+`).FindAllString(script, -1) {
		if address != "https://SERVICE/elements/lumbricary.js" && address != "http://www.w3.org/2000/svg" {
			t.Errorf("it names %s", address)
		}
	}
}
