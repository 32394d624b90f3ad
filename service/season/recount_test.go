package season_test

import (
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// Random facts around autumn 2026, few enough names that rows have several
// records, and times on whole days so that many coincide.

func anyTime(t *rapid.T) time.Time {
	return period("2026-autumn").From.AddDate(0, 0, rapid.IntRange(-60, 150).Draw(t, "day"))
}

func anyMass(t *rapid.T) unit.Mass { return unit.Mass(rapid.Int64Range(0, 20_000_000).Draw(t, "mg")) }

func anyMoisture(t *rapid.T) yields.Moisture {
	if rapid.IntRange(0, 9).Draw(t, "dry") == 0 {
		return yields.Moisture{}
	}
	m := moist(unit.Percent(rapid.IntRange(0, 100).Draw(t, "moisture")))
	m.Basis = rapid.SampledFrom([]string{yields.Measured, yields.Material, yields.Default}).Draw(t, "basis")
	return m
}

func name(t *rapid.T, names ...string) string { return rapid.SampledFrom(names).Draw(t, "name") }

func anyFeed(t *rapid.T) season.Feed {
	return season.Feed{
		Feed: rates.Feed{
			ID: name(t, "f1", "f2", "f3", "f4"), At: anyTime(t), Bedding: rapid.Bool().Draw(t, "bedding"),
			Wet: anyMass(t), Moisture: anyMoisture(t),
		},
		Material: name(t, "scraps", "cardboard", "grounds"), Weighed: rapid.Bool().Draw(t, "weighed"),
	}
}

func anyHarvest(t *rapid.T) season.Harvest {
	return season.Harvest{
		Harvest: yields.Harvest{
			ID: name(t, "h1", "h2", "h3", "h4"), At: anyTime(t), Full: rapid.Bool().Draw(t, "full"),
			Wet: anyMass(t), Moisture: anyMoisture(t), PutBack: anyMass(t) / 4,
		},
		Batch: name(t, "", "lot-1", "lot-2"),
	}
}

func anyLeftover(t *rapid.T) rates.Leftover {
	share := unit.Percent(rapid.IntRange(0, 100).Draw(t, "left"))
	return rates.Leftover{Check: "k", At: anyTime(t), All: &share}
}

func anyBin(t *rapid.T) season.BinFacts {
	b := season.BinFacts{
		Member: name(t, "ann", "bob"), Site: name(t, "cellar", "shed", "school"), Started: anyTime(t),
		Feeds:     rapid.SliceOfN(rapid.Custom(anyFeed), 0, 6).Draw(t, "feeds"),
		Harvests:  rapid.SliceOfN(rapid.Custom(anyHarvest), 0, 4).Draw(t, "harvests"),
		Leftovers: rapid.SliceOfN(rapid.Custom(anyLeftover), 0, 3).Draw(t, "leftovers"),
		Anchors:   []rates.Anchor{{ID: "a", At: anyTime(t), Mass: anyMass(t), CV: 0.2, Kind: rates.Stocking}},
	}
	if rapid.Bool().Draw(t, "retired") {
		b.Retired = b.Started.AddDate(0, 0, rapid.IntRange(1, 90).Draw(t, "kept"))
	}
	for _, s := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"fetida", "andrei", "hortensis"}), 0, 2, rapid.ID).Draw(t, "species") {
		b.Stock = append(b.Stock, season.SpeciesStock{Species: s, Start: anyMass(t), End: anyMass(t)})
	}
	return b
}

func anyMovement(t *rapid.T) season.Movement {
	m := season.Movement{
		ID: name(t, "m1", "m2", "m3"), At: anyTime(t), Kind: name(t, "hand-over", "loss"), Species: name(t, "", "fetida", "andrei"),
		Mass: anyMass(t), From: name(t, "", "ann", "bob"), To: name(t, "", "ann", "bob"),
		Terms: name(t, "", "sale", "swap", "gift"), Price: rapid.Int64Range(0, 9999).Draw(t, "price"), Currency: name(t, "", "EUR", "GBP"),
	}
	m.Outside = m.From == "" || m.To == ""
	m.SeenDead = m.Mass / unit.Mass(rapid.IntRange(2, 9).Draw(t, "dead"))
	m.Lost = m.Mass / 10
	return m
}

func anyReceipt(t *rapid.T) season.Receipt {
	return season.Receipt{
		ID: "r", At: anyTime(t), Material: name(t, "scraps", "cardboard"), Member: name(t, "ann", "bob"), Bedding: rapid.Bool().Draw(t, "bedding"),
		Net: anyMass(t), Rejected: anyMass(t) / 9, Residue: anyMass(t) / 9, Weighed: rapid.Bool().Draw(t, "weighed"),
	}
}

func anyFacts(t *rapid.T) season.Facts {
	f := season.Facts{
		Period:    period("2026-autumn"),
		Bins:      rapid.SliceOfN(rapid.Custom(anyBin), 0, 6).Draw(t, "bins"),
		Movements: rapid.SliceOfN(rapid.Custom(anyMovement), 0, 9).Draw(t, "movements"),
		Receipts:  rapid.SliceOfN(rapid.Custom(anyReceipt), 0, 6).Draw(t, "receipts"),
	}
	for i := range f.Bins {
		f.Bins[i].ID = string(rune('a' + i))
	}
	return f
}

// naive is a recount of one line that goes through the records one by one.
type naive struct {
	bins, windows                    int
	feed, bedding, castings, weighed unit.Mass
	feedDry, castingsDry             unit.Mass
	closedFeed, closedCastings       unit.Mass
	start, end                       unit.Mass
	dryUnknown                       bool
}

// dryNaive rounds half up in whole numbers.
func dryNaive(wet unit.Mass, m yields.Moisture) unit.Mass {
	if !m.Known {
		return 0
	}
	return (wet*unit.Mass(100-m.Percent) + 50) / 100
}

// closing returns the first full harvest of b that a record is followed by.
func closing(b season.BinFacts, followed func(time.Time) bool) time.Time {
	var first time.Time
	for _, h := range b.Harvests {
		if h.Full && h.At.After(b.Started) && followed(h.At) && (first.IsZero() || h.At.Before(first)) {
			first = h.At
		}
	}
	return first
}

func (n *naive) count(b season.BinFacts, p season.Period) {
	if b.Started.Before(p.To) && (b.Retired.IsZero() || b.Retired.After(p.From)) {
		n.bins++
	}
	for _, x := range b.Feeds {
		inside := !x.At.Before(p.From) && x.At.Before(p.To)
		switch {
		case inside && x.Bedding:
			n.bedding += x.Wet
		case inside:
			n.feed += x.Wet
			n.feedDry += dryNaive(x.Wet, x.Moisture)
			n.dryUnknown = n.dryUnknown || x.Wet > 0 && !x.Moisture.Known
			if x.Weighed {
				n.weighed += x.Wet
			}
		}
		at := closing(b, x.At.Before)
		if !x.Bedding && !x.At.Before(b.Started) && !at.Before(p.From) && at.Before(p.To) {
			n.closedFeed += x.Wet
		}
	}
	ends := map[time.Time]bool{}
	for _, h := range b.Harvests {
		castings := max(0, h.Wet-h.PutBack)
		inside := !h.At.Before(p.From) && h.At.Before(p.To)
		if inside {
			n.castings += castings
			n.castingsDry += dryNaive(castings, h.Moisture)
		}
		if inside && h.Full && h.At.After(b.Started) {
			ends[h.At] = true
		}
		at := closing(b, func(full time.Time) bool { return !full.Before(h.At) })
		if h.At.After(b.Started) && !at.Before(p.From) && at.Before(p.To) {
			n.closedCastings += castings
		}
	}
	n.windows += len(ends)
	for _, s := range b.Stock {
		n.start += s.Start
		n.end += s.End
	}
}

func naiveOf(l season.Line) naive {
	return naive{
		bins: l.Bins, windows: l.Windows,
		feed: l.Fed.FeedWet, bedding: l.Fed.BeddingWet, castings: l.Fed.CastingsWet, weighed: l.Weighed,
		feedDry: l.Fed.FeedDry.Mass, castingsDry: l.Fed.CastingsDry.Mass,
		closedFeed: l.Closed.FeedWet, closedCastings: l.Closed.CastingsWet,
		start: l.Stock.Start, end: l.Stock.End, dryUnknown: l.Fed.FeedDry.Unknown,
	}
}

func speciesOf(b season.BinFacts) string {
	switch len(b.Stock) {
	case 0:
		return season.NoSpecies
	case 1:
		return b.Stock[0].Species
	}
	return season.SeveralSpecies
}

func TestEveryRowIsWhatANaiveRecountGives(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		r := season.Recount(f)
		for _, by := range []struct {
			what  string
			lines []season.Line
			key   func(season.BinFacts) string
		}{
			{"total", []season.Line{r.Total}, func(season.BinFacts) string { return "" }},
			{"member", r.ByMember, func(b season.BinFacts) string { return b.Member }},
			{"site", r.BySite, func(b season.BinFacts) string { return b.Site }},
			{"bin", r.ByBin, func(b season.BinFacts) string { return b.ID }},
			{"species", r.BySpecies, speciesOf},
		} {
			want := map[string]naive{}
			for _, b := range f.Bins {
				n := want[by.key(b)]
				n.count(b, f.Period)
				want[by.key(b)] = n
			}
			for _, l := range by.lines {
				if got := naiveOf(l); got != want[l.Key] {
					t.Fatalf("%s %q:\n got %+v\nwant %+v", by.what, l.Key, got, want[l.Key])
				}
				delete(want, l.Key)
			}
			for key, n := range want {
				if n != (naive{}) {
					t.Fatalf("%s %q is left out: %+v", by.what, key, n)
				}
			}
		}
	})
}

func TestEveryTotalIsTheSumOfItsRows(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := season.Recount(anyFacts(t))
		for what, lines := range map[string][]season.Line{"member": r.ByMember, "site": r.BySite, "bin": r.ByBin, "species": r.BySpecies} {
			var sum season.Line
			for _, l := range lines {
				sum.Bins += l.Bins
				sum.Fed = sum.Fed.Plus(l.Fed)
				sum.Weighed += l.Weighed
				sum.Windows += l.Windows
				sum.Closed = sum.Closed.Plus(l.Closed)
				sum.Stock.Start += l.Stock.Start
				sum.Stock.End += l.Stock.End
				sum.Rate.Processed += l.Rate.Processed
				sum.Rate.WormDays += l.Rate.WormDays
				sum.Rate.Bins += l.Rate.Bins
				sum.Batches = append(sum.Batches, l.Batches...)
			}
			slices.Sort(sum.Batches)
			sum.Batches = slices.Compact(sum.Batches)
			got := r.Total
			if !slices.Equal(got.Batches, sum.Batches) {
				t.Fatalf("%s: batches %v, want %v", what, got.Batches, sum.Batches)
			}
			got.Yields, got.Rate.Figure, got.Batches, sum.Batches = sum.Yields, sum.Rate.Figure, nil, nil
			if !same(got, sum) {
				t.Fatalf("%s:\n got %+v\nwant %+v", what, got, sum)
			}
		}
		var fed yields.Sums
		var weighed unit.Mass
		for _, m := range r.ByMaterial {
			fed = fed.Plus(m.Fed)
			weighed += m.Weighed
		}
		all := r.Total.Fed
		all.CastingsWet, all.CastingsDry = 0, yields.Dry{}
		if fed != all || weighed != r.Total.Weighed {
			t.Fatalf("materials %+v, want %+v", fed, all)
		}
		var stock season.Stock
		for _, s := range r.Stock {
			stock.Start += s.Start
			stock.End += s.End
		}
		if stock != r.Total.Stock {
			t.Fatalf("stock %+v, want %+v", stock, r.Total.Stock)
		}
	})
}

// same compares what remains of two lines once their figures are set aside.
func same(a, b season.Line) bool {
	return a.Bins == b.Bins && a.Fed == b.Fed && a.Weighed == b.Weighed && a.Windows == b.Windows && a.Closed == b.Closed &&
		a.Stock == b.Stock && a.Rate.Processed == b.Rate.Processed && a.Rate.WormDays == b.Rate.WormDays && a.Rate.Bins == b.Rate.Bins
}

func TestTheFiguresOfALineAreThoseOfItsSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := season.Recount(anyFacts(t))
		for _, l := range slices.Concat(r.ByMember, r.BySite, r.ByBin, r.BySpecies, []season.Line{r.Total}) {
			y := l.Yields.Wet
			if y.Known != (l.Windows > 0 && l.Closed.FeedWet > 0) || y.Known && y.Value != l.Closed.CastingsWet.Kilograms()/l.Closed.FeedWet.Kilograms() {
				t.Fatalf("yield of %+v", l)
			}
			f := l.Rate.Figure
			if f.Known != (l.Rate.Bins > 0) || !f.Known && f.Reason == "" {
				t.Fatalf("rate of %+v", l)
			}
			ratio := l.Rate.Processed.Kilograms() / l.Rate.WormDays.KilogramDays()
			switch {
			case !f.Known:
			case math.IsNaN(f.Low+f.Value+f.High) || f.Low > f.Value || f.Value > f.High:
				t.Fatalf("interval of %+v", f)
			case l.Rate.Bins > 1 && f.Value != ratio, l.Rate.WormDays > 1e6 && math.Abs(f.Value-ratio) > 1e-5*(1+ratio):
				t.Fatalf("rate %v, want %v", f.Value, ratio)
			}
		}
	})
}

func TestTheOrderOfTheFactsDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		want := season.Recount(f)
		f.Bins = rapid.Permutation(f.Bins).Draw(t, "bins again")
		f.Movements = rapid.Permutation(f.Movements).Draw(t, "movements again")
		f.Receipts = rapid.Permutation(f.Receipts).Draw(t, "receipts again")
		if got := season.Recount(f); !reflect.DeepEqual(got, want) {
			t.Fatalf("\n got %+v\nwant %+v", got, want)
		}
	})
}

func TestWhatMovedIsCountedOnceInEveryTable(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		var moved, handed, dead, lost unit.Mass
		prices := map[string]int64{}
		for _, m := range f.Movements {
			if m.At.Before(f.Period.From) || !m.At.Before(f.Period.To) {
				continue
			}
			moved += m.Mass
			dead += m.SeenDead
			lost += m.Lost
			if m.Terms == "" {
				continue
			}
			handed += m.Mass
			if m.Currency != "" {
				prices[m.Currency] += m.Price
			}
		}
		r := season.Recount(f)
		for _, x := range r.Moved {
			moved -= x.Mass
		}
		for _, l := range r.Losses {
			dead, lost = dead-l.SeenDead, lost-l.Lost
		}
		gave, got, earned, paid := handed, handed, money(prices), money(prices)
		agreed := money(prices)
		for _, x := range r.Transfers {
			handed -= x.Mass
			agreed.take(x.Money)
		}
		for _, x := range r.Exchanges {
			gave, got = gave-x.Gave, got-x.Got
			earned.take(x.Earned)
			paid.take(x.Paid)
		}
		if moved != 0 || handed != 0 || dead != 0 || lost != 0 || gave != 0 || got != 0 {
			t.Fatalf("left over: %v %v %v %v %v %v", moved, handed, dead, lost, gave, got)
		}
		for _, left := range []purse{agreed, earned, paid} {
			for currency, minor := range left {
				if minor != 0 {
					t.Fatalf("%d %s left over", minor, currency)
				}
			}
		}
	})
}

// purse is minor units by currency.
type purse map[string]int64

func money(prices map[string]int64) purse {
	p := purse{}
	for currency, minor := range prices {
		p[currency] = minor
	}
	return p
}

func (p purse) take(sums []season.Money) {
	for _, m := range sums {
		p[m.Currency] -= m.Minor
	}
}

func TestWhatCameInIsCountedOnceByMaterialAndByMember(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := season.Recount(anyFacts(t)).Received
		for _, rows := range [][]season.Intake{r.ByMaterial, r.ByMember} {
			var sum season.Intake
			for _, i := range rows {
				sum.Net += i.Net
				sum.Rejected += i.Rejected
				sum.Residue += i.Residue
				sum.Weighed += i.Weighed
				sum.Sure += i.Sure
				sum.Bedding += i.Bedding
			}
			if sum != r.Total {
				t.Fatalf("%+v, want %+v", sum, r.Total)
			}
		}
	})
}
