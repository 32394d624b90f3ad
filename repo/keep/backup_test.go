package keep_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/archive"
)

// backedUp is a backup of a database.
func backedUp(t testing.TB, url string) []byte {
	t.Helper()
	var out bytes.Buffer
	_, err := repo.Backup(t.Context(), url, &out)
	must(t, err)
	return out.Bytes()
}

func accountOf(t *testing.T, url, email string) (id string, err error) {
	t.Helper()
	err = open(t, url).ViewShared(t.Context(), func(sh service.Shared) error {
		a, err := sh.Accounts.ByEmail(email)
		id = string(a.ID)
		return err
	})
	return id, err
}

// newURLs are the addresses of databases that aren't there yet, or have nothing.
func newURLs(t *testing.T) map[string]string {
	t.Helper()
	return map[string]string{"sqlite": filepath.Join(t.TempDir(), "new.db"), "postgres": repotest.EmptyPostgresURL(t)}
}

func TestABackupTakenUnderLoadIsRestoredAndRight(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s := newStory(t, url)
		ctx, stop := context.WithCancel(t.Context())
		var load sync.WaitGroup
		for _, bin := range []string{"tub", "pot"} {
			load.Go(func() {
				for n := 0; ctx.Err() == nil || n < 5; n++ {
					s.ana.Post("/movements", s.named(`{"kind":"loss","cause":"dead","lines":[{"from_bin":"$`+bin+`","quantity":{"value":0.01,"unit":"g"}}]}`)).Want(201)
					s.ana.Post("/checks", s.named(`{"bin":"$`+bin+`"}`)).Want(201)
				}
			})
		}
		var files []string
		for range 3 {
			file := filepath.Join(t.TempDir(), "service.lbk")
			done(t, "backup", "-o", file, "-db", url)
			files = append(files, file)
		}
		stop()
		load.Wait()
		last := filepath.Join(t.TempDir(), "last.lbk")
		done(t, "backup", "-o", last, "-db", url)
		for _, file := range append(files, last) {
			done(t, "archive", "check", file)
		}
		for kind, to := range newURLs(t) {
			if said := done(t, "restore", last, "-db", to); !strings.Contains(said, "all books are right") {
				t.Errorf("%s: %s", kind, said)
			}
			for _, club := range []string{"harbour", "hill"} {
				_, before := archived(t, url, club)
				if _, after := archived(t, to, club); !bytes.Equal(before, after) {
					t.Errorf("%s: %s is another", kind, club)
				}
			}
			if _, err := do(t, "restore", last, "-db", to); !errors.Is(err, repo.ErrNotEmpty) {
				t.Errorf("%s: restored twice: %v", kind, err)
			}
			p := apitest.On(t, open(t, to))
			for range 1000 {
				p.Server.NewID()
			}
			p.SignIn("ana").In("harbour").Post("/checks", s.named(`{"bin":"$pot"}`)).Want(201)
		}
	})
}

func TestNobodySignedInBeforeIsSignedInAfterARestore(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	file := filepath.Join(t.TempDir(), "service.lbk")
	done(t, "backup", "-o", file, "-db", s.url)
	to := filepath.Join(t.TempDir(), "new.db")
	done(t, "restore", file, "-db", to)
	p := apitest.On(t, open(t, to))
	apitest.Person{Caller: p.Caller}.In("harbour").WithKey(s.ana.Token).Get("/bins").Problem(401, "session-ended")
}

func TestARestoreDoesErasuresAgainBeforeAnybodyGetsIn(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		s := newStory(t, url)
		bea := s.bea.Absolute()
		account := bea.Get("/v1/me").Want(200).ID()
		apitest.Person{Caller: bea}.Found("dale") // of which she is the only steward
		file, list := filepath.Join(t.TempDir(), "service.lbk"), filepath.Join(t.TempDir(), "erasures")
		done(t, "backup", "-o", file, "-db", url)
		s.erase()
		code := s.bea.Elsewhere("dale").Post("/invitations", `{"email":"ana@example.org","name":"Ana","role":"steward"}`).Want(201).Text("/code")
		s.ana.Elsewhere("dale").Post("/invitations/accept", `{"code":"`+code+`"}`).Want(200)
		bea.Post("/v1/me/erasure", `{"passphrase":"`+apitest.Passphrase+`"}`).Want(200)
		done(t, "erasures", "-o", list, "-db", url)
		for kind, to := range newURLs(t) {
			if said := done(t, "restore", file, "-db", to, "-erasures", list); !strings.Contains(said, "Erased again: 2") {
				t.Errorf("%s: %s", kind, said)
			}
			if id, err := accountOf(t, to, "beatrix@example.org"); err == nil {
				t.Errorf("%s: account %s is back, of %s", kind, id, account)
			}
			_, data := archived(t, to, "harbour")
			if p := partsOf(t, data)[1]; strings.Contains(strings.Join(p.rows, ""), "beatrix") {
				t.Errorf("%s: %s", kind, p.rows)
			}
			again := filepath.Join(t.TempDir(), "again")
			done(t, "erasures", "-o", again, "-db", to)
			if sent, err := os.ReadFile(again); err != nil || bytes.Count(sent, []byte("\n")) != 2 {
				t.Errorf("%s: %s %v", kind, sent, err)
			}
		}
	})
}

func TestAListOfErasuresGrowsAndTellsNothingTwice(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	list := filepath.Join(t.TempDir(), "erasures")
	done(t, "erasures", "-o", list, "-db", s.url)
	if data, err := os.ReadFile(list); err != nil || len(data) > 0 {
		t.Errorf("%s %v", data, err)
	}
	must(t, os.WriteFile(list, []byte(`{"club":"c","member":"m","at":"2020-01-01T00:00:00Z"}`+"\n"+`{"club":"brok`), 0o600))
	s.erase()
	for range 2 {
		done(t, "erasures", "-o", list, "-db", s.url)
	}
	data, err := os.ReadFile(list)
	must(t, err)
	member := s.ana.Get("/erasures").Want(200).Text("/items/0/member")
	lines := strings.Split(string(data), "\n")
	if len(lines) != 3 || !strings.Contains(lines[1], member) || lines[1]+"\n" != done(t, "erasures", "-db", s.url) {
		t.Errorf("%s", data)
	}
	for _, bad := range []string{"{}", "[]", `{"club":"c"}`, `{"club":"c","member":"m","name":"Bea"}`, `{"club":"c","member":"m","account":"a"}`} {
		must(t, os.WriteFile(list, []byte(bad+"\n"), 0o600))
		if _, err := do(t, "erasures", "-o", list, "-db", s.url); err == nil || !strings.Contains(err.Error(), "line 1: this is no erasure") {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

func TestADatabaseWhoseRestoreBrokeOffIsOpenedByNobody(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	data := backedUp(t, s.url)
	for kind, to := range newURLs(t) {
		from, err := archive.NewReader(bytes.NewReader(data), archive.Ample())
		must(t, err)
		r, err := repo.Restore(t.Context(), to, from)
		must(t, err)
		if kind == "postgres" {
			if _, err = repo.Open(t.Context(), to, repo.Options{}); !errors.Is(err, repo.ErrHalfRestored) {
				t.Error(err)
			}
			if _, err = repo.Backup(t.Context(), to, io.Discard); !errors.Is(err, repo.ErrHalfRestored) {
				t.Error(err)
			}
		} else if _, err := os.Stat(to); err == nil {
			t.Error("the file is there")
		}
		must(t, r.Done(t.Context()))
		open(t, to)
	}
}

// victim makes the test binary a program that reads a file into a database.
const victim = "KEEP_TEST_VICTIM"

func TestAKilledRestoreOrReadLeavesNothingHalf(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	backup := filepath.Join(t.TempDir(), "service.lbk")
	done(t, "backup", "-o", backup, "-db", s.url)
	club, _ := archived(t, s.url, "harbour")
	for _, to := range []string{filepath.Join(t.TempDir(), "new.db"), repotest.EmptyPostgresURL(t)} {
		killed(t, "restore", backup, "-db", to)
		if _, err := os.Stat(to); err == nil {
			t.Errorf("%s is there", to)
		}
	}
	for _, to := range []string{repotest.SQLiteURL(t), repotest.PostgresURL(t)} {
		before := backedUp(t, to)
		killed(t, "archive", "read", club, "-db", to)
		if !bytes.Equal(before, backedUp(t, to)) {
			t.Errorf("%s has something", to)
		}
		done(t, "archive", "read", club, "-db", to)
	}
}

// killed runs a command that reads a file in a process of its own, which gets half
// of the file and is killed as it waits for the rest.
func killed(t *testing.T, command ...string) {
	t.Helper()
	i := len(command) - 3
	data, err := os.ReadFile(command[i])
	must(t, err)
	pipe := filepath.Join(t.TempDir(), "pipe")
	must(t, exec.CommandContext(t.Context(), "mkfifo", pipe).Run())
	command[i] = pipe
	c := exec.CommandContext(t.Context(), os.Args[0])
	c.Env = append(os.Environ(), victim+"="+strings.Join(command, "\n"))
	must(t, c.Start())
	in, err := os.OpenFile(pipe, os.O_WRONLY, 0)
	must(t, err)
	_, err = in.Write(data[:len(data)*9/10])
	must(t, err)
	must(t, c.Process.Kill()) // SIGKILL
	_ = c.Wait()
	must(t, in.Close())
}

func TestARunningServiceKeepsTheListAndHeedsIt(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	older := filepath.Join(t.TempDir(), "older.lbk")
	done(t, "backup", "-o", older, "-db", s.url)
	list := filepath.Join(t.TempDir(), "erasures")
	failed := func(what string, err error) { t.Error(what, err) }
	stop, err := keepList(t, s.Server.Service, list, failed)
	must(t, err)
	s.erase()
	stop()
	put := filepath.Join(t.TempDir(), "put.db")
	done(t, "restore", older, "-db", put)
	p := apitest.On(t, open(t, put))
	for range 1000 {
		p.Server.NewID()
	}
	ana := p.SignIn("ana").In("harbour")
	member := s.ana.Get("/erasures").Want(200).Text("/items/0/member")
	ana.Get("/members/"+member).Want(200).Is("/name", "beatrix")
	stop, err = keepList(t, p.Server.Service, list, failed)
	must(t, err)
	stop()
	ana.Get("/members/"+member).Want(200).Is("/name", "former member 1")
}
