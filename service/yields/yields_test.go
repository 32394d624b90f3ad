package yields_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

const kg = unit.Kilogram

// day returns noon of the nth day.
func day(n int) time.Time { return time.Date(2025, 3, n, 12, 0, 0, 0, time.UTC) }

func measured(p unit.Percent) yields.Moisture {
	return yields.Moisture{Known: true, Percent: p, Basis: yields.Measured}
}

func feed(id string, n int, wet unit.Mass) yields.Feed {
	return yields.Feed{ID: id, At: day(n), Wet: wet, Moisture: measured(75)}
}

func bedding(id string, n int, wet unit.Mass) yields.Feed {
	f := feed(id, n, wet)
	f.Bedding = true
	return f
}

func full(id string, n int, wet unit.Mass) yields.Harvest {
	return yields.Harvest{ID: id, At: day(n), Full: true, Wet: wet, Moisture: measured(60)}
}

func partial(id string, n int, wet unit.Mass) yields.Harvest {
	h := full(id, n, wet)
	h.Full = false
	return h
}

func near(t *testing.T, what string, f unit.Figure, want, tolerance float64) {
	t.Helper()
	if !f.Known || math.Abs(f.Value-want) > tolerance {
		t.Errorf("%s = %+v, want %v", what, f, want)
	}
}

func none(t *testing.T, what string, f unit.Figure, reason string) {
	t.Helper()
	if f.Known || f.Reason != reason || f.Unit == "" {
		t.Errorf("%s = %+v, want none for %q, with its unit", what, f, reason)
	}
}

// The definition: computed.
func TestYieldIsCastingsPerFeed(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1), []yields.Feed{feed("f", 2, 100*kg)}, []yields.Harvest{full("h", 30, 45*kg)})
	y := yields.Ratio(ws)
	near(t, "wet", y.Wet, 0.45, 1e-12)
	near(t, "dry", y.Dry, 0.72, 1e-12)
	near(t, "wet with bedding", y.WetWithBedding, 0.45, 1e-12)
	near(t, "dry with bedding", y.DryWithBedding, 0.72, 1e-12)
	if y.Dry.Unit != "kg/kg" || y.Dry.Basis != "measured-moisture" || len(y.Dry.Flags) > 0 {
		t.Errorf("dry = %+v", y.Dry)
	}
}

func TestBeddingCountsInADenominatorOfItsOwn(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1),
		[]yields.Feed{feed("f", 2, 60*kg), bedding("b", 2, 40*kg)},
		[]yields.Harvest{full("h", 30, 45*kg)})
	y := yields.Ratio(ws)
	near(t, "wet", y.Wet, 0.75, 1e-12)
	near(t, "wet with bedding", y.WetWithBedding, 0.45, 1e-12)
	near(t, "dry with bedding", y.DryWithBedding, 0.72, 1e-12)
}

func TestBeddingAloneGivesAYieldOnlyWithBedding(t *testing.T) {
	t.Parallel()
	y := yields.Ratio(yields.Windows(day(1),
		[]yields.Feed{bedding("b", 2, 100*kg)}, []yields.Harvest{full("h", 30, 45*kg)}))
	none(t, "wet", y.Wet, "no-feed")
	none(t, "dry", y.Dry, "no-feed")
	near(t, "wet with bedding", y.WetWithBedding, 0.45, 1e-12)
	near(t, "dry with bedding", y.DryWithBedding, 0.72, 1e-12)
}

func TestWithoutFeedThereIsNoYield(t *testing.T) {
	t.Parallel()
	y := yields.Ratio(yields.Windows(day(1), nil, []yields.Harvest{full("h", 30, 45*kg)}))
	for _, f := range []unit.Figure{y.Wet, y.Dry, y.WetWithBedding, y.DryWithBedding} {
		none(t, "yield", f, "no-feed")
	}
}

func TestWithoutAFullHarvestThereIsNoYield(t *testing.T) {
	t.Parallel()
	y := yields.Ratio(yields.Windows(day(1), []yields.Feed{feed("f", 2, kg)}, []yields.Harvest{partial("h", 30, kg)}))
	for _, f := range []unit.Figure{y.Wet, y.Dry, y.WetWithBedding, y.DryWithBedding} {
		none(t, "yield", f, "no-full-harvest")
	}
}

func TestAMissingMoistureLeavesNoDryYield(t *testing.T) {
	t.Parallel()
	known := feed("f", 2, kg)
	unknown := yields.Feed{ID: "g", At: day(3), Wet: kg}
	unknownBedding := yields.Feed{ID: "b", At: day(3), Bedding: true, Wet: kg}
	unknownHarvest := yields.Harvest{ID: "h", At: day(9), Full: true, Wet: kg}

	y := yields.Ratio(yields.Windows(day(1), []yields.Feed{known, unknown}, []yields.Harvest{full("h", 9, kg)}))
	near(t, "wet", y.Wet, 0.5, 1e-12)
	none(t, "dry", y.Dry, "moisture-unknown")

	y = yields.Ratio(yields.Windows(day(1), []yields.Feed{known}, []yields.Harvest{unknownHarvest}))
	none(t, "dry", y.Dry, "moisture-unknown")

	y = yields.Ratio(yields.Windows(day(1), []yields.Feed{known, unknownBedding}, []yields.Harvest{full("h", 9, kg/4)}))
	near(t, "dry", y.Dry, 0.4, 1e-12)
	none(t, "dry with bedding", y.DryWithBedding, "moisture-unknown")
}

func TestAMissingMoistureOfNothingDoesNotMatter(t *testing.T) {
	t.Parallel()
	y := yields.Ratio(yields.Windows(day(1),
		[]yields.Feed{feed("f", 2, kg), {ID: "g", At: day(3)}}, []yields.Harvest{full("h", 9, kg/4)}))
	near(t, "dry", y.Dry, 0.4, 1e-12)
}

func TestTheLeastSureMoistureNamesTheBasis(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ feed, castings, want string }{
		{yields.Measured, yields.Measured, "measured-moisture"},
		{yields.Material, yields.Measured, "material-moisture"},
		{yields.Measured, yields.Material, "material-moisture"},
		{yields.Default, yields.Material, "default-moisture"},
		{yields.Measured, yields.Default, "default-moisture"},
		{yields.Measured, "hearsay", "default-moisture"},
	} {
		f, h := feed("f", 2, kg), full("h", 9, kg/4)
		f.Moisture.Basis, h.Moisture.Basis = c.feed, c.castings
		y := yields.Ratio(yields.Windows(day(1), []yields.Feed{f}, []yields.Harvest{h}))
		if y.Dry.Basis != c.want {
			t.Errorf("feed %s, castings %s: basis %q, want %q", c.feed, c.castings, y.Dry.Basis, c.want)
		}
	}
}

func TestDryYieldOutsideReasonIsFlagged(t *testing.T) {
	t.Parallel()
	of := func(castings unit.Mass, more ...yields.Feed) yields.Yields {
		feeds := append([]yields.Feed{feed("f", 2, 16*kg)}, more...) // 4 kg dry
		return yields.Ratio(yields.Windows(day(1), feeds, []yields.Harvest{full("h", 9, castings)}))
	}
	for _, c := range []struct {
		name     string
		castings unit.Mass
		want     []string
	}{
		{"a little more than went in", 10*kg + 2500, []string{yields.FlagNotConserved}},
		{"all that went in", 10 * kg, nil},
		{"a fifth of what went in", 2 * kg, nil},
		{"a little less than a fifth", 2*kg - 2500, []string{yields.FlagLow}},
		{"nothing", 0, []string{yields.FlagLow}},
	} {
		if got := of(c.castings).Dry.Flags; !slices.Equal(got, c.want) {
			t.Errorf("%s: flags %v, want %v", c.name, got, c.want)
		}
	}
	y := of(12*kg, bedding("b", 2, 16*kg))
	if want := []string{yields.FlagNotConserved, yields.FlagBeddingExplains}; !slices.Equal(y.Dry.Flags, want) {
		t.Errorf("more than the feed, less than feed and bedding: flags %v, want %v", y.Dry.Flags, want)
	}
	if len(y.DryWithBedding.Flags) > 0 {
		t.Errorf("with bedding: flags %v", y.DryWithBedding.Flags)
	}
}

func TestSeveralWindowsGiveARatioOfSums(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1),
		[]yields.Feed{feed("f1", 2, 10*kg), feed("f2", 12, 90*kg)},
		[]yields.Harvest{full("h1", 10, 9*kg), full("h2", 20, 36*kg)})
	near(t, "first", yields.Of(ws[0].Sums).Wet, 0.9, 1e-12)
	near(t, "second", yields.Of(ws[1].Sums).Wet, 0.4, 1e-12)
	near(t, "both", yields.Ratio(ws).Wet, 0.45, 1e-12) // the mean of the ratios is 0.65
}

func TestYieldsAreFreeOfScale(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, times := drawSums(t, "s"), rapid.Int64Range(1, 1000).Draw(t, "times")
		big := s
		for range times - 1 {
			big = big.Plus(s)
		}
		a, b := yields.Of(s), yields.Of(big)
		for i, f := range []unit.Figure{a.Wet, a.Dry, a.WetWithBedding, a.DryWithBedding} {
			g := []unit.Figure{b.Wet, b.Dry, b.WetWithBedding, b.DryWithBedding}[i]
			if f.Known != g.Known || math.Abs(f.Value-g.Value) > 1e-12*f.Value {
				t.Fatalf("%+v, and %d times that %+v", f, times, g)
			}
		}
	})
}

func TestSumsAddInAnyOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawSums(t, "a"), drawSums(t, "b"), drawSums(t, "c")
		if a.Plus(b) != b.Plus(a) || a.Plus(b).Plus(c) != a.Plus(b.Plus(c)) || a.Plus(yields.Sums{}) != a {
			t.Fatal("order changes the sum")
		}
	})
}

func drawSums(t *rapid.T, label string) yields.Sums {
	mass := rapid.Map(rapid.Int64Range(0, 1e9), func(v int64) unit.Mass { return unit.Mass(v) })
	dry := rapid.Custom(func(t *rapid.T) yields.Dry {
		return yields.Dry{
			Mass:    mass.Draw(t, "dry"),
			Unknown: rapid.Bool().Draw(t, "unknown"),
			Basis:   rapid.SampledFrom([]string{"", yields.Measured, yields.Material, yields.Default}).Draw(t, "basis"),
		}
	})
	return rapid.Custom(func(t *rapid.T) yields.Sums {
		return yields.Sums{
			FeedWet: mass.Draw(t, "feed"), BeddingWet: mass.Draw(t, "bedding"), CastingsWet: mass.Draw(t, "castings"),
			FeedDry: dry.Draw(t, "feed dry"), BeddingDry: dry.Draw(t, "bedding dry"), CastingsDry: dry.Draw(t, "castings dry"),
		}
	}).Draw(t, label)
}
