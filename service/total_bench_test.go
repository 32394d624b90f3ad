package service_test

import (
	"fmt"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/reference"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// seasons is a club with a long book: benchBins bins, fed every week for three
// years, looked at every other week, counted and emptied twice a year.
type seasons struct {
	*service.Service
	b    *testing.B
	ana  service.Actor
	food service.MaterialID
	bins []service.BinID
	ids  int
}

const benchBins = 40

// got returns a value, and ends the benchmark where there is an error.
func got[T any](v T, err error) func(*testing.B) T {
	return func(b *testing.B) T {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
		return v
	}
}

func newSeasons(b *testing.B, store *repo.Store) *seasons {
	b.Helper()
	l := &seasons{b: b}
	l.Service = service.New(&service.Desk{
		Store: store, Reference: got(reference.Load())(b), NewID: l.id,
		Now: func() time.Time { return time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC) },
	}, nil)
	a := service.Account{ID: service.AccountID(l.id()), Email: "ana@harbour.example", Name: "Ana", PassphraseHash: "-", CreatedAt: l.Now()}
	if err := store.UpdateShared(b.Context(), func(s service.Shared) error { return s.Accounts.Insert(a) }); err != nil {
		b.Fatal(err)
	}
	c, ana, err := l.Clubs.Found(b.Context(), a, service.Club{Handle: "harbour", Name: "harbour", TimeZone: "Europe/Lisbon", Currency: "EUR"})
	l.ana = service.Actor{Account: a.ID, Club: string(c.ID)}
	site := got(l.Sites.Add(b.Context(), l.ana, service.Site{Name: "cellar", Owner: got(ana, err)(b).ID}))(b)
	damp := unit.Percent(85)
	l.food = got(l.Materials.Add(b.Context(), l.ana, service.Material{Name: "peels", Kind: service.FeedMaterial, Moisture: &damp}))(b).ID
	batch := got(l.Batches.Add(b.Context(), l.ana, service.Batch{LotNumber: "1", Product: service.CastingsOnly}))(b).ID
	origin := got(l.Origins.Add(b.Context(), l.ana, service.Origin{Name: "farm", Kind: service.SupplierOrigin, Species: fetida}))(b).ID
	var all service.Bulk
	for i := range benchBins {
		bin := got(l.Bins.Add(b.Context(), l.ana, service.Bin{
			Name: fmt.Sprint("bin ", i), Kind: service.Tote, Site: site.ID, Keeper: ana.ID, Surface: 0.5, Started: service.Moment{Text: "2023-04-01"},
		}))(b).ID
		l.bins = append(l.bins, bin)
		l.keep(&all, bin, origin, batch)
	}
	l.record(all)
	return l
}

func (l *seasons) id() string {
	l.ids++
	return fmt.Sprintf("00000000-0000-7000-8000-%012d", l.ids)
}

func (l *seasons) feeding(bin service.BinID, at string) service.Feeding {
	return service.Feeding{Bin: bin, At: service.Moment{Text: at}, Items: []service.FeedingItem{{Material: l.food, Typed: unit.Measure{Value: 700, Unit: "g"}}}}
}

// keep adds the three years of a bin.
func (l *seasons) keep(all *service.Bulk, bin service.BinID, origin service.OriginID, batch service.BatchID) {
	kg := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "kg"} }
	day := time.Date(2023, 5, 1, 9, 0, 0, 0, time.UTC)
	all.Movements = append(all.Movements, service.Movement{
		Kind: journal.Stocking, At: service.Moment{Text: day.Format(time.RFC3339)}, ToBin: bin, Lines: []service.Line{{Origin: origin, Typed: kg(1)}},
	})
	for week := range 154 {
		day = day.AddDate(0, 0, 7)
		at := service.Moment{Text: day.Format(time.RFC3339)}
		all.Feedings = append(all.Feedings, l.feeding(bin, at.Text))
		if week%2 == 0 {
			left := unit.Percent(week % 3 * 20)
			all.Checks = append(all.Checks, service.Check{Bin: bin, At: at, LeftoverAll: &left})
		}
		if week%26 == 25 {
			all.Censuses = append(all.Censuses, service.Census{
				Bin: bin, Species: fetida, At: at, Apply: true, Typed: service.CensusText{Estimate: kg(1.2), Low: kg(1), High: kg(1.4)},
			})
			all.Harvests = append(all.Harvests, service.Harvest{Bin: bin, At: at, Full: true, Typed: kg(4), Batch: batch})
		}
	}
}

// record makes the records, so many at once as a call takes.
func (l *seasons) record(all service.Bulk) {
	l.b.Helper()
	got(l.Records.RecordAll(l.b.Context(), l.ana, service.Bulk{Movements: all.Movements, Censuses: all.Censuses, Harvests: all.Harvests}))(l.b)
	for len(all.Feedings) > 0 {
		n := min(service.MaxBulk, len(all.Feedings))
		got(l.Records.RecordAll(l.b.Context(), l.ana, service.Bulk{Feedings: all.Feedings[:n]}))(l.b)
		all.Feedings = all.Feedings[n:]
	}
	for len(all.Checks) > 0 {
		n := min(service.MaxBulk, len(all.Checks))
		got(l.Records.RecordAll(l.b.Context(), l.ana, service.Bulk{Checks: all.Checks[:n]}))(l.b)
		all.Checks = all.Checks[n:]
	}
}

// each runs fn on a long book on both databases.
func eachLedger(b *testing.B, fn func(*testing.B, *seasons)) {
	b.Helper()
	b.Run("sqlite", func(b *testing.B) { fn(b, newSeasons(b, repotest.SQLite(b))) })
	b.Run("postgres", func(b *testing.B) { fn(b, newSeasons(b, repotest.Postgres(b))) })
}

// BenchmarkReport makes reports from totals and from records alone; x-faster is
// how many times faster the former is in this run.
func BenchmarkReport(b *testing.B) {
	eachLedger(b, func(b *testing.B, l *seasons) {
		b.Helper()
		for _, code := range []string{"2026-04", "2026-Q1", "2025"} {
			b.Run(code, func(b *testing.B) {
				from := func(report func() (season.Report, error)) time.Duration {
					start := time.Now()
					got(report())(b)
					return time.Since(start)
				}
				var totals, records time.Duration
				for b.Loop() {
					totals += from(func() (season.Report, error) { return l.Reports.Reported(b.Context(), l.ana, code) })
					records += from(func() (season.Report, error) { return l.Reports.Recounted(b.Context(), l.ana, code) })
				}
				b.ReportMetric(float64(totals.Microseconds())/float64(b.N), "totals-µs/op")
				b.ReportMetric(float64(records.Microseconds())/float64(b.N), "records-µs/op")
				b.ReportMetric(float64(records)/float64(totals), "x-faster")
			})
		}
	})
}

// BenchmarkFeeding records feedings with and without the totals; x-slower is
// what the totals cost in this run.
func BenchmarkFeeding(b *testing.B) {
	eachLedger(b, func(b *testing.B, l *seasons) {
		b.Helper()
		var kept, bare time.Duration
		for n := 0; b.Loop(); n++ {
			f := l.feeding(l.bins[n%benchBins], "2026-04-20")
			start := time.Now()
			got(l.Feedings.Add(b.Context(), l.ana, f))(b)
			between := time.Now()
			got(0, l.AddUncounted(b.Context(), l.ana, f))(b)
			bare += time.Since(between)
			kept += between.Sub(start)
		}
		b.ReportMetric(float64(kept.Microseconds())/float64(b.N), "kept-µs/op")
		b.ReportMetric(float64(bare.Microseconds())/float64(b.N), "bare-µs/op")
		b.ReportMetric(float64(kept)/float64(bare), "x-slower")
	})
}
