package api_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// lagoon is the files of a demo club.
func lagoon(t *testing.T) map[string][]byte {
	t.Helper()
	paths, err := filepath.Glob("../testdata/demo/lagoon/*.csv")
	if err != nil || len(paths) == 0 {
		t.Fatal("no demo club: ", err)
	}
	out := map[string][]byte{}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(p)] = data
	}
	return out
}

// form packs files as a form.
func form(t *testing.T, files map[string][]byte) (media string, body []byte) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, data := range files {
		part, err := w.CreateFormFile("file", name)
		if err == nil {
			_, err = part.Write(data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return w.FormDataContentType(), b.Bytes()
}

// bring imports a body of a media type.
func bring(c apitest.Club, query, media string, body []byte) *apitest.Answer {
	return c.With("Content-Type", media).Do(http.MethodPost, "/imports"+query, bytes.NewReader(body))
}

// inNovember is a program on 25 November 2026, and a steward's new club.
func inNovember(t *testing.T, store *repo.Store, handle string) (*apitest.Program, apitest.Club) {
	t.Helper()
	p := apitest.On(t, store)
	p.Clock.Move(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC).Sub(p.Clock.Now()))
	return p, p.SignUp("ana").Found(handle)
}

func TestABookIsImportedFromAFormAndGoesOnAsJSONAndAsAnArchive(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		p, club := inNovember(t, store, "lagoon")
		media, body := form(t, lagoon(t))
		bring(club, "?dry_run=true", media, body).Want(http.StatusOK).Is("/dry_run", true)
		club.Get("/bins").Want(http.StatusOK).Is("/items", []any{})
		a := bring(club, "?dry_run=false", media, body).Want(http.StatusCreated).Is("/dry_run", false).Is("/warnings", []any{})
		a.Is("/records/7", map[string]any{"table": "bins", "records": 5})
		book := club.Get("/exports/book.json").Want(http.StatusOK).Body
		archive := club.Get("/exports/book.zip").Want(http.StatusOK).Has("Content-Type", "application/zip").Body
		ana := p.SignIn("ana")
		second, third := ana.Found("second"), ana.Found("third")
		bring(second, "", "application/json", []byte(book)).Want(http.StatusCreated)
		bring(third, "", "application/zip", []byte(second.Get("/exports/book.zip").Want(http.StatusOK).Body)).Want(http.StatusCreated)
		for _, c := range []apitest.Club{second, third} {
			if c.Get("/exports/book.json").Want(http.StatusOK).Body != book || c.Get("/exports/book.zip").Want(http.StatusOK).Body != archive {
				t.Errorf("%s has another book", c.Handle)
			}
		}
	})
}

func TestATableIsImportedAndExportedAsCSV(t *testing.T) {
	t.Parallel()
	_, club := inNovember(t, repotest.SQLite(t), "harbour")
	const sites = "id,name,address,owner,note\r\n01970000-0000-7000-9000-000000000001,Cellar,'=1 Quay,ana,\"dry, cool\"\r\n"
	bring(club, "?records=sites", "text/csv; charset=utf-8", []byte(sites)).Want(http.StatusCreated)
	club.Get("/sites/01970000-0000-7000-9000-000000000001").Want(http.StatusOK).Is("/address", "=1 Quay")
	a := club.Get("/exports/sites.csv").Want(http.StatusOK).Has("Content-Type", "text/csv; charset=utf-8; header=present")
	if a.Body != sites {
		t.Errorf("got %q", a.Body)
	}
	for _, file := range []string{"worms.csv", "sites", "sites.xlsx"} {
		club.Get("/exports/"+file).Problem(http.StatusNotFound, "not-found")
	}
}

func TestAnImportThatIsRefusedNamesEveryRowAndKeepsNothing(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		_, club := inNovember(t, store, "harbour")
		const sites = "id,name,address,owner,note\n,Cellar,,ana,\n,Cellar,,ana,\n,Shed,,zoe,\n"
		for _, query := range []string{"?records=sites", "?records=sites&dry_run=true"} {
			bring(club, query, "text/csv", []byte(sites)).
				Problem(http.StatusUnprocessableEntity, "import", "/sites.csv/3/name", "/sites.csv/4/owner").
				Is("/errors/1/code", "member-not-found")
		}
		bring(club, "?records=sites", "text/csv", []byte(sites[:len(sites)-3])).Problem(http.StatusUnprocessableEntity, "import", "/sites.csv/4")
		club.Post("/imports", `{"sites":[{"name":"Cellar"},{"name":7}]}`).Problem(http.StatusUnprocessableEntity, "import", "/sites/1/name")
		club.Get("/sites").Want(http.StatusOK).Is("/items", []any{})
	})
}

func TestWhatIsNoBookIsRefused(t *testing.T) {
	t.Parallel()
	_, club := inNovember(t, repotest.SQLite(t), "harbour")
	empty, none := form(t, nil)
	text, field := "multipart/form-data; boundary=x", []byte("--x\r\nContent-Disposition: form-data; name=\"a\"\r\n\r\nb\r\n--x--\r\n")
	for _, tt := range []struct {
		query, media string
		body         []byte
		code         string
		pointers     []string
	}{
		{"", "text/csv", []byte("id\n"), "malformed", []string{"?records"}},
		{"?records=sites&dry_run=yes&x=1", "text/csv", nil, "malformed", []string{"?dry_run", "?x"}},
		{"", "application/json", []byte("[]"), "malformed", nil},
		{"", "application/zip", []byte("PK"), "malformed", nil},
		{"", empty, none, "malformed", nil},
		{"", text, field, "malformed", nil},
		{"", text, field[:20], "malformed", nil},
	} {
		bring(club, tt.query, tt.media, tt.body).Problem(http.StatusBadRequest, tt.code, tt.pointers...)
	}
	bring(club, "", "text/plain", nil).Problem(http.StatusUnsupportedMediaType, "unsupported-media-type")
	bring(club, "?records=sites", "text/csv", make([]byte, 16<<20+1)).Problem(http.StatusRequestEntityTooLarge, "too-large")
	bomb := archive(t, "sites.csv", make([]byte, 65<<20))
	bring(club, "", "application/zip", bomb).Problem(http.StatusRequestEntityTooLarge, "too-large")
}

// archive packs one file.
func archive(t *testing.T, name string, data []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create(name)
	if err == nil {
		_, err = w.Write(data)
	}
	if err := errors.Join(err, z.Close()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestOnlyStewardsImportAndExport(t *testing.T) {
	t.Parallel()
	p, club := inNovember(t, repotest.SQLite(t), "harbour")
	for _, role := range []string{"keeper", "reader"} {
		m := club.Join(role, role)
		m.Post("/imports", `{}`).Problem(http.StatusForbidden, "forbidden")
		for _, file := range []string{"book.json", "book.zip", "bins.csv", "club.jsonl.gz"} {
			m.Get("/exports/"+file).Problem(http.StatusForbidden, "forbidden")
		}
	}
	eve := club.As(p.SignUp("eve"))
	eve.Post("/imports", `{}`).Problem(http.StatusNotFound, "club-not-found")
	eve.Get("/exports/book.json").Problem(http.StatusNotFound, "club-not-found")
	club.As(apitest.Person{Caller: p.Caller}).Get("/exports/book.json").Problem(http.StatusUnauthorized, "sign-in")
}

func TestTheWholeClubIsDownloadedAsTheOperatorWritesIt(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		q := newQuay(t, url)
		got := q.ana.Get("/exports/club.jsonl.gz").Want(http.StatusOK).Has("Content-Type", "application/gzip").Has("Content-Encoding", "")
		var file bytes.Buffer
		if _, err := q.Server.ArchiveOf(t.Context(), "harbour", &file); err != nil || file.String() != got.Body {
			t.Errorf("the operator's has %d bytes, the steward's %d: %v", file.Len(), len(got.Body), err)
		}
	})
}

func TestAnImportWithAKeyHappensOnce(t *testing.T) {
	t.Parallel()
	_, club := inNovember(t, repotest.SQLite(t), "harbour")
	again := club
	again.Caller = club.With("Idempotency-Key", `"spring"`)
	const sites = "id,name,address,owner,note\n,Cellar,,ana,\n"
	rehearsed := club
	rehearsed.Caller = club.With("Idempotency-Key", `"dress rehearsal"`)
	bring(rehearsed, "?records=sites&dry_run=true", "text/csv", []byte(sites)).Want(http.StatusOK)
	club.Get("/sites").Want(http.StatusOK).Is("/items", []any{})
	first := bring(again, "?records=sites", "text/csv", []byte(sites)).Want(http.StatusCreated)
	second := bring(again, "?records=sites", "text/csv", []byte(sites)).Want(http.StatusCreated).Has("Idempotency-Replayed", "true")
	if first.Body != second.Body || len(club.Get("/sites").Value("/items").([]any)) != 1 {
		t.Errorf("got %s and %s", first.Body, second.Body)
	}
}
