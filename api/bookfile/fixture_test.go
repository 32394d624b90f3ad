package bookfile_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/reference"
)

func TestMain(m *testing.M) {
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}

// club is a club on a database of its own, with Ana as its founder.
type club struct {
	*testing.T
	*service.Service
	ctx context.Context
	ana service.Actor
}

// newClub founds a club in the store.
func newClub(t *testing.T, store *repo.Store, handle string) club {
	t.Helper()
	tables, err := reference.Load()
	if err != nil {
		t.Fatal(err)
	}
	var ids atomic.Int64
	desk := &service.Desk{
		Store: store, Reference: tables,
		Now:   func() time.Time { return time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC) },
		NewID: func() string { return fmt.Sprintf("01970000-0000-7000-8000-%012d", ids.Add(1)) },
	}
	return newClubOf(t, store, service.New(desk, nil), handle)
}

// newClubOf founds a further club of a service.
func newClubOf(t *testing.T, store *repo.Store, s *service.Service, handle string) club {
	t.Helper()
	ana := service.Account{ID: service.AccountID(s.NewID()), Email: handle + "@example.org", Name: "Ana"}
	err := store.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Accounts.Insert(ana) })
	if err != nil {
		t.Fatal(err)
	}
	_, _, err = s.Clubs.Found(t.Context(), ana, service.Club{
		ID: service.ClubID(s.NewID()), Handle: handle, Name: handle, TimeZone: "Europe/Lisbon", Currency: "EUR",
	})
	if err != nil {
		t.Fatal(err)
	}
	return club{t, s, t.Context(), service.Actor{Account: ana.ID, Club: handle}}
}

// bring imports a book.
func (c club) bring(b service.Book) service.ImportReport {
	c.Helper()
	report, err := c.Records.Import(c.ctx, c.ana, b, false)
	if err != nil {
		c.Fatal(explained(err))
	}
	return report
}

// explained shows the first faults of an import.
func explained(err error) string {
	e, ok := errors.AsType[*service.Error](err)
	if !ok {
		return err.Error()
	}
	out := e.Error()
	for _, f := range e.Fields[:min(len(e.Fields), 12)] {
		out += fmt.Sprintf("\n%s %s: %s", f.Pointer, f.Code, f.Detail)
	}
	return out
}

// tables exports the club's book as CSV files.
func (c club) tables() map[string]string {
	c.Helper()
	b, err := c.Records.Export(c.ctx, c.ana)
	if err != nil {
		c.Fatal(err)
	}
	out := map[string]string{}
	for _, noun := range bookfile.Nouns() {
		data, ok := bookfile.WriteCSV(b, noun)
		if !ok {
			c.Fatalf("no table %s", noun)
		}
		out[noun+".csv"] = string(data)
	}
	return out
}

// read reads CSV files.
func read(t *testing.T, files map[string]string) service.Book {
	t.Helper()
	b, err := bookfile.ReadCSV(filesOf(files))
	if err != nil {
		t.Fatal(explained(err))
	}
	return b
}

func filesOf(files map[string]string) (out []bookfile.File) {
	for _, noun := range bookfile.Nouns() {
		if data, ok := files[noun+".csv"]; ok {
			out = append(out, bookfile.File{Name: noun + ".csv", Data: []byte(data)})
		}
	}
	return out
}

// demo reads the CSV files of a demo club.
func demo(t *testing.T, name string) map[string]string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join("..", "..", "testdata", "demo", name, "*.csv"))
	if err != nil || len(paths) == 0 {
		t.Fatal("no demo club ", name, err)
	}
	out := map[string]string{}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(p)] = string(data)
	}
	return out
}
