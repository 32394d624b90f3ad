package keep_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/archive"
)

func TestAClubIsTheSameInEitherDatabase(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, from, to string) {
		s := newStory(t, from)
		s.erase()
		file, first := archived(t, from, "harbour")
		said := done(t, "archive", "read", file, "-db", to)
		if !strings.Contains(said, "its books are right") || !strings.Contains(said, `lumbricary invite -club harbour -member "ana"`) {
			t.Error(said)
		}
		if _, second := archived(t, to, "harbour"); !bytes.Equal(first, second) {
			t.Error("its archive is another")
		}
	})
}

func TestTheStoryHasSomethingInEveryPart(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	s.erase()
	_, data := archived(t, s.url, "harbour")
	for _, p := range partsOf(t, data) {
		if len(p.rows) == 0 {
			t.Errorf("nothing is told of %s", p.name)
		}
	}
}

// part is a part of an archive.
type part struct {
	name string
	rows []string
}

func partsOf(t testing.TB, file []byte) (parts []part) {
	t.Helper()
	from, err := archive.NewReader(bytes.NewReader(file), archive.Ample())
	must(t, err)
	for {
		name, err := from.Next()
		if errors.Is(err, io.EOF) {
			return parts
		}
		must(t, err)
		p := part{name: name}
		for {
			row, err := from.Row()
			if errors.Is(err, io.EOF) {
				break
			}
			must(t, err)
			p.rows = append(p.rows, string(row))
		}
		parts = append(parts, p)
	}
}

// sealed writes an archive of parts, into a file of its own.
func sealed(t testing.TB, h archive.Header, parts []part) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sealed.lba")
	f, err := os.Create(path)
	must(t, err)
	w, err := archive.NewWriter(f, h)
	must(t, err)
	for _, p := range parts {
		must(t, w.Part(p.name))
		for _, row := range p.rows {
			must(t, w.Row([]byte(row)))
		}
	}
	_, err = w.Close()
	must(t, errors.Join(err, f.Close()))
	return path
}

func headerOf(t testing.TB, file []byte) archive.Header {
	t.Helper()
	from, err := archive.NewReader(bytes.NewReader(file), archive.Ample())
	must(t, err)
	return from.Header()
}

func TestPeopleComeBackByInvitationsAndKeysDoNot(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, from, to string) {
		s := newStory(t, from)
		key := s.ana.Post("/api-keys", `{"name":"Script","scopes":["read"]}`).Want(201).Text("/key")
		s.ana.WithKey(key).Get("/bins").Want(200)
		file, _ := archived(t, from, "harbour")
		done(t, "archive", "read", file, "-db", to)
		store := open(t, to)
		p := apitest.On(t, store)
		for range 1000 {
			p.Server.NewID() // those of before are taken
		}
		ana := p.SignUp("ana")
		ana.In("harbour").Get("/bins").Problem(404, "club-not-found")
		ana.In("harbour").WithKey(key).Get("/bins").Problem(404, "club-not-found")

		letIn := p.Server.Invitations.LetIn
		for _, other := range []string{"beatrix", "nobody"} {
			if _, _, err := letIn(t.Context(), "harbour", other, "eve@example.org"); !errors.Is(err, service.ErrMemberNotFound) {
				t.Errorf("%s is let in: %v", other, err)
			}
		}
		_, code, err := letIn(t.Context(), "harbour", "ana", "ana@example.org")
		must(t, err)
		harbour := ana.In("harbour")
		harbour.Post("/invitations/accept", `{"code":"`+code+`"}`).Want(200)
		harbour.Get("/bins/"+s.ids["pot"]).Want(200).Is("/note", "moved")
		if _, _, err := letIn(t.Context(), "harbour", "ana", "eve@example.org"); !errors.Is(err, service.ErrMemberTaken) {
			t.Errorf("a steward with an account is let in: %v", err)
		}
		// Life goes on: what is recorded comes after all that was.
		harbour.Post("/checks", `{"bin":"`+s.ids["pot"]+`"}`).Want(201)
		harbour.Post("/movements", `{"kind":"loss","cause":"dead","lines":[{"from_bin":"`+s.ids["tub"]+`","quantity":{"value":1,"unit":"g"}}]}`).Want(201)
		harbour.Post("/transfers/"+s.ids["gift"]+"/receive", `{}`).Want(200)
		proofs, err := p.Server.Prove(t.Context(), "")
		must(t, err)
		for _, f := range proofs[0].Wrong {
			t.Error(f)
		}
	})
}

func TestMoreThanAnArchiveCarriesIsRefusedAndChangesNothing(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, from, to string) {
		s := newStory(t, from)
		s.erase()
		_, file := archived(t, from, "harbour")
		apitest.On(t, open(t, to)).SignUp("eve")
		eve, err := accountOf(t, to, "eve@example.org")
		must(t, err)
		before := backedUp(t, to)
		refused := func(why string, path string) {
			t.Helper()
			if said, err := do(t, "archive", "read", path, "-db", to); err == nil || !strings.Contains(err.Error(), why) {
				t.Errorf("%v, want %s; said %s", err, why, said)
			}
		}
		h := headerOf(t, file)
		with := func(name, old, new string) string {
			parts := partsOf(t, file)
			for i := range parts {
				if parts[i].name == name {
					if parts[i].rows[0] == strings.Replace(parts[i].rows[0], old, new, 1) {
						t.Fatalf("%s has no %s: %s", name, old, parts[i].rows[0])
					}
					parts[i].rows[0] = strings.Replace(parts[i].rows[0], old, new, 1)
				}
			}
			return sealed(t, h, parts)
		}
		planted := "doesn't give the same archive again"
		refused(planted, with("members", `"account_id":null`, `"account_id":"`+eve+`"`))
		refused(planted, with("api_keys", `"hash":"none:`, `"hash":"a`))
		refused(`there is no member "colour"`, with("sites", `{"address"`, `{"colour":"red","address"`))
		refused(`member "note" is missing`, with("sites", `"note":"",`, ``))
		refused("rows of postings aren't ones that it can have", with("postings", `"movement_id":"01970000`, `"movement_id":"01960000`))
		refused("the club's own row isn't one that it can have", with("clubs", `"currency":"EUR"`, `"currency":"euro"`))
		parts := partsOf(t, file)
		refused("part clubs is missing", sealed(t, h, parts[1:]))
		refused("part "+parts[len(parts)-1].name+" is missing", sealed(t, h, parts[:len(parts)-1]))
		refused(`there is no part "secrets"`, sealed(t, h, append(parts, part{"secrets", []string{`{"name":"cursors","value":""}`}})))
		newer := h
		newer.Schema++
		refused("use a newer program", sealed(t, newer, parts))
		other := h
		other.Club = eve
		refused("", sealed(t, other, parts))
		cut := filepath.Join(t.TempDir(), "cut.lba")
		must(t, os.WriteFile(cut, file[:len(file)/2], 0o600))
		refused("the file breaks off", cut)
		if after := backedUp(t, to); !bytes.Equal(before, after) {
			t.Error("a refused archive changed something")
		}
		whole := filepath.Join(t.TempDir(), "whole.lba")
		must(t, os.WriteFile(whole, file, 0o600))
		done(t, "archive", "read", whole, "-db", to)
		refused("-taken", whole) // id or handle, whichever the database looks at first
	})
}

func TestBooksThatBreakARuleAreRefused(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	_, file := archived(t, s.url, "harbour")
	parts := partsOf(t, file)
	for i := range parts {
		if parts[i].name == "postings" {
			parts[i].rows[0] = strings.Replace(parts[i].rows[0], `"amount_mg":`, `"amount_mg":1`, 1)
			parts[i].rows[0] = strings.Replace(parts[i].rows[0], `"amount_mg":1-`, `"amount_mg":-1`, 1)
		}
	}
	said, err := do(t, "archive", "check", sealed(t, headerOf(t, file), parts))
	if err == nil || !strings.Contains(err.Error(), "its books break") && !strings.Contains(err.Error(), "doesn't hold together") {
		t.Errorf("%v; said %s", err, said)
	}
}

func TestAHandleThatAnotherClubHasIsTold(t *testing.T) {
	t.Parallel()
	s := newStory(t, repotest.SQLiteURL(t))
	file, _ := archived(t, s.url, "harbour")
	to := repotest.SQLiteURL(t)
	p := apitest.On(t, open(t, to))
	for range 1000 {
		p.Server.NewID()
	}
	p.SignUp("eve").Found("harbour")
	if _, err := do(t, "archive", "read", file, "-db", to); !errors.Is(err, service.ErrHandleTaken) {
		t.Error(err)
	}
}

func TestAClubMovesFromOneDatabaseToAnotherAndStays(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, from, to string) {
		newStory(t, from)
		before := backedUp(t, from)
		said := done(t, "move", "-club", "harbour", "-from", from, "-to", to)
		if strings.Contains(said, "meanwhile") || !strings.Contains(said, "its books are right") {
			t.Error(said)
		}
		if !bytes.Equal(before, backedUp(t, from)) {
			t.Error("the source has changed")
		}
		_, one := archived(t, from, "harbour")
		if _, other := archived(t, to, "harbour"); !bytes.Equal(one, other) {
			t.Error("the club is another")
		}
		if _, err := do(t, "move", "-club", "harbour", "-from", from, "-to", to); !errors.Is(err, service.ErrIDTaken) && !errors.Is(err, service.ErrHandleTaken) {
			t.Errorf("moved twice: %v", err)
		}
		if _, err := do(t, "move", "-club", "dale", "-from", from, "-to", to); !errors.Is(err, service.ErrClubNotFound) {
			t.Errorf("nobody's club moved: %v", err)
		}
	})
}

func TestAnErasedMemberStaysSoInAnOlderArchive(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, from, to string) {
		s := newStory(t, from)
		file, _ := archived(t, from, "harbour")
		s.erase()
		list := filepath.Join(t.TempDir(), "erasures")
		done(t, "erasures", "-o", list, "-db", from)
		if said := done(t, "archive", "read", file, "-db", to, "-erasures", list); !strings.Contains(said, "Erased again: 1") {
			t.Error(said)
		}
		_, data := archived(t, to, "harbour")
		for _, p := range partsOf(t, data) {
			if p.name == "members" && strings.Contains(strings.Join(p.rows, "\n"), "beatrix") {
				t.Error("the name is back")
			}
		}
	})
}

func TestACommandThatIsCalledWronglyIsToldHow(t *testing.T) {
	t.Parallel()
	for want, command := range map[string]string{
		"-o is missing":                 "archive write -club harbour",
		"FILE is missing":               "archive read",
		`"more" is too much`:            "archive check one more",
		"-to is missing":                "move -club harbour -from a.db",
		"-db is missing":                "restore file",
		"archive check FILE":            "archive",
		"lumbricary archive write":      "archive burn",
		"flag provided but not defined": "backup -x",
	} {
		if said, err := do(t, strings.Fields(command)...); err == nil || !strings.Contains(said, want) {
			t.Errorf("%s: %v, %s", command, err, said)
		}
	}
	there := filepath.Join(t.TempDir(), "there")
	must(t, os.WriteFile(there, nil, 0o600))
	if _, err := do(t, "backup", "-o", there, "-db", repotest.SQLiteURL(t)); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Error(err)
	}
}
