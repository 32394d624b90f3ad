package balance

import (
	"math/rand/v2"
	"testing"
	"time"

	"lumbricary.example/service/unit"
)

var (
	spring = time.Date(2026, time.March, 1, 0, 0, 0, 0, time.UTC)
	summer = spring.AddDate(0, 3, 0)
	season = Period{spring, summer}
)

func day(n int) time.Time { return spring.AddDate(0, 0, n) }

func TestAPileIsWhatCameInLessWhatWasRejectedThrownOutAndFed(t *testing.T) {
	t.Parallel()
	got := Piles([]Receipt{
		{Material: "scraps", At: day(-10), Net: 100, Rejected: 10},
		{Material: "scraps", At: day(5), Net: 50, Residue: 5},
		{Material: "leaves", At: day(95), Net: 7},
	}, []Feed{
		{Material: "scraps", At: day(-20), Wet: 900}, // before the pile began
		{Material: "scraps", At: day(-5), Wet: 30},
		{Material: "scraps", At: day(5), Wet: 60}, // at the same moment: came in first
		{Material: "scraps", At: day(95), Wet: 1000},
		{Material: "leaves", At: day(2), Wet: 3},
		{Material: "grit", At: day(3), Wet: 4},
	}, season)
	want := []Pile{
		{Material: "grit", Apart: 4},
		{Material: "leaves", Apart: 3},
		{Material: "scraps", Start: 60, Received: 50, Residue: 5, Fed: 60, End: 45, Begun: true},
	}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%+v, not %+v", got[i], want[i])
		}
	}
	if sum := TotalOf(got); sum != (Pile{Start: 60, Received: 50, Residue: 5, Fed: 60, End: 45, Apart: 7, Begun: true}) {
		t.Errorf("total %+v", sum)
	}
}

func TestAPileBelowNothingSaysSinceWhenAndHowFar(t *testing.T) {
	t.Parallel()
	in := []Receipt{{ID: "r", Material: "scraps", At: day(1), Net: 10}, {Material: "scraps", At: day(4), Net: 40}}
	for name, c := range map[string]struct {
		fed  []Feed
		want Pile
	}{
		"in the period":       {[]Feed{{At: day(2), Wet: 15}, {At: day(3), Wet: 2}}, Pile{Received: 50, Fed: 17, End: 33, Short: 7, ShortAt: day(2)}},
		"before the period":   {[]Feed{{At: day(-2), Receipt: "r", Wet: 15}}, Pile{Start: -15, Received: 50, End: 35, Short: 15, ShortAt: spring}},
		"before the receipt":  {[]Feed{{At: day(0), Receipt: "r", Wet: 5}}, Pile{Received: 50, Fed: 5, End: 45, Short: 5, ShortAt: day(0)}},
		"never":               {[]Feed{{At: day(2), Wet: 10}}, Pile{Received: 50, Fed: 10, End: 40}},
		"after the period":    {[]Feed{{At: summer, Wet: 99}}, Pile{Received: 50, End: 50}},
		"fed before it began": {[]Feed{{At: day(0), Wet: 5}}, Pile{Received: 50, End: 50, Apart: 5}},
	} {
		for i := range c.fed {
			c.fed[i].Material = "scraps"
		}
		c.want.Material, c.want.Begun = "scraps", true
		if got := Piles(in, c.fed, season); len(got) != 1 || got[0] != c.want {
			t.Errorf("%s: %+v, not %+v", name, got, c.want)
		}
	}
	if sum := TotalOf([]Pile{{Short: 1, ShortAt: day(5)}, {Short: 2, ShortAt: day(3)}, {}}); sum.Short != 3 || !sum.ShortAt.Equal(day(3)) {
		t.Errorf("total %+v", sum)
	}
}

func percent(p float64) *unit.Percent { m := unit.Percent(p); return &m }

func TestWetMassFollowsTheLatestMoisture(t *testing.T) {
	t.Parallel()
	entries := []Entry{
		{Batch: "b", At: day(3), Flow: Sold, Dry: -400, Moisture: percent(50)},
		{Batch: "b", At: day(0), Flow: Harvested, Dry: 1000, Wet: 4000},
		{Batch: "b", At: day(1), Flow: Harvested, Dry: 1000, Wet: 2000, Assumed: true},
		{Batch: "b", At: day(2), Flow: Dried, Moisture: percent(20)},
		{Batch: "b", At: day(4), Flow: Dried, Wet: 1700},
		{Batch: "b", At: day(4), Seq: 1, Flow: Dried, Wet: 3}, // less than its dry matter: nonsense
		{Batch: "b", At: day(5), Flow: Used, Dry: -1600},
		{Batch: "b", At: day(6), Flow: Dried, Moisture: percent(10)}, // of nothing
	}
	for n, want := range map[int]Contents{
		-1: {}, 0: {Amount{4000, 1000}, false}, 1: {Amount{6000, 2000}, true}, 2: {Amount{2500, 2000}, false},
		3: {Amount{3200, 1600}, false}, 4: {Amount{1700, 1600}, false}, 5: {}, 6: {},
	} {
		if got := At(entries, day(n)); got != want {
			t.Errorf("day %d: %+v, not %+v", n, got, want)
		}
	}
	if m, ok := At(entries, day(2)).Moisture(); m != 20 || !ok {
		t.Errorf("moisture %v %v", m, ok)
	}
	if _, ok := (Contents{}).Moisture(); ok {
		t.Error("an empty batch has a moisture")
	}
	got := Stores(entries, Period{day(1), day(4)})[0]
	if got.Start != (Amount{4000, 1000}) || got.Flows[Sold] != (Amount{800, 400}) || got.Water != -3500+1500 || got.End != (Amount{3200, 1600}) || !got.Assumed {
		t.Errorf("%+v", got)
	}
	if all := Stores(entries, Period{day(6), day(9)}); len(all) != 0 {
		t.Errorf("an empty batch is listed: %+v", all)
	}
}

// books makes a random history of batches, with a naive book beside it.
func books(seed uint64) (entries []Entry, mixings []Mixing, book map[string]unit.Mass) {
	r := rand.New(rand.NewPCG(seed, 1))
	book = map[string]unit.Mass{}
	names := []string{"a", "b", "c", "d"}
	note := func(n int, batch string, flow Flow, dry unit.Mass, m Mixing) Mixing {
		e := Entry{Batch: batch, At: day(n / 3), Seq: int64(n), Flow: flow, Dry: dry, Wet: dry + unit.Mass(r.IntN(3000)), Assumed: r.IntN(4) == 0}
		if dry < 0 && r.IntN(3) == 0 {
			e.Moisture = percent(float64(r.IntN(90)))
		}
		entries, book[batch] = append(entries, e), book[batch]+dry
		if dry > 0 {
			m.Put = append(m.Put, Batched{batch, dry})
		} else {
			m.Out = append(m.Out, Batched{batch, -dry})
		}
		return m
	}
	for n := range 200 {
		from, to := names[r.IntN(4)], names[r.IntN(4)]
		m := Mixing{ID: string(rune('A' + n%26)), At: day(n / 3), Seq: int64(n)}
		some := unit.Mass(0)
		if book[from] > 0 {
			some = 1 + unit.Mass(r.Int64N(int64(book[from])))
		}
		switch k := r.IntN(10); {
		case k < 4:
			m = note(n, to, Harvested, 1+unit.Mass(r.IntN(5000)), m)
		case some == 0:
		case k < 6:
			m = note(n, from, Out()[1+r.IntN(7)], -some, m)
		case k < 8 && from != to && some > 1:
			m = note(n, from, ReworkedOut, -some, m)
			m = note(n, to, ReworkedIn, some-some/9, m)
		case k == 8:
			entries = append(entries, Entry{Batch: from, At: day(n / 3), Seq: int64(n), Flow: Dried, Moisture: percent(float64(r.IntN(95)))})
		}
		if len(m.Out)+len(m.Put) > 0 {
			mixings = append(mixings, m)
		}
	}
	r.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
	return entries, mixings, book
}

func TestEveryStoreClosesWetAndDryAndTheTotalIsTheSumOfItsRows(t *testing.T) {
	t.Parallel()
	for seed := range uint64(200) {
		entries, _, _ := books(seed)
		p := Period{day(int(seed % 40)), day(int(seed%40) + 20)}
		rows := Stores(entries, p)
		for _, s := range append(rows, SumOf(rows)) {
			end := s.Start
			for _, f := range In() {
				end = end.plus(s.Flows[f])
			}
			for _, f := range Out() {
				end = end.minus(s.Flows[f])
			}
			if end.Wet += s.Water; end != s.End || s.End.Wet < s.End.Dry || s.Start.Dry < 0 {
				t.Fatalf("seed %d: %+v doesn't close: %+v", seed, s, end)
			}
			dry := unit.Mass(0) // recounted from the entries
			for _, e := range entries {
				if e.At.Before(p.To) && (s.Batch == "" || e.Batch == s.Batch) {
					dry += e.Dry
				}
			}
			if dry != s.End.Dry {
				t.Fatalf("seed %d: %s holds %d, recounted %d", seed, s.Batch, s.End.Dry, dry)
			}
		}
		if sum := SumOf(rows); sum.Lost() != sum.Flows[ReworkedOut].Dry-sum.Flows[ReworkedIn].Dry {
			t.Errorf("lost %d", sum.Lost())
		}
	}
}

func TestEveryPileClosesAndTheTotalIsTheSumOfItsRows(t *testing.T) {
	t.Parallel()
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 2))
		var in []Receipt
		var out []Feed
		for range 40 {
			material, at := []string{"a", "b", "c"}[r.IntN(3)], day(r.IntN(60))
			if r.IntN(2) == 0 {
				net := unit.Mass(1 + r.IntN(1000))
				in = append(in, Receipt{ID: "r", Material: material, At: at, Net: net, Rejected: net / 7, Residue: net / 11})
			} else {
				out = append(out, Feed{Material: material, At: at, Wet: unit.Mass(1 + r.IntN(800)), Receipt: []string{"", "r"}[r.IntN(2)]})
			}
		}
		p := Period{day(10), day(40)}
		rows := Piles(in, out, p)
		fed := unit.Mass(0)
		for _, f := range out {
			if !f.At.Before(p.From) && f.At.Before(p.To) {
				fed += f.Wet
			}
		}
		total := TotalOf(rows)
		if total.Fed+total.Apart != fed {
			t.Fatalf("seed %d: %d and %d were fed, not %d", seed, total.Fed, total.Apart, fed)
		}
		for _, x := range append(rows, total) {
			if x.Start+x.Received-x.Rejected-x.Residue-x.Fed != x.End || x.Material != "" && (x.Short < -x.End || x.Short < -x.Start) {
				t.Fatalf("seed %d: %+v", seed, x)
			}
		}
		later := Piles(in, out, Period{p.To, day(60)})
		for _, x := range rows {
			for _, y := range later {
				if x.Material == y.Material && x.End != y.Start {
					t.Fatalf("seed %d: ends with %d, goes on with %d", seed, x.End, y.Start)
				}
			}
		}
	}
}

func TestTheSourcesOfABatchAddUpToItsBook(t *testing.T) {
	t.Parallel()
	for seed := range uint64(200) {
		_, mixings, book := books(seed)
		for batch, want := range book {
			c := Compose(batch, mixings, day(1000))
			if got := sum(c.Sources); c.Gone != (want == 0) || want > 0 && got != want {
				t.Fatalf("seed %d: %s is made of %d, the book has %d", seed, batch, got, want)
			}
			for _, s := range c.Sources {
				if s.Dry <= 0 || s.Batch == batch || s.Harvest == "" {
					t.Fatalf("seed %d: %+v", seed, s)
				}
			}
		}
	}
}

func TestABlendIsMadeOfItsPartsAndAnOutflowTakesOfAll(t *testing.T) {
	t.Parallel()
	moves := []Mixing{
		{ID: "h1", At: day(0), Put: []Batched{{"a", 300}}},
		{ID: "h2", At: day(1), Put: []Batched{{"a", 100}}},
		{ID: "sold", At: day(2), Out: []Batched{{"a", 200}}},
		{ID: "h3", At: day(3), Put: []Batched{{"b", 50}}},
		{ID: "blend", At: day(4), Out: []Batched{{"a", 200}, {"b", 50}}, Put: []Batched{{"c", 250}}},
		{ID: "more", At: day(5), Out: []Batched{{"c", 1}}, Put: []Batched{{"d", 3}}}, // two more than went in
	}
	check := func(batch string, at int, gone bool, want ...Source) {
		t.Helper()
		got := Compose(batch, moves, day(at))
		if got.Gone != gone || len(got.Sources) != len(want) {
			t.Fatalf("%s: %+v", batch, got)
		}
		for i, s := range want {
			if got.Sources[i] != s {
				t.Errorf("%s: %+v, not %+v", batch, got.Sources[i], s)
			}
		}
	}
	check("a", 1, false, Source{"h1", "", 300}, Source{"h2", "", 100})
	check("a", 2, false, Source{"h1", "", 150}, Source{"h2", "", 50})
	check("a", 4, true, Source{"h1", "", 150}, Source{"h2", "", 50})
	check("c", 4, false, Source{"h1", "a", 150}, Source{"h2", "a", 50}, Source{"h3", "b", 50})
	check("d", 5, false, Source{"h1", "c", 1}, Source{"more", "", 2})
	check("e", 5, false)
}

func TestLargeMassesAreDividedWithoutOverflow(t *testing.T) {
	t.Parallel()
	all := []Mixing{
		{ID: "h1", At: day(0), Put: []Batched{{"a", unit.MaxMass}}},
		{ID: "h2", At: day(0), Seq: 1, Put: []Batched{{"a", unit.MaxMass}}},
		{ID: "sold", At: day(1), Out: []Batched{{"a", unit.MaxMass - 1}}},
	}
	if got := Compose("a", all, day(1)); sum(got.Sources) != unit.MaxMass+1 || len(got.Sources) != 2 {
		t.Errorf("%+v", got)
	}
	c := At([]Entry{{Dry: unit.MaxMass, Wet: 2 * unit.MaxMass}, {Seq: 1, Dry: -unit.MaxMass / 4}}, time.Time{})
	if c.Wet != unit.MaxMass*3/2 {
		t.Errorf("%+v", c)
	}
}
