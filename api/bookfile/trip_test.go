package bookfile_test

import (
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// document exports the club's book as a JSON document.
func (c club) document() string {
	c.Helper()
	b, err := c.Records.Export(c.ctx, c.ana)
	if err != nil {
		c.Fatal(err)
	}
	data, err := bookfile.WriteJSON(b)
	if err != nil {
		c.Fatal(err)
	}
	return string(data)
}

// archive exports the club's book as an archive.
func (c club) archive() []byte {
	c.Helper()
	b, err := c.Records.Export(c.ctx, c.ana)
	if err != nil {
		c.Fatal(err)
	}
	data, err := bookfile.WriteZip(b)
	if err != nil {
		c.Fatal(err)
	}
	return data
}

// stock is the club's whole stock, by the name of the bin and species.
func (c club) stock() map[string]unit.Mass {
	c.Helper()
	out := map[string]unit.Mass{}
	club, err := c.Clubs.Get(c.ctx, c.ana)
	if err != nil {
		c.Fatal(err)
	}
	err = c.Store.View(c.ctx, club.ID, func(tx service.Tx) error {
		bins, err := tx.Bins.List(service.Query{})
		if err != nil {
			return err
		}
		for _, b := range bins {
			stock, err := tx.Movements.Stock(b.ID)
			if err != nil {
				return err
			}
			for species, m := range stock {
				out[b.Name+" "+string(species)] = m
			}
		}
		return nil
	})
	if err != nil {
		c.Fatal(err)
	}
	return out
}

// lots are the club's lots, which an import derives at its end.
func (c club) lots() []service.Lot {
	c.Helper()
	all, err := c.Lots.List(c.ctx, c.ana, service.Query{})
	if err != nil {
		c.Fatal(err)
	}
	for i := range all { // what is the database's, and moments moved by microseconds
		all[i].Member, all[i].OpenedSeq, all[i].OpenedAt, all[i].EndedAt = "", 0, time.Time{}, time.Time{}
	}
	slices.SortFunc(all, func(a, b service.Lot) int { return strings.Compare(a.ID, b.ID) })
	return all
}

// same fails unless two exports are the same, and shows where they part.
func same(t *testing.T, what string, got, want string) {
	t.Helper()
	if got == want {
		return
	}
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range w {
		if i >= len(g) || g[i] != w[i] {
			t.Fatalf("%s, line %d:\n got %q\nwant %q", what, i+1, slices.Concat(g, []string{"nothing"})[min(i, len(g))], w[i])
		}
	}
	t.Fatalf("%s: %d lines more than wanted", what, len(g)-len(w))
}

// sameBook fails unless two clubs have the same book.
func sameBook(t *testing.T, got, want club) {
	t.Helper()
	tables := got.tables()
	for name, data := range want.tables() {
		same(t, name, tables[name], data)
	}
	same(t, "JSON", got.document(), want.document())
	same(t, "archive", string(got.archive()), string(want.archive()))
	if g, w := got.stock(), want.stock(); !maps.Equal(g, w) {
		t.Errorf("the stock is %v, not %v", g, w)
	}
}

func TestABookIsTheSameAfterItsWayThroughBothDatabasesAsCSVAndAsJSON(t *testing.T) {
	t.Parallel()
	first := newClub(t, repotest.SQLite(t), "first")
	first.bring(read(t, demo(t, "harbour")))
	second := newClub(t, repotest.Postgres(t), "second")
	second.bring(read(t, first.tables()))
	sameBook(t, second, first)
	third := newClub(t, repotest.SQLite(t), "third")
	b, err := bookfile.ReadJSON([]byte(second.document()))
	if err != nil {
		t.Fatal(err)
	}
	third.bring(b)
	sameBook(t, third, first)
}

func TestABookIsTheSameInAnotherClubOfTheSameDatabase(t *testing.T) {
	t.Parallel()
	store := repotest.SQLite(t)
	first := newClub(t, store, "first")
	first.bring(read(t, demo(t, "lagoon")))
	second := newClubOf(t, store, first.Service, "second")
	files, err := bookfile.ReadZip(first.archive())
	if err != nil {
		t.Fatal(err)
	}
	b, err := bookfile.ReadCSV(files)
	if err != nil {
		t.Fatal(explained(err))
	}
	second.bring(b)
	sameBook(t, second, first)
}

// recorded by hand in an order that the tables don't have: a census of a day
// before the stocking and the split of the same day, a reversal at the end.
func TestWhatWasRecordedOnOneDayInAnotherOrderGivesTheSameBook(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.oneDay()
	d := newClub(t, repotest.SQLite(t), "second")
	d.bring(read(t, c.tables()))
	sameBook(t, d, c)
}

// oneDay records a day in a bin, in its own order.
func (c club) oneDay() {
	c.Helper()
	day := service.Moment{Text: "2026-05-01"}
	site := must(c.Sites.Add(c.ctx, c.ana, service.Site{Name: "=Cellar", Address: "-1 Quay; left", Note: "'@home\r\n\"dry\", cool "}))
	bin := func(name string) service.BinID {
		return must(c.Bins.Add(c.ctx, c.ana, service.Bin{Name: name, Kind: service.Tote, Site: site.ID, Started: day, Surface: 0.5, DepthCM: 30})).ID
	}
	one, two := bin("One"), bin("Two")
	batch := must(c.Batches.Add(c.ctx, c.ana, service.Batch{LotNumber: "+1", Product: service.Screened, MeshMM: 4.5})).ID
	kg := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "kg"} }
	red := service.SpeciesID("eisenia-fetida")
	must(c.Censuses.Add(c.ctx, c.ana, service.Census{Bin: one, Species: red, At: day, Typed: service.CensusText{
		Estimate: kg(1), Low: unit.Measure{Value: 2, Unit: "[lb_av]"}, High: kg(1.2),
	}}))
	must(c.Harvests.Add(c.ctx, c.ana, service.Harvest{
		Bin: one, At: day, Typed: kg(3), Batch: batch, PutBack: 1500, WormsTo: two,
		Worms: []service.Line{
			{Species: red, Typed: unit.Measure{Value: 2, Unit: "L"}, Density: 60},
			{Species: red, Typed: unit.Measure{Value: 5, Unit: "%"}},
		},
	}))
	wrong := must(c.Movements.Add(c.ctx, c.ana, service.Movement{
		Kind: journal.Stocking, At: day, ToBin: one,
		Lines: []service.Line{{Species: red, Typed: unit.Measure{Value: 321, Unit: "{worms}"}, SizeClass: quantity.BedRun}},
	}))
	must(c.Movements.Add(c.ctx, c.ana, service.Movement{
		Kind: journal.Split, At: day, ToBin: two, MaterialMass: 250,
		Lines: []service.Line{{FromBin: one, Typed: unit.Measure{Value: 33.3, Unit: "%"}}},
	}))
	material := must(c.Materials.Add(c.ctx, c.ana, service.Material{Feedstock: "coffee-grounds", Name: "Coffee"})).ID
	bucket := must(c.Measures.Add(c.ctx, c.ana, service.Measure{
		Name: "-Bucket", Volume: unit.Measure{Value: 2.5, Unit: "[gal_us]"}, Tare: unit.Measure{Value: 0.9, Unit: "[lb_av]"}, Note: "cracked",
	})).ID
	must(c.Measures.Add(c.ctx, c.ana, service.Measure{Name: "Scale pan", Tare: unit.Measure{Value: 0, Unit: "g"}}))
	half := 0.5
	feeding := must(c.Feedings.Add(c.ctx, c.ana, service.Feeding{Bin: two, At: day, Items: []service.FeedingItem{
		{Material: material, Typed: kg(0.1)},
		{Material: material, Typed: kg(0.25)},
		{Material: material, Measure: bucket, Count: &half},
		{Material: material, Measure: bucket, Typed: kg(3)},
	}})).ID
	hot := unit.Celsius(21.666666666666668)
	must(c.Checks.Add(c.ctx, c.ana, service.Check{
		Bin: two, At: day, Temperature: &hot, Pests: []string{"mites; red", `back\slash`, "=1"},
		Leftovers: []service.Leftover{{Feeding: feeding, Percent: 12.5}},
	}))
	must(c.Clearings.Add(c.ctx, c.ana, service.Clearing{Batch: batch, At: day, How: "=heated; twice"}))
	must(c.Contacts.Add(c.ctx, c.ana, service.BinContact{Bins: []service.BinID{two, one}, At: day, What: service.SharedTools, Note: "-fork\n"}))
	must(c.Reverse(c.ctx, c.ana, wrong.ID, service.Movement{Reason: "counted twice"}))
	must(c.Movements.Add(c.ctx, c.ana, service.Movement{
		Kind: journal.Loss, At: service.Moment{Text: "2026-05-02T18:30:00+02:00"}, Cause: service.Escaped,
		Lines: []service.Line{{FromBin: one, Typed: unit.Measure{Value: 100, Unit: "%"}}},
	}))
	c.isolated(one, two)
}

// isolated records quarantines, over movements that were before, and what the
// worms were found to be.
func (c club) isolated(one, two service.BinID) {
	c.Helper()
	ended := must(c.Quarantines.Add(c.ctx, c.ana, service.Quarantine{
		Bin: one, At: service.Moment{Text: "2026-05-01"}, Until: "2026-05-22", Reason: "=mites; perhaps", Note: "in the shed\n",
	}))
	must(c.Release(c.ctx, c.ana, ended.ID, service.Release{At: service.Moment{Text: "2026-05-20T10:00:00.000001Z"}, Outcome: service.Treated, Note: "+washed"}))
	must(c.Quarantines.Add(c.ctx, c.ana, service.Quarantine{Bin: two, At: service.Moment{Text: "2026-05-02"}}))
	lot := must(c.Lots.List(c.ctx, c.ana, service.Query{Bin: two}))[0].ID
	must(c.Identifications.Add(c.ctx, c.ana, service.Identification{
		Lot: service.LotID(lot), Species: "eisenia-andrei", At: service.Moment{Text: "2026-06-01"}, Method: service.ByDNA, Specimens: 12,
		IdentifiedBy: "-University", Note: "COI",
	}))
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(explained(err))
	}
	return v
}

func TestTheLotsDerivedAfterAnImportAreThoseOfRecordingOneByOne(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.oneDay()
	d := newClub(t, repotest.SQLite(t), "second")
	d.bring(read(t, c.tables()))
	got, want := d.lots(), c.lots()
	if len(want) < 3 || len(got) != len(want) {
		t.Fatalf("%d lots, not %d", len(got), len(want))
	}
	for i := range want {
		if !reflect.DeepEqual(got[i], want[i]) {
			t.Errorf("lot %+v, not %+v", got[i], want[i])
		}
	}
}

func TestWhatWasFedKeepsItsMassOnItsWayAlthoughTheMeasureChanged(t *testing.T) {
	t.Parallel()
	c := newClub(t, repotest.SQLite(t), "first")
	c.oneDay()
	all := must(c.Measures.List(c.ctx, c.ana, service.Query{}))
	bucket := all[slices.IndexFunc(all, func(m service.Measure) bool { return m.Name == "-Bucket" })]
	changed := bucket
	changed.Volume, changed.Tare = unit.Measure{Value: 9, Unit: "L"}, unit.Measure{Value: 1, Unit: "kg"}
	must(c.Measures.Change(c.ctx, c.ana, bucket.ID, bucket.Version, changed))
	d := newClub(t, repotest.SQLite(t), "second")
	d.bring(read(t, c.tables()))
	before, after := must(c.Feedings.List(c.ctx, c.ana, service.Query{})), must(d.Feedings.List(d.ctx, d.ana, service.Query{}))
	for i, it := range before[0].Items {
		if got := after[0].Items[i]; got.Wet != it.Wet || got.Weighed != it.Weighed || got.Measure != "" {
			t.Errorf("item %d comes back as %+v, not %+v", i, got, it)
		}
	}
}
