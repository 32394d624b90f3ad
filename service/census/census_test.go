package census_test

import (
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lumbricary.example/service/census"
	"lumbricary.example/service/unit"
)

// speciesMean is a mean mass from elsewhere.
var speciesMean = census.MeanMass{MG: 400, CV: 0.35, Basis: "species"}

func wholeBin(size float64) census.Frame {
	return census.Frame{Unit: "m2", Strata: []census.Stratum{{Size: size}}}
}

func zones(feed, elsewhere float64) census.Frame {
	return census.Frame{Unit: "m2", Strata: []census.Stratum{
		{Name: census.FeedZone, Size: feed}, {Name: census.Elsewhere, Size: elsewhere},
	}}
}

// counts makes samples of 0.01 m² in a stratum.
func counts(stratum string, worms ...int) []census.Sample {
	out := make([]census.Sample, len(worms))
	for i, n := range worms {
		out[i] = census.Sample{Stratum: stratum, Size: 0.01, Count: n}
	}
	return out
}

// weighed makes samples of 0.01 m² whose worms weigh mg each.
func weighed(stratum string, mg unit.Mass, worms ...int) []census.Sample {
	out := counts(stratum, worms...)
	for i := range out {
		out[i].Mass = mg * unit.Mass(out[i].Count)
	}
	return out
}

func estimate(t *testing.T, f census.Frame, samples []census.Sample, m census.MeanMass) census.Result {
	t.Helper()
	r, err := census.Estimate(f, samples, m)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tol)
	}
}

func expectNone(t *testing.T, what string, f unit.Figure, reason string) {
	t.Helper()
	if f.Known || f.Reason != reason {
		t.Errorf("%s = %+v, want none for %q", what, f, reason)
	}
}

func expectWarnings(t *testing.T, r census.Result, want ...string) {
	t.Helper()
	if !slices.Equal(r.Warnings, want) {
		t.Errorf("warnings %q, want %q", r.Warnings, want)
	}
}

func TestHundredWormsInABlockOfAQuarterMetreAreSixteenHundredASquareMetre(t *testing.T) {
	t.Parallel()
	// Block size of Monroy et al. 2006 (seen, computed).
	s := census.Sample{Size: 0.25 * 0.25, Count: 100}
	r := estimate(t, wholeBin(1), []census.Sample{s}, speciesMean)
	near(t, "density", r.Density.Value, 1600, 1e-9)
	if r.Density.Unit != "{worms}/m2" {
		t.Errorf("density in %q", r.Density.Unit)
	}
}

func TestOneSampleIsPoissonAndSaysSo(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1e4), counts("", 10), speciesMean)
	near(t, "low, worms a sample", r.Count.Low*0.01/1e4, 4.795389, 1e-4) // Garwood 1936 (computed)
	near(t, "high, worms a sample", r.Count.High*0.01/1e4, 18.390356, 1e-4)
	expectWarnings(t, r, census.FewSamples, census.OneSample)
}

func TestFewSamplesAreWarnedOfBelowFive(t *testing.T) {
	t.Parallel()
	expectWarnings(t, estimate(t, wholeBin(1), counts("", 8, 9, 12, 10), speciesMean), census.FewSamples)
	expectWarnings(t, estimate(t, wholeBin(1), counts("", 8, 9, 12, 10, 11), speciesMean))
}

func TestSamplesFromTheFeedZoneAloneAreWarnedOf(t *testing.T) {
	t.Parallel()
	feed := counts(census.FeedZone, 30, 25, 41, 28, 33)
	expectWarnings(t, estimate(t, wholeBin(1), feed, speciesMean), census.OnlyFeedZoneSampled)
	mixed := append(slices.Clone(feed), counts(census.Elsewhere, 3)...)
	expectWarnings(t, estimate(t, wholeBin(1), mixed, speciesMean))
}

func TestStratumWithoutASampleLeavesNoTotal(t *testing.T) {
	t.Parallel()
	r := estimate(t, zones(0.1, 0.4), weighed(census.FeedZone, 400, 30, 25, 41, 28, 33), census.MeanMass{})
	expectWarnings(t, r, census.OnlyFeedZoneSampled, census.StratumNotSampled)
	expectNone(t, "count", r.Count, census.NotSampled)
	expectNone(t, "mass", r.Mass, census.NotSampled)
	expectNone(t, "density", r.Density, census.NotSampled)
	near(t, "mean mass", r.MeanMass.Value, 0.4, 1e-9)
	near(t, "cv", r.CV, 0, 0)
}

func TestStrataAddUpByTheirSizes(t *testing.T) {
	t.Parallel()
	samples := append(counts(census.FeedZone, 30, 20, 40, 30), counts(census.Elsewhere, 4, 2, 3, 3)...)
	r := estimate(t, zones(0.1, 0.4), samples, speciesMean)
	near(t, "worms", r.Count.Value, 10*30+40*3, 1e-9)
	near(t, "density", r.Density.Value, 840, 1e-9)
	near(t, "product of the limits", r.Count.Low*r.Count.High, 420*420, 1e-6)
	expectWarnings(t, r)
}

func TestStratumWithOneSampleIsWarnedOf(t *testing.T) {
	t.Parallel()
	samples := append(counts(census.FeedZone, 30, 20, 40, 30), counts(census.Elsewhere, 4)...)
	r := estimate(t, zones(0.1, 0.4), samples, speciesMean)
	expectWarnings(t, r, census.OneSampleInStratum)
	near(t, "worms", r.Count.Value, 10*30+40*4, 1e-9)
}

func TestWholeBinCountedAndWeighedIsKnown(t *testing.T) {
	t.Parallel()
	s := weighed("", 350, 812)
	r := estimate(t, wholeBin(0.01), s, speciesMean)
	near(t, "low", r.Count.Low, 812, 0)
	near(t, "high", r.Count.High, 812, 0)
	near(t, "mass low", r.Mass.Low, 284.2, 1e-9)
	near(t, "mass high", r.Mass.High, 284.2, 1e-9)
	near(t, "cv", r.CV, 0, 1e-12)
	expectWarnings(t, r)
}

func TestLowerLimitIsNeverBelowWhatWasSeen(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(0.05), counts("", 90, 2, 1, 0), speciesMean)
	near(t, "low", r.Count.Low, 93, 0)
}

func TestNoWormFoundLeavesAnUpperLimit(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1), counts("", 0, 0, 0, 0, 0, 0), speciesMean)
	near(t, "worms", r.Count.Value, 0, 0)
	near(t, "low", r.Count.Low, 0, 0)
	// cut/2n a sample, n = 6 and t(0.975, 5) = 2.570582, in 100 samples' room of
	// which 6 were looked at (computed).
	near(t, "high", r.Count.High, 100*math.Log(1+2.570582*2.570582/5)/2*math.Sqrt(0.94), 1e-4)
	near(t, "mass", r.Mass.Value, 0, 0)
	near(t, "mass high", r.Mass.High, r.Count.High*0.4*math.Exp(1.959964*0.35), 1e-3)
	near(t, "cv", r.CV, 0, 0)
}

func TestNoWormFoundInAnyStratumCountsTheThinnestSampled(t *testing.T) {
	t.Parallel()
	samples := append(counts(census.FeedZone, 0, 0, 0), counts(census.Elsewhere, 0, 0, 0)...)
	thin := estimate(t, zones(0.1, 0.4), samples, speciesMean)
	all := estimate(t, zones(0.4, 0.4), samples, speciesMean)
	near(t, "high", thin.Count.High, all.Count.High, 1e-9)
}

func TestHandfulOfWormsInFewSamplesLeavesTheUpperLimitOpen(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1), counts("", 0, 1), speciesMean)
	expectWarnings(t, r, census.FewSamples, census.UpperLimitOpen)
	near(t, "high", r.Count.High, 1e9, 0)
}

func TestSamplesOfUnequalSizeCountByTheirSize(t *testing.T) {
	t.Parallel()
	samples := []census.Sample{{Size: 0.01, Count: 10}, {Size: 0.03, Count: 26}, {Size: 0.02, Count: 24}, {Size: 0.01, Count: 4}, {Size: 0.01, Count: 16}}
	r := estimate(t, wholeBin(1), samples, speciesMean)
	near(t, "density", r.Density.Value, 1000, 1e-9)
}

func TestUnweighedWormsTakeTheFallbackMeanMass(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1), counts("", 8, 9, 12, 10, 11), speciesMean)
	near(t, "mass", r.Mass.Value, 1000*0.4, 1e-9)
	up := math.Hypot(math.Log(r.Count.High/r.Count.Value), 1.959963984540054*0.35)
	near(t, "log distance up", math.Log(r.Mass.High/r.Mass.Value), up, 1e-9)
	near(t, "cv", r.CV, math.Log(r.Mass.High/r.Mass.Low)/2/1.959963984540054, 1e-9)
	expectNone(t, "mean mass", r.MeanMass, census.NotWeighed)
	if !slices.Equal(r.Mass.Flags, []string{"mean-mass-species"}) {
		t.Errorf("flags %q", r.Mass.Flags)
	}
}

func TestUnweighedWormsWithoutAFallbackHaveNoMass(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1), counts("", 8, 9, 12, 10, 11), census.MeanMass{})
	expectNone(t, "mass", r.Mass, census.NoMeanMass)
	near(t, "worms", r.Count.Value, 1000, 1e-9)
}

func TestWeighedSamplesGiveTheMassTheCountAndTheMeanInOneProportion(t *testing.T) {
	t.Parallel()
	samples := []census.Sample{
		{Size: 0.01, Count: 10, Mass: 4000},
		{Size: 0.01, Count: 20, Mass: 6500},
		{Size: 0.01, Count: 0},
		{Size: 0.01, Count: 6, Mass: 2700},
		{Size: 0.01, Count: 14, Mass: 6800},
	}
	r := estimate(t, wholeBin(1), samples, speciesMean)
	near(t, "mean mass", r.MeanMass.Value, 0.4, 1e-12)
	near(t, "mass", r.Mass.Value, r.Count.Value*r.MeanMass.Value, 1e-9)
	if r.MeanMass.Low >= 0.4 || r.MeanMass.High <= 0.4 || r.MeanMass.Low < 0.2 || r.MeanMass.High > 0.8 {
		t.Errorf("mean mass %+v", r.MeanMass)
	}
	expectWarnings(t, r)
}

func TestMeanMassIsNeverSurerThanTheScale(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1e6), weighed("", 250, 4, 8, 5, 9, 7), speciesMean)
	near(t, "log half-width", math.Log(r.MeanMass.High/r.MeanMass.Value), 1.959964*0.02, 1e-6)
}

func TestOneWeighingSpeaksForAllCountsWithAnAssumedSpread(t *testing.T) {
	t.Parallel()
	samples := append(counts("", 8, 9, 12, 10), weighed("", 300, 11)...)
	r := estimate(t, wholeBin(1e6), samples, speciesMean)
	expectWarnings(t, r, census.OneWeighing)
	near(t, "mass", r.Mass.Value, r.Count.Value*0.3, 1e-3)
	near(t, "log half-width of the mean mass", math.Log(r.MeanMass.High/0.3), 1.959964*0.35, 1e-6)
	down := math.Hypot(math.Log(r.Count.Value/r.Count.Low), 1.959964*0.35)
	near(t, "log distance down", math.Log(r.Mass.Value/r.Mass.Low), down, 1e-6)
}

func TestMassFromOneWeighedSampleIsLessSureThanItsCount(t *testing.T) {
	t.Parallel()
	r := estimate(t, wholeBin(1e4), weighed("", 300, 40), census.MeanMass{})
	expectWarnings(t, r, census.FewSamples, census.OneSample, census.OneWeighing)
	near(t, "mass", r.Mass.Value, r.Count.Value*0.3, 1e-3)
	down := math.Hypot(math.Log(r.Count.Value/r.Count.Low), 1.959964*0.35)
	near(t, "log distance down", math.Log(r.Mass.Value/r.Mass.Low), down, 1e-5)
}

func TestPartlyWeighedStrataTakeTheMeanMassOfTheWeighedOnes(t *testing.T) {
	t.Parallel()
	samples := append(weighed(census.FeedZone, 300, 30, 20, 40, 30), counts(census.Elsewhere, 4, 2, 3, 3)...)
	r := estimate(t, zones(0.1, 0.4), samples, speciesMean)
	near(t, "mass", r.Mass.Value, 420*0.3, 1e-9)
	if r.Mass.Low >= 0.8*r.Mass.Value || r.Mass.High <= 1.2*r.Mass.Value {
		t.Errorf("mass %+v", r.Mass)
	}
}

func TestWeighedStrataAddUpTheirMasses(t *testing.T) {
	t.Parallel()
	samples := append(weighed(census.FeedZone, 500, 30, 20, 40, 30), weighed(census.Elsewhere, 200, 4, 2, 3, 3)...)
	r := estimate(t, zones(0.1, 0.4), samples, census.MeanMass{})
	near(t, "mass", r.Mass.Value, 300*0.5+120*0.2, 1e-9)
	near(t, "product of the limits", r.Mass.Low*r.Mass.High, 174*174, 1e-6)
	near(t, "mean mass", r.MeanMass.Value, 174.0/420, 1e-12)
}

func TestLifeStagesAreRaisedLikeTheWorms(t *testing.T) {
	t.Parallel()
	samples := counts("", 8, 9, 12, 10, 11)
	for i := range samples {
		adults, cocoons := i+1, 2*i
		samples[i].Adults, samples[i].Cocoons = &adults, &cocoons
	}
	r := estimate(t, wholeBin(1), samples, speciesMean)
	near(t, "adults", r.Adults.Value, 300, 1e-9)
	near(t, "cocoons", r.Cocoons.Value, 400, 1e-9)
	expectNone(t, "juveniles", r.Juveniles, census.NotCounted)
	if r.Cocoons.Unit != "{cocoons}" || r.Adults.Low >= 300 || r.Adults.High <= 300 {
		t.Errorf("adults %+v, cocoons %+v", r.Adults, r.Cocoons)
	}
}

func TestInputThatCannotBeRightIsRefused(t *testing.T) {
	t.Parallel()
	minus, many := -1, 100
	one := func(s census.Sample) []census.Sample { return []census.Sample{s} }
	fine := counts("", 5)
	for name, c := range map[string]struct {
		frame   census.Frame
		samples []census.Sample
		mean    census.MeanMass
		want    string
	}{
		"an unknown unit":             {census.Frame{Unit: "ha", Strata: []census.Stratum{{Size: 1}}}, fine, speciesMean, "use m2, g or L"},
		"no stratum":                  {census.Frame{Unit: "m2"}, fine, speciesMean, "no stratum"},
		"a stratum without size":      {wholeBin(0), fine, speciesMean, "size above 0"},
		"a nameless one among strata": {census.Frame{Unit: "L", Strata: []census.Stratum{{Size: 1}, {Name: "b", Size: 1}}}, fine, speciesMean, "needs a name"},
		"a stratum twice":             {census.Frame{Unit: "L", Strata: []census.Stratum{{Name: "b", Size: 1}, {Name: "b", Size: 1}}}, fine, speciesMean, "twice"},
		"no samples":                  {wholeBin(1), nil, speciesMean, "none given"},
		"a sample without size":       {wholeBin(1), one(census.Sample{Count: 4}), speciesMean, "above 0"},
		"a sample of no number":       {wholeBin(1), one(census.Sample{Size: math.NaN()}), speciesMean, "above 0"},
		"a negative count":            {wholeBin(1), counts("", -3), speciesMean, "a count is"},
		"a negative mass":             {wholeBin(1), one(census.Sample{Size: 0.1, Count: 1, Mass: -1}), speciesMean, "a mass is"},
		"a mass of no worms":          {wholeBin(1), one(census.Sample{Size: 0.1, Mass: 1}), speciesMean, "of no worms"},
		"an unknown stratum":          {zones(1, 1), counts("attic", 5), speciesMean, "no stratum"},
		"a negative stage":            {wholeBin(1), one(census.Sample{Size: 0.1, Cocoons: &minus}), speciesMean, "a count is"},
		"more adults than worms":      {wholeBin(1), one(census.Sample{Size: 0.1, Count: 9, Adults: &many}), speciesMean, "more adults"},
		"samples beyond the bin":      {wholeBin(0.03), counts("", 1, 1, 1, 1), speciesMean, "out of a stratum"},
		"a negative mean mass":        {wholeBin(1), fine, census.MeanMass{MG: -1}, "mean mass"},
		"an infinite cv":              {wholeBin(1), fine, census.MeanMass{MG: 1, CV: math.Inf(1)}, "mean mass"},
	} {
		_, err := census.Estimate(c.frame, c.samples, c.mean)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", name, err, c.want)
		}
	}
}

func TestRefusedSampleIsNamedByItsPlace(t *testing.T) {
	t.Parallel()
	_, err := census.Estimate(wholeBin(1), counts("", 3, -3), speciesMean)
	if e, ok := errors.AsType[*census.SampleError](err); !ok || e.Index != 1 {
		t.Errorf("error %v, want sample 2", err)
	}
}

// drawCensus draws any census that Estimate takes.
func drawCensus(t *rapid.T) (census.Frame, []census.Sample) {
	f := census.Frame{Unit: "L", Strata: []census.Stratum{{Name: "a", Size: 40}, {Name: "b", Size: 7}}}
	f.Strata = f.Strata[:rapid.IntRange(1, 2).Draw(t, "strata")]
	var out []census.Sample
	for _, st := range f.Strata {
		for range rapid.IntRange(1, 7).Draw(t, "samples") {
			s := census.Sample{Stratum: st.Name, Size: rapid.Float64Range(0.01, 1).Draw(t, "size")}
			s.Count = rapid.OneOf(rapid.Just(0), rapid.IntRange(0, 20), rapid.IntRange(0, 1e9)).Draw(t, "count")
			if s.Count > 0 {
				s.Mass = unit.Mass(rapid.OneOf(rapid.Just(0), rapid.IntRange(0, 1e6)).Draw(t, "mass"))
			}
			out = append(out, s)
		}
	}
	return f, out
}

func TestEveryFigureLiesWithinFiniteLimits(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f, samples := drawCensus(t)
		r, err := census.Estimate(f, samples, speciesMean)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range []unit.Figure{r.Count, r.MeanMass, r.Mass, r.Density} {
			if g.Known && !(0 <= g.Low && g.Low <= g.Value && g.Value <= g.High && g.High < math.MaxFloat64) {
				t.Fatalf("%+v", g)
			}
		}
		if !(r.CV >= 0 && r.CV < math.MaxFloat64) {
			t.Fatalf("cv %v", r.CV)
		}
	})
}

func TestEstimateDoesNotDependOnTheUnitOfSize(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f, samples := drawCensus(t)
		a, err := census.Estimate(f, samples, speciesMean)
		if err != nil {
			t.Fatal(err)
		}
		g := census.Frame{Unit: "L", Strata: slices.Clone(f.Strata)}
		for i := range g.Strata {
			g.Strata[i].Size *= 1024
		}
		for i := range samples {
			samples[i].Size *= 1024
		}
		b, err := census.Estimate(g, samples, speciesMean)
		if err != nil || !reflect.DeepEqual(a.Count, b.Count) || !reflect.DeepEqual(a.Mass, b.Mass) {
			t.Fatalf("%+v and %+v, error %v", a, b, err)
		}
	})
}

func TestEstimateLeavesItsArgumentsAlone(t *testing.T) {
	t.Parallel()
	f, samples := zones(1, 2), append(weighed(census.FeedZone, 400, 3, 9), counts(census.Elsewhere, 4, 1)...)
	before := slices.Clone(samples)
	estimate(t, f, samples, speciesMean)
	if !slices.Equal(samples, before) || f.Strata[0].Name != census.FeedZone {
		t.Error("changed")
	}
}

func BenchmarkEstimate(b *testing.B) {
	for name, samples := range map[string][]census.Sample{
		"8 counts":         counts("", 3, 9, 4, 17, 0, 12, 5, 31),
		"8 large counts":   counts("", 300, 910, 420, 1700, 20, 1200, 530, 3100),
		"8 weighed counts": weighed("", 400, 3, 9, 4, 17, 0, 12, 5, 31),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := census.Estimate(wholeBin(1), samples, speciesMean); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
