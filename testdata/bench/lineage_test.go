//go:build bench

// Package bench_test measures the lineage of large clubs; see make bench-lineage.
package bench_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/reference"
	"lumbricary.example/service/unit"
)

func TestMain(m *testing.M) {
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}

// scene is a filled club on one database.
type scene struct {
	*testing.T
	book
	svc    *service.Service
	actor  service.Actor
	now    time.Time
	db     *sql.DB // the same database, for plain SQL
	random *rand.Rand
	lotIDs []service.LotID // in the order in which they opened
}

func TestLineageOfLargeClubs(t *testing.T) {
	for _, r := range recipes() {
		t.Run(r.name, func(t *testing.T) {
			b := r.worked(t)
			var n int
			for _, l := range b.lots {
				n += len(l.Shares)
			}
			t.Logf("%d lots, %.1f shares a lot", len(b.lots), float64(n)/float64(len(b.lots)))
			for _, kind := range []string{"sqlite", "postgres"} {
				t.Run(kind, func(t *testing.T) { newScene(t, b, kind).measure() })
			}
		})
	}
}

func newScene(t *testing.T, b book, kind string) *scene {
	t.Helper()
	began := time.Now()
	url, driver := repotest.SQLiteURL(t), "sqlite"
	if kind == "postgres" {
		url, driver = repotest.PostgresURL(t), "pgx"
	}
	store := must(repo.Open(t.Context(), url, repo.Options{}))
	t.Cleanup(func() { _ = store.Close() })
	db := must(sql.Open(driver, url))
	t.Cleanup(func() { _ = db.Close() })
	s := &scene{T: t, book: b, db: db, random: rand.New(rand.NewPCG(seed, 2)), now: b.end}
	s.svc = service.New(&service.Desk{Store: store, Reference: must(reference.Load()), Now: s.clock, NewID: s.newID}, nil)
	a := service.Account{ID: "ana", Email: "ana@example.org", Name: "Ana", PassphraseHash: "-", CreatedAt: b.end}
	check(store.UpdateShared(t.Context(), func(sh service.Shared) error { return sh.Accounts.Insert(a) }))
	club, member, err := s.svc.Clubs.Found(t.Context(), a, service.Club{Handle: "harbour", Name: "Harbour", TimeZone: "UTC", Currency: "EUR"})
	check(err)
	s.actor = service.Actor{Account: a.ID, Club: string(club.ID)}
	check(store.Update(t.Context(), club.ID, func(tx service.Tx) error { return b.furnish(tx, member.ID) }))
	check(fill(t.Context(), db, kind == "postgres", b.tables(club.ID, member.ID), len(b.entries)+1))
	for _, l := range b.lots {
		s.lotIDs = append(s.lotIDs, service.LotID(l.ID))
	}
	runtime.GC()
	t.Logf("filled in %v", time.Since(began).Round(time.Second))
	return s
}

func (s *scene) clock() time.Time { s.now = s.now.Add(time.Second); return s.now }

func (s *scene) newID() string { return number(9, int(s.random.Int64N(1e12))) }

func check(err error) {
	if err == nil {
		return
	}
	if e, ok := errors.AsType[*service.Error](err); ok {
		panic(fmt.Sprintf("%v %+v", err, e.Fields))
	}
	panic(err)
}

func must[T any](v T, err error) T { check(err); return v }

// cpuTime is the time that this program has computed: with SQLite all of it, with
// PostgreSQL without the server's.
func cpuTime() time.Duration {
	var u syscall.Rusage
	check(syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// time runs what is measured n times and prints what it took.
func (s *scene) time(what string, n int, run func()) {
	took := make([]time.Duration, n)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	cpu := cpuTime()
	for i := range took {
		began := time.Now()
		run()
		took[i] = time.Since(began)
	}
	cpu = cpuTime() - cpu
	runtime.ReadMemStats(&after)
	sorted := sortedCopy(took)
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	fmt.Printf("| %-46s | %5d | %9.2f | %9.2f | %9.2f | %9.2f | %8.2f |\n", what, n,
		ms(percentile(sorted, 0.5)), ms(percentile(sorted, 0.99)), ms(sorted[n-1]), ms(cpu)/float64(n), float64(after.TotalAlloc-before.TotalAlloc)/float64(n)/1e6)
}

func (s *scene) anyLot() service.LotID { return s.lotIDs[s.random.IntN(len(s.lotIDs))] }

// at returns the moment before which a share of the journal lies.
func (s *scene) at(share float64) time.Time {
	return s.entries[min(len(s.entries)-1, int(share*float64(len(s.entries))))].Effective.Add(spacing / 2)
}

func (s *scene) measure() {
	fmt.Printf("\n%s\n| %-46s | %5s | %9s | %9s | %9s | %9s | %8s |\n|%s---|\n",
		s.Name(), "", "runs", "p50 ms", "p99 ms", "max ms", "CPU ms", "MB", strings.Repeat("---|", 6))
	ctx := s.Context()
	first := service.Query{Limit: 51}
	s.time("shares of a lot", 500, func() { must(s.svc.Lots.Get(ctx, s.actor, s.anyLot())) })
	s.time("lineage of a lot, 200 steps", 50, func() { must(s.svc.Reports.Lineage(ctx, s.actor, s.anyLot())) })
	s.time("upstream, first page", 300, func() { must(s.svc.Reports.Upstream(ctx, s.actor, s.anyLot(), first)) })
	s.time("downstream, first page", 300, func() { must(s.svc.Reports.Downstream(ctx, s.actor, s.anyLot(), first)) })
	s.time("arrival", 300, func() { s.passOn() })
	s.plainSQL()
	for _, c := range []struct {
		share float64
		runs  int
	}{{0.999, 20}, {0.99, 10}, {0.9, 5}, {0.5, 2}, {0, 1}} {
		s.corrections(c.share, c.runs)
	}
}

// passOn splits some stock off into another bin, now.
func (s *scene) passOn() {
	from := s.random.IntN(s.bins)
	to := (from + 1) % s.bins
	must(s.svc.Movements.Add(s.Context(), s.actor, service.Movement{
		Kind: journal.Split, At: service.Moment{Text: s.now.Format(time.RFC3339)}, ToBin: service.BinID(binID(to)),
		Lines: []service.Line{{FromBin: service.BinID(binID(from)), Typed: unit.Measure{Value: 10, Unit: "%"}}},
	}))
}

// corrections stocks a bin late, after a share of the journal, and takes that
// back.
func (s *scene) corrections(share float64, n int) {
	var late []service.MovementID
	s.time(fmt.Sprintf("late entry after %.1f %% of the journal", share*100), n, func() {
		m := must(s.svc.Movements.Add(s.Context(), s.actor, service.Movement{
			Kind: journal.Stocking, At: service.Moment{Text: s.at(share).Format(time.RFC3339)}, ToBin: service.BinID(binID(s.random.IntN(s.bins))),
			Lines: []service.Line{{Origin: service.OriginID(originID(0)), Species: species, Typed: unit.Measure{Value: 100, Unit: "g"}}},
		}))
		late = append(late, m.ID)
	})
	s.time("… its reversal", n, func() {
		must(s.svc.Reverse(s.Context(), s.actor, late[0], service.Movement{Reason: "mistyped"}))
		late = late[1:]
	})
}

const (
	upSQL = `WITH RECURSIVE up(id) AS (SELECT parent_id FROM lot_parents WHERE lot_id = $1 AND club_id = $2 AND origin_id = ''
		UNION SELECT p.parent_id FROM up CROSS JOIN lot_parents p WHERE p.lot_id = up.id AND p.club_id = $2 AND p.origin_id = '')
		SELECT count(*) FROM (SELECT l.id FROM up CROSS JOIN lots l WHERE l.id = up.id AND l.club_id = $2 ORDER BY l.opened_at DESC LIMIT 51) AS page`
	downSQL = `WITH RECURSIVE down(id) AS (SELECT lot_id FROM lot_parents WHERE parent_id = $1 AND club_id = $2
		UNION SELECT p.lot_id FROM down CROSS JOIN lot_parents p WHERE p.parent_id = down.id AND p.club_id = $2)
		SELECT count(*) FROM (SELECT l.id FROM down CROSS JOIN lots l WHERE l.id = down.id AND l.club_id = $2 ORDER BY l.opened_at LIMIT 51) AS page`
	sharesSQL = `WITH RECURSIVE part(lot, origin, share) AS (SELECT CAST($1 AS text), CAST('' AS text), CAST(1 AS double precision)
		UNION ALL SELECT p.parent_id, p.origin_id, part.share * p.mass_mg / l.mass_mg FROM part CROSS JOIN lot_parents p CROSS JOIN lots l
		WHERE p.lot_id = part.lot AND p.club_id = $2 AND l.id = part.lot AND l.club_id = $2)
		SELECT count(*) FROM (SELECT origin, sum(share) FROM part WHERE origin <> '' GROUP BY origin) AS shares`
	patience = 3 * time.Second
)

// plainSQL asks the same by recursion in SQL; what takes longer than patience is
// broken off and counts as that.
func (s *scene) plainSQL() {
	for _, q := range []struct{ what, text string }{{"recursive SQL: shares", sharesSQL}, {"recursive SQL: upstream", upSQL}, {"recursive SQL: downstream", downSQL}} {
		s.time(q.what, 3, func() {
			ctx, cancel := context.WithTimeout(s.Context(), patience)
			defer cancel()
			var n int
			_ = s.db.QueryRowContext(ctx, q.text, string(s.anyLot()), s.clubID()).Scan(&n)
		})
	}
}

func (s *scene) clubID() string { return s.actor.Club }
