package keep_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/keep"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

func TestMain(m *testing.M) {
	if command := os.Getenv(victim); command != "" {
		tools := keep.Tools{Out: os.Stdout, Err: os.Stderr, Now: time.Now, NewID: func() string { return "01990000-0000-7000-8000-000000000001" }}
		fmt.Fprintln(os.Stderr, tools.Do(context.Background(), strings.Split(command, "\n")))
		os.Exit(1)
	}
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// told is what is recorded of the story's club: who, where, what; a name before it
// stands for its id from then on. It has something of every noun, and of each way
// to take something back.
var told = []string{
	`ana cellar /sites {"name":"Cellar \"Süd\"","address":"7 Rope Walk"}`,
	`ana tub /bins {"name":"Tub","kind":"tote","site":"$cellar","surface_m2":0.5,"started":"2025-12-01"}`,
	`ana pot /bins {"name":"Pot","kind":"tote","site":"$cellar","surface_m2":0.25,"started":"2025-12-01"}`,
	`ana guest /bins {"name":"Guest","kind":"bag","site":"$cellar","surface_m2":0.1,"started":"2025-12-01"}`,
	`ana scraps /materials {"name":"Scraps","kind":"feed","moisture_pct":80,"density_g_per_l":500}`,
	`ana bucket /measures {"name":"Bucket","volume":{"value":10,"unit":"L"},"tare":{"value":0.4,"unit":"kg"}}`,
	`ana reds /cultures {"name":"Reds","species":"eisenia-fetida"}`,
	`ana farm /origins {"name":"Green Farm","kind":"supplier","species":"eisenia-fetida","culture":"$reds"}`,
	`ana in /movements {"kind":"stocking","at":"2025-12-02","to_bin":"$tub","lines":[{"origin":"$farm","quantity":{"value":1,"unit":"kg"}}]}`,
	`ana split /movements {"kind":"split","at":"2026-01-10","to_bin":"$pot","lines":[{"from_bin":"$tub","quantity":{"value":30,"unit":"%"}}]}`,
	`ana wrong /movements {"kind":"loss","cause":"dead","at":"2026-01-20","lines":[{"from_bin":"$pot","quantity":{"value":5,"unit":"g"}}]}`,
	`ana back /movements/$wrong/reversal {"reason":"they were only asleep"}`,
	`ana census /censuses {"bin":"$tub","at":"2026-03-01","species":"eisenia-fetida","estimate":{"value":900,"unit":"g"},"low":{"value":800,"unit":"g"},"high":{"value":1000,"unit":"g"},"apply":true}`,
	`ana late /movements {"kind":"split","at":"2026-02-01","to_bin":"$pot","lines":[{"from_bin":"$tub","quantity":{"value":50,"unit":"g"}}]}`,
	`ana got /receipts {"material":"$scraps","at":"2026-01-01","from":"Quay Café","gross":{"value":27,"unit":"kg"},"tare":{"value":2,"unit":"kg"}}`,
	`ana fed /feedings {"bin":"$tub","at":"2026-03-02","note":"tab\there","items":[{"material":"$scraps","quantity":{"value":1.1,"unit":"kg"},"receipt":"$got"}]}`,
	`ana buckets /feedings {"bin":"$tub","at":"2026-03-05","items":[{"material":"$scraps","measure":"$bucket","count":2}]}`,
	`ana looked /checks {"bin":"$tub","at":"2026-03-09","leftover_pct":20.5,"temperature":{"value":68,"unit":"[degF]"},"ph":7.1}`,
	`ana lot /batches {"product":"vermicompost"}`,
	`ana out /harvests {"bin":"$tub","at":"2026-04-01","full":true,"castings":{"value":900,"unit":"g"},"moisture_pct":60,"batch":"$lot"}`,
	`ana dried /batch-steps {"batch":"$lot","kind":"drying","at":"2026-04-02","moisture_pct":40}`,
	`ana fine /batches {"product":"screened","mesh_mm":4}`,
	`ana sieved /reworks {"kind":"screening","at":"2026-04-03","from":[{"batch":"$lot"}],"into":[{"batch":"$fine","quantity":{"value":400,"unit":"g"}}]}`,
	`ana apart /quarantines {"bin":"$guest","at":"2026-04-01","until":"2026-05-22","reason":"worms from another county"}`,
	`ana alien /movements {"kind":"stocking","at":"2026-04-02","to_bin":"$guest","lines":[{"origin":"$farm","quantity":{"value":300,"unit":"g"}}]}`,
	`ana gift /transfers {"terms":"gift","party":"Hill School","contact":{"text":"head@school.example","purpose":"tracing","until":"2027-01-01"},"legs":[{"goods":[{"from_bin":"$pot","quantity":{"value":10,"unit":"g"}}]}]}`,
	`ana sent /transfers/$gift/dispatch {}`,
	`ana offer /offers {"what":"Red worms","bin":"$tub","terms":["gift"],"quantity":{"value":100,"unit":"g"}}`,
	`ana hands /turnouts {"at":"2026-04-05","households":38,"volunteer_hours":12.5}`,
	`ana fork /contacts {"bins":["$tub","$pot"],"what":"tools","at":"2026-04-06"}`,
	`ana scalded /clearings {"bin":"$pot","at":"2026-04-07","how":"scalded and dried"}`,
	`ana nickname /cultures {"name":"Ruby line","species":"eisenia-fetida"}`,
	`ana merged /cultures/$nickname/merge {"into":"$reds"}`,
	`key byKey /checks {"bin":"$pot","at":"2026-04-20","note":"by the thermometer"}`,
	`ana closed /closing {"until":"2026-02-28","reason":"season approved"}`,
	`why afterwards /checks {"bin":"$pot","at":"2026-02-03","note":"found on a slip of paper"}`,
}

// story is a program on a database with two clubs: the harbour, of which much is
// told, and the hill, which has its steward alone.
type story struct {
	*apitest.Program
	url      string
	ana, bea apitest.Club
	ids      map[string]string
}

func newStory(t *testing.T, url string) *story {
	t.Helper()
	s := &story{Program: apitest.On(t, open(t, url)), url: url, ids: map[string]string{}}
	person := s.SignUp("ana")
	person.Found("hill")
	s.ana = person.Found("harbour")
	s.bea = s.ana.Join("beatrix", "keeper")
	key := s.ana.WithKey(s.ana.Post("/api-keys", `{"name":"Thermometer","scopes":["read","record"]}`).Want(201).Text("/key"))
	callers := map[string]apitest.Caller{"ana": s.ana.Caller, "key": key.Caller, "why": s.ana.With("Late-Reason", "found later")}
	for _, line := range told {
		f := strings.SplitN(line, " ", 4)
		who := callers[f[0]]
		answer := who.Post(s.named(f[2]), s.named(f[3]))
		if answer.Status >= 300 {
			t.Fatalf("%s: %d %s", line, answer.Status, answer.Body)
		}
		if id := regexp.MustCompile(`^{"id":"([^"]*)"`).FindStringSubmatch(answer.Body); id != nil {
			s.ids[f[1]] = id[1]
		}
	}
	lot := s.ana.Get("/lots?bin=" + s.ids["tub"]).Want(200).Text("/items/0/id")
	s.ana.Post("/identifications", `{"lot":"`+lot+`","species":"eisenia-andrei","at":"2026-04-20","method":"dna","specimens":12}`).Want(201)
	s.ana.Delete("/feedings/"+s.ids["buckets"], "*").Want(200)
	s.ana.Patch("/bins/"+s.ids["pot"], "*", `{"note":"moved"}`).Want(200)
	return s
}

// named puts ids for the names of the story.
func (s *story) named(text string) string {
	return regexp.MustCompile(`\$\w+`).ReplaceAllStringFunc(text, func(name string) string { return s.ids[name[1:]] })
}

// erase erases Beatrix.
func (s *story) erase() {
	s.ana.Post("/members/"+s.bea.MemberID()+"/erasure", `{"to":"`+s.ana.MemberID()+`","confirm":"beatrix"}`).Want(200)
}

func open(t *testing.T, url string) *repo.Store {
	t.Helper()
	s, err := repo.Open(t.Context(), url, repo.Options{Connections: 8})
	must(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

var made atomic.Int64

// do does a command on the day of the stories, and returns what it said.
func do(t testing.TB, args ...string) (string, error) {
	t.Helper()
	var out, err bytes.Buffer
	tools := keep.Tools{
		DB: filepath.Join(t.TempDir(), "nothing.db"), Out: &out, Err: &err,
		Now:   func() time.Time { return time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC) },
		NewID: func() string { return fmt.Sprintf("01980000-0000-7000-8000-%012x", made.Add(1)) },
	}
	failed := tools.Do(context.WithoutCancel(t.Context()), args)
	return out.String() + err.String(), failed
}

// done does a command that mustn't fail.
func done(t testing.TB, args ...string) string {
	t.Helper()
	said, err := do(t, args...)
	if err != nil {
		t.Fatalf("%v: %v; said %s", args, err, said)
	}
	return said
}

// archived is the archive of a club, as a file and its bytes.
func archived(t testing.TB, url, club string) (string, []byte) {
	t.Helper()
	path := filepath.Join(t.TempDir(), club+".lba")
	done(t, "archive", "write", "-club", club, "-o", path, "-db", url)
	data, err := os.ReadFile(path)
	must(t, err)
	return path, data
}

// both runs fn on a fresh database of each kind, with a fresh one of the other.
func both(t *testing.T, fn func(t *testing.T, from, to string)) {
	t.Helper()
	t.Run("sqlite to postgres", func(t *testing.T) {
		t.Parallel()
		fn(t, repotest.SQLiteURL(t), repotest.PostgresURL(t))
	})
	t.Run("postgres to sqlite", func(t *testing.T) {
		t.Parallel()
		fn(t, repotest.PostgresURL(t), repotest.SQLiteURL(t))
	})
}

// keepList is keep.List for as long as a test lasts.
func keepList(t *testing.T, s *service.Service, path string, failed func(string, error)) (func(), error) {
	t.Helper()
	return keep.List(context.WithoutCancel(t.Context()), s, path, failed)
}
