package keep_test

import (
	"bufio"
	"cmp"
	"compress/gzip"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/reference"
	"lumbricary.example/testdata/demo"
)

// times is how many times over the demo's harbour has its 2,620 records.
const times = 39

// atMost is how many times as long an archive may take out and back as the same
// rows do in one stream that nobody proves: see plain.
const atMost = 12

// BenchmarkAHundredThousandRecordsOutAndBack writes a club of 100,000 records into
// its archive and reads that into another database, and beside it does the least
// that could be done with the same rows.
func BenchmarkAHundredThousandRecordsOutAndBack(b *testing.B) {
	file, parts := large(b)
	for name, fresh := range map[string]func(testing.TB) string{"sqlite": repotest.SQLiteURL, "postgres": repotest.PostgresURL} {
		b.Run(name, func(b *testing.B) {
			from := fresh(b)
			done(b, "archive", "read", file, "-db", from)
			for b.Loop() {
				start := time.Now()
				out := filepath.Join(b.TempDir(), "out.lba")
				done(b, "archive", "write", "-club", "harbour", "-o", out, "-db", from)
				written := time.Since(start)
				done(b, "archive", "read", out, "-db", fresh(b))
				whole := time.Since(start)
				start = time.Now()
				plain(b, parts)
				least := time.Since(start)
				ratio := whole.Seconds() / least.Seconds()
				b.ReportMetric(written.Seconds(), "s/out")
				b.ReportMetric(whole.Seconds()-written.Seconds(), "s/back")
				b.ReportMetric(least.Seconds(), "s/plain")
				b.ReportMetric(ratio, "ratio")
				if ratio > atMost {
					b.Errorf("%.1f times as long as the rows alone; the limit is %d", ratio, atMost)
				}
			}
		})
	}
}

// large is the archive of a club with the records of the demo's harbour so many
// times over.
func large(b *testing.B) (string, []part) {
	b.Helper()
	url := repotest.SQLiteURL(b)
	store, err := repo.Open(b.Context(), url, repo.Options{})
	must(b, err)
	tables, err := reference.Load()
	must(b, err)
	clubs, err := demo.Clubs()
	must(b, err)
	s := service.New(&service.Desk{Store: store, Now: demo.Day, Reference: tables, NewID: func() string {
		return fmt.Sprintf("01980000-0000-7000-8000-%012x", made.Add(1<<12))
	}}, nil)
	a := service.Account{ID: "01970000-0000-7000-8000-000000000000", Email: "ines@harbour.example", Name: clubs[0].Steward, CreatedAt: demo.Day()}
	must(b, store.UpdateShared(b.Context(), func(sh service.Shared) error { return sh.Accounts.Insert(a) }))
	_, _, err = s.Clubs.Found(b.Context(), a, clubs[0].Club)
	must(b, err)
	_, err = s.Records.Import(b.Context(), service.Actor{Account: a.ID, Club: "harbour"}, clubs[0].Book, false)
	must(b, err)
	_, data := archived(b, url, "harbour")
	must(b, store.Close())
	parts := partsOf(b, data)
	for i := range parts {
		if parts[i].name != "clubs" {
			parts[i].rows = over(b, parts[i])
		}
	}
	return sealed(b, headerOf(b, data), parts), parts
}

var (
	anID  = regexp.MustCompile(`([0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{9})([0-9a-f]{3})`)
	aSeq  = regexp.MustCompile(`"seq":(\d+)`)
	aName = regexp.MustCompile(`"(name|lot_number)":"([^"]*)"`)
	aLot  = regexp.MustCompile(`"id":"([^"]*)"`)
)

// over repeats rows with other ids, numbers and names, in the order of an archive.
func over(b *testing.B, p part) []string {
	b.Helper()
	var all []string
	for k := range times {
		for _, row := range p.rows {
			row = anID.ReplaceAllStringFunc(row, func(id string) string {
				n, err := strconv.ParseUint(id[len(id)-3:], 16, 64)
				must(b, err)
				return fmt.Sprintf("%s%03x", id[:len(id)-3], (int(n)+37*k)%4096)
			})
			row = aSeq.ReplaceAllStringFunc(row, func(seq string) string {
				n, err := strconv.Atoi(seq[len(`"seq":`):])
				must(b, err)
				return fmt.Sprintf(`"seq":%d`, n+100_000*k)
			})
			row = aName.ReplaceAllString(row, fmt.Sprintf(`"$1":"$2 %d"`, k))
			if p.name == "lot_numbers" {
				row = aLot.ReplaceAllString(row, fmt.Sprintf(`"id":"$1 %d"`, k))
			}
			all = append(all, row)
		}
	}
	keys := map[string]string{}
	for _, row := range all {
		var v map[string]any
		must(b, json.Unmarshal([]byte(row), &v))
		if seq, ok := v["seq"].(float64); ok && (p.name == "movements" || p.name == "transfers") {
			keys[row] = fmt.Sprintf("%012.0f", seq)
			continue
		}
		for _, name := range []string{"id", "movement_id", "feeding_id", "rework_id", "transfer_id"} {
			if id, ok := v[name].(string); ok {
				line, _ := v["line"].(float64)
				keys[row] = fmt.Sprintf("%s %06.0f", id, line)
				break
			}
		}
	}
	slices.SortFunc(all, func(a, b string) int { return cmp.Compare(keys[a], keys[b]) })
	return all
}

// plain writes rows into a packed file, reads them from it and inserts them into a
// SQLite file, one after the other in one transaction. It checks nothing.
func plain(b *testing.B, parts []part) {
	b.Helper()
	path := filepath.Join(b.TempDir(), "plain.gz")
	f, err := os.Create(path)
	must(b, err)
	z := gzip.NewWriter(f)
	for _, p := range parts {
		for _, row := range p.rows {
			_, err := z.Write([]byte(p.name + " " + row + "\n"))
			must(b, err)
		}
	}
	must(b, errors.Join(z.Close(), f.Sync(), f.Close()))
	f, err = os.Open(path)
	must(b, err)
	back, err := gzip.NewReader(f)
	must(b, err)
	db, err := sql.Open("sqlite", repotest.SQLiteURL(b))
	must(b, err)
	db.SetMaxOpenConns(1)
	tx, err := db.BeginTx(b.Context(), nil)
	must(b, err)
	inserts := map[string]*sql.Stmt{}
	for lines := bufio.NewScanner(bufio.NewReaderSize(back, 1<<20)); lines.Scan(); {
		name, row, _ := strings.Cut(lines.Text(), " ")
		var v map[string]any
		must(b, json.Unmarshal([]byte(row), &v))
		columns := slices.Sorted(maps.Keys(v))
		if inserts[name] == nil {
			query := `INSERT INTO "` + name + `" ("` + strings.Join(columns, `", "`) + `"`
			marks := strings.Repeat("?, ", len(columns)-1) + "?"
			if name != "clubs" {
				query, marks = query+", club_id", marks+", 'c'"
			}
			inserts[name], err = tx.PrepareContext(b.Context(), query+") VALUES ("+marks+")")
			must(b, err)
		}
		values := make([]any, len(columns))
		for i, c := range columns {
			values[i] = v[c]
		}
		_, err := inserts[name].ExecContext(b.Context(), values...)
		must(b, err)
	}
	must(b, errors.Join(tx.Commit(), db.Close(), f.Close()))
}
