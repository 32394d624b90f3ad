package rates_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
)

// drawBin returns a bin's month: checks on the 8th, 15th and 22nd of the share
// left of all, and a census or two.
func drawBin(t *rapid.T) rates.Input {
	mass := func(label string, least int64) unit.Mass {
		return unit.Mass(rapid.Int64Range(least, 1e7).Draw(t, label))
	}
	in := rates.Input{From: day(5), To: day(28), Surface: 0.5, MeanWormMg: 400}
	for i := range rapid.IntRange(1, 8).Draw(t, "feedings") {
		f := feed(fmt.Sprint("f", i), rapid.IntRange(1, 20).Draw(t, "day"), mass("wet", 1e5))
		f.Bedding = rapid.Float64Range(0, 1).Draw(t, "bedding") < 0.2
		in.Feeds = append(in.Feeds, f)
	}
	in.Feeds = append(in.Feeds, feed("first", 2, mass("first", 1e5)))
	for i, n := range []int{8, 15, 22} {
		share := unit.Percent(rapid.Float64Range(0, 100).Draw(t, "left"))
		in.Leftovers = append(in.Leftovers, all(fmt.Sprint("c", i), n, share))
	}
	in.Anchors = []rates.Anchor{stocking(1, mass("stocked", 1e5))}
	for _, n := range rapid.SliceOfNDistinct(rapid.IntRange(2, 28), 0, 3, rapid.ID).Draw(t, "censuses") {
		in.Anchors = append(in.Anchors, census(n, mass("census", 1e5)))
	}
	for range rapid.IntRange(0, 3).Draw(t, "jumps") {
		m := mass("jump", -1e5)
		in.Jumps = append(in.Jumps, jump(rapid.IntRange(1, 28).Draw(t, "jump day"), m))
	}
	return in
}

func figures(r rates.Result) []unit.Figure {
	return []unit.Figure{
		r.ProcessedWet, r.ProcessedDry, r.BeddingWet, r.BeddingDry, r.TogetherWet, r.TogetherDry,
		r.WormDays, r.Rate, r.RatePerArea,
	}
}

func TestTheIntervalHoldsTheValueAndIsFinite(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		for i, f := range figures(rates.Of(drawBin(t))) {
			if !f.Known && f.Reason != "no-feed" && f.Reason != "no-stock" {
				t.Fatalf("figure %d is none: %s", i, f.Reason)
			}
			if !(f.Value >= 0) || math.IsInf(f.Value, 0) {
				t.Fatalf("figure %d is %v", i, f.Value)
			}
			if f.Level > 0 && !(f.Low >= 0 && f.Low <= f.Value && f.Value <= f.High && !math.IsInf(f.High, 0)) {
				t.Fatalf("figure %d: %+v", i, f)
			}
		}
	})
}

func TestTwiceTheBinHasTheSameRate(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawBin(t)
		twice := in
		twice.Feeds, twice.Anchors, twice.Jumps = slices.Clone(in.Feeds), slices.Clone(in.Anchors), slices.Clone(in.Jumps)
		for i := range twice.Feeds {
			twice.Feeds[i].Wet *= 2
		}
		for i := range twice.Anchors {
			twice.Anchors[i].Mass *= 2
		}
		for i := range twice.Jumps {
			twice.Jumps[i].Mass *= 2
		}
		twice.Surface *= 2
		a, b := rates.Of(in), rates.Of(twice)
		for i, f := range []unit.Figure{a.Rate, a.RatePerArea} {
			g := []unit.Figure{b.Rate, b.RatePerArea}[i]
			if math.Abs(f.Value-g.Value) > 1e-9*f.Value || math.Abs(f.High-g.High) > 1e-9*f.High {
				t.Fatalf("%+v, and twice that %+v", f, g)
			}
		}
	})
}

func TestWithNothingLeftAllThatWasFedIsProcessed(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawBin(t)
		in.From = day(1)
		in.Leftovers = append(in.Leftovers, all("last", 25, 0))
		var fed, laid unit.Mass
		for _, f := range in.Feeds {
			if f.Bedding {
				laid += f.Wet
			} else {
				fed += f.Wet
			}
		}
		r := rates.Of(in)
		for _, c := range []struct {
			f    unit.Figure
			want unit.Mass
		}{{r.ProcessedWet, fed}, {r.BeddingWet, laid}, {r.TogetherWet, fed + laid}} {
			if math.Abs(c.f.Value-c.want.Kilograms()) > 1e-9 {
				t.Fatalf("processed %v of %v kg", c.f.Value, c.want.Kilograms())
			}
		}
	})
}

func TestFeedAndBeddingMakeUpTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := rates.Of(drawBin(t))
		if d := r.ProcessedWet.Value + r.BeddingWet.Value - r.TogetherWet.Value; math.Abs(d) > 1e-9 {
			t.Fatalf("wet differs by %v", d)
		}
		if d := r.ProcessedDry.Value + r.BeddingDry.Value - r.TogetherDry.Value; math.Abs(d) > 1e-9 {
			t.Fatalf("dry differs by %v", d)
		}
	})
}

func TestTheMoreIsLeftTheLessWasProcessed(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawBin(t)
		less := rates.Of(in)
		more := unit.Percent(rapid.Float64Range(0, 100).Draw(t, "more"))
		more = max(more, *in.Leftovers[2].All)
		in.Leftovers = append(in.Leftovers[:2:2], all("c2", 22, more))
		if r := rates.Of(in); r.TogetherWet.Value > less.TogetherWet.Value+1e-12 || r.Rate.Value > less.Rate.Value+1e-12 {
			t.Fatalf("%v kg, and with more left %v kg", less.TogetherWet.Value, r.TogetherWet.Value)
		}
	})
}

// world is a bin whose truth is known: every day the stock wanders by 5 % of
// itself and grows, and each feeding shrinks at its own pace.
type world struct {
	*rand.Rand
	stock []float64 // kg at noon of day 1, 2, …
}

func (w *world) live(days int) {
	growth := w.NormFloat64() * 0.005
	kg := 0.5 + w.Float64()
	for range days {
		w.stock = append(w.stock, kg)
		kg *= math.Exp(growth + 0.05*w.NormFloat64())
	}
}

// weigh returns a true mass as recorded with a relative error.
func (w *world) weigh(kg, cv float64) unit.Mass {
	return unit.Mass(kg * (1 + cv*w.NormFloat64()) * float64(unit.Kilogram))
}

// judge returns a true share as read by an eye with 0.4 on the logit scale.
func (w *world) judge(left float64) unit.Percent {
	odds := left / (1 - left) * math.Exp(0.4*w.NormFloat64())
	return unit.Percent(100 * odds / (1 + odds))
}

// observe returns the records of a bin over five weeks, looked at on the 10th
// and 30th day, and the true rate between.
func (w *world) observe() (in rates.Input, truth float64) {
	const first, last = 10, 30
	w.live(last)
	first10, last30 := map[string]unit.Percent{}, map[string]unit.Percent{}
	var processed, wormDays float64
	for n := 2; n < last; n += 4 {
		id, kg, pace := fmt.Sprint("f", n), 1+2*w.Float64(), 0.05+0.1*w.Float64()
		in.Feeds = append(in.Feeds, feed(id, n, w.weigh(kg, 0.02)))
		left := func(day int) float64 { return math.Exp(-pace * float64(max(0, day-n))) }
		processed += kg * (left(first) - left(last))
		if n < first {
			first10[id] = w.judge(left(first))
		}
		last30[id] = w.judge(left(last))
	}
	for n := first; n < last; n++ {
		wormDays += (w.stock[n-1] + w.stock[n]) / 2
	}
	in.From, in.To = day(5), day(31)
	in.Leftovers = []rates.Leftover{named("a", first, first10), named("b", last, last30)}
	in.Anchors = []rates.Anchor{stocking(1, w.weigh(w.stock[0], 0.02)), census(15, w.weigh(w.stock[14], 0.2))}
	return in, processed / wormDays
}

// In 4000 bins the interval's coverage of 0.95 has a standard error of 0.0035.
func TestTheIntervalCoversTheTruth(t *testing.T) {
	t.Parallel()
	const bins = 4000
	covered := 0
	for seed := range uint64(bins) {
		w := world{Rand: rand.New(rand.NewPCG(seed, 20250301))}
		in, truth := w.observe()
		if f := rates.Of(in).Rate; f.Level == 0.95 && f.Low <= truth && truth <= f.High {
			covered++
		}
	}
	share := float64(covered) / bins
	t.Logf("covered %.4f", share)
	if share < 0.93 || share > 0.975 {
		t.Errorf("the interval covers %.3f of %d bins, want 0.93 to 0.975", share, bins)
	}
}
