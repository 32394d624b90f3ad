package season_test

import (
	"math"
	"testing"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// fedFor returns a bin with so much feed, gone in the 60 days between two
// checks, and so many worms.
func fedFor(id string, feed, worms unit.Mass, gone unit.Percent) season.BinFacts {
	return season.BinFacts{
		ID: id, Member: "ann", Site: id, Started: on("2026-09-10"),
		Feeds:     []season.Feed{scraps("f"+id, "2026-09-10", feed)},
		Leftovers: []rates.Leftover{left("k"+id, "2026-09-10", 0), left("l"+id, "2026-11-09", 100-gone)},
		Anchors:   []rates.Anchor{stocked("2026-09-10", worms), counted("2026-11-20", worms)},
	}
}

func TestTheRateOfABinIsItsOwn(t *testing.T) {
	t.Parallel()
	b := cellar()
	f := autumn(b)
	r := season.Recount(f)
	feeds := make([]rates.Feed, len(b.Feeds))
	for i, x := range b.Feeds {
		feeds[i] = x.Feed
	}
	want := rates.Of(rates.Input{From: f.Period.From, To: f.Period.To.Add(-1), Feeds: feeds, Leftovers: b.Leftovers, Anchors: b.Anchors})
	equal(t, "bin", r.ByBin[0].Rate.Figure, want.Rate)
	equal(t, "total", r.Total.Rate, r.ByBin[0].Rate)
	// 25 kg left and 50 kg fed, all gone in 60 days with 2 kg of worms. Status: computed.
	near(t, "rate", want.Rate, 75.0/120, "kg/kg/d")
	if got := r.Total.Rate; got.Processed != 75*kg || got.WormDays.KilogramDays() != 120 || got.Bins != 1 {
		t.Errorf("%+v", got)
	}
}

func TestTheRateOfAGroupIsARatioOfSums(t *testing.T) {
	t.Parallel()
	small, large, unseen := fedFor("a", 60*kg, kg, 100), fedFor("b", 30*kg, 2*kg, 90), fedFor("c", 50*kg, kg, 100)
	unseen.Leftovers = nil
	r := season.Recount(autumn(small, large, unseen))
	got := r.Total.Rate
	a, b := line(t, r.ByBin, "a").Rate, line(t, r.ByBin, "b").Rate
	if got.Bins != 2 || got.Processed != a.Processed+b.Processed || got.WormDays != a.WormDays+b.WormDays {
		t.Errorf("%+v of %+v and %+v", got, a, b)
	}
	near(t, "group", got.Figure, (60+27)/180.0, "kg/kg/d")
	missing(t, "c", line(t, r.ByBin, "c").Rate.Figure, "no-leftover-record")
	equal(t, "member", line(t, r.ByMember, "ann").Rate, got)

	relative := func(r season.Rate) float64 { return math.Log(r.Figure.High / r.Figure.Value) }
	least, most := min(relative(a), relative(b)), max(relative(a), relative(b))
	if w := relative(got); got.Figure.Level != 0.95 || w <= 0 || w >= most {
		t.Errorf("half-width %v of bins with %v and %v", w, least, most)
	}
	if low := math.Log(got.Figure.Value / got.Figure.Low); math.Abs(low-relative(got)) > 1e-9 {
		t.Errorf("not even on the log scale: %+v", got.Figure)
	}
}

func TestLikeBinsTogetherAreSurerByTheSquareRootOfTheirNumber(t *testing.T) {
	t.Parallel()
	r := season.Recount(autumn(fedFor("a", 60*kg, kg, 80), fedFor("b", 60*kg, kg, 80), fedFor("c", 60*kg, kg, 80), fedFor("d", 60*kg, kg, 80)))
	one, all := r.ByBin[0].Rate.Figure, r.Total.Rate.Figure
	if math.Abs(one.Value-all.Value) > 1e-9 {
		t.Errorf("%v and %v", one, all)
	}
	wide := func(f unit.Figure) float64 { return math.Log(f.High / f.Value) }
	// σ/√n of independent errors, n = 4. The relative errors of what was processed and
	// of the worm-days each halve. Status: computed.
	if got := wide(one) / wide(all); math.Abs(got-2) > 1e-6 {
		t.Errorf("narrower by %v", got)
	}
}

func TestARateOfAGroupOutsideThePublishedOnesIsFlagged(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		feed unit.Mass
		want []string
	}{
		{200 * kg, []string{rates.FlagOutside, rates.FlagAbove}},
		{60 * kg, nil},
		{kg, []string{rates.FlagOutside, rates.FlagBelow}},
	} {
		got := season.Recount(autumn(fedFor("a", c.feed, kg, 100), fedFor("b", c.feed, kg, 100))).Total.Rate.Figure
		equal(t, "flags", got.Flags, c.want)
	}
}

func TestBinsInWhichNothingWentHaveTheRateZeroWithAnUpperLimit(t *testing.T) {
	t.Parallel()
	got := season.Recount(autumn(fedFor("a", 60*kg, kg, 0), fedFor("b", 60*kg, kg, 0))).Total.Rate
	if f := got.Figure; !f.Known || f.Value != 0 || f.Low != 0 || !(f.High > 0) || got.Processed != 0 || got.Bins != 2 {
		t.Errorf("%+v", got)
	}
}

func TestTheRateSaysWhyThereIsNone(t *testing.T) {
	t.Parallel()
	unseen, unstocked, grain := fedFor("a", 60*kg, kg, 80), fedFor("b", 60*kg, kg, 80), fedFor("c", 60*kg, 0, 80)
	unseen.Leftovers, unstocked.Anchors = nil, nil
	grain.Anchors = []rates.Anchor{{At: on("2026-09-10"), Mass: 0, Kind: rates.Stocking}}
	grain.Jumps = []rates.Jump{{ID: "j", At: on("2026-11-09").Add(-time.Hour), Mass: 1}}
	for _, c := range []struct {
		reason string
		bins   []season.BinFacts
	}{
		{"no-bin", nil},
		{"no-leftover-record", []season.BinFacts{unseen}},
		{"no-stock-estimate", []season.BinFacts{unstocked}},
		{"no-stock", []season.BinFacts{grain}},
		{"no-bin-with-a-rate", []season.BinFacts{unseen, unstocked}},
	} {
		got := season.Recount(autumn(c.bins...)).Total.Rate
		missing(t, c.reason, got.Figure, c.reason)
		if got.Bins != 0 || got.Processed != 0 || got.WormDays != 0 {
			t.Errorf("%s: %+v", c.reason, got)
		}
	}
}

func TestARateOnlyUsesWhatIsKnownInTheSeason(t *testing.T) {
	t.Parallel()
	f := autumn(fedFor("a", 60*kg, kg, 100))
	f.AsOf = on("2026-11-09")
	missing(t, "a check still to come", season.Recount(f).Total.Rate.Figure, "no-leftover-record")

	f.AsOf = f.AsOf.Add(time.Microsecond)
	near(t, "the check just seen", season.Recount(f).Total.Rate.Figure, 1, "kg/kg/d")

	f.AsOf, f.Bins[0].Leftovers[1].At = time.Time{}, f.Period.To
	missing(t, "a check of the next season", season.Recount(f).Total.Rate.Figure, "no-leftover-record")
}

func TestARateBeyondWhatAWormCanTakeIsFlagged(t *testing.T) {
	t.Parallel()
	b := fedFor("a", 60*kg, kg, 100)
	b.MeanWormMg = 2500
	equal(t, "flags", season.Recount(autumn(b)).Total.Rate.Figure.Flags, []string{rates.FlagPerWorm})
}

func TestTheIntervalOfAGroupEndsAtAThousandfold(t *testing.T) {
	t.Parallel()
	vague, small := fedFor("a", 1000*kg, 1000*kg, 50), fedFor("b", kg, kg, 50)
	vague.Anchors[0].CV, vague.Anchors[1].CV = 100, 100
	f := season.Recount(autumn(vague, small)).Total.Rate.Figure
	if got := f.High / f.Value; math.Abs(got-1000) > 1e-6 {
		t.Errorf("%v-fold: %+v", got, f)
	}
}
