package census

import (
	"slices"

	"lumbricary.example/service/unit"
)

// referenceCV is the spread of a mean mass of a worm taken from elsewhere
// (practice: the same as lineage uses for reference means). It stands in where
// one weighing can't show a spread.
const referenceCV = 0.35

// scaleCV is the log-scale error of a weighing (practice). Samples weighed on
// one scale share it, so a mean mass is never known better.
const scaleCV = 0.02

// bed is a bin with its samples sorted into strata.
type bed struct {
	whole   float64 // size of all strata
	strata  []Stratum
	samples [][]Sample // by stratum
}

func divide(f Frame, samples []Sample) bed {
	b := bed{strata: f.Strata, samples: make([][]Sample, len(f.Strata))}
	for _, s := range f.Strata {
		b.whole += s.Size
	}
	for _, s := range samples {
		i := f.find(s.Stratum)
		b.samples[i] = append(b.samples[i], s)
	}
	return b
}

// sampled reports whether every stratum has a sample.
func (b bed) sampled() bool {
	return !slices.ContainsFunc(b.samples, func(s []Sample) bool { return len(s) == 0 })
}

// warnings says what in the samples makes the estimate worse than it could be;
// nothing, when the samples are the whole bed.
func (b bed) warnings() []string {
	all := slices.Concat(b.samples...)
	if b.taken() >= b.whole*(1-1e-9) {
		return nil
	}
	one := func(s []Sample) bool { return len(s) == 1 }
	outside := func(s Sample) bool { return s.Stratum != FeedZone }
	weighed := 0
	for _, s := range all {
		if s.Mass > 0 {
			weighed++
		}
	}
	var out []string
	for _, w := range []struct {
		applies bool
		code    string
	}{
		{len(all) < 5, FewSamples},
		{len(all) == 1, OneSample},
		{len(all) > 1 && slices.ContainsFunc(b.samples, one), OneSampleInStratum},
		{!slices.ContainsFunc(all, outside), OnlyFeedZoneSampled},
		{!b.sampled(), StratumNotSampled},
		{weighed == 1, OneWeighing},
	} {
		if w.applies {
			out = append(out, w.code)
		}
	}
	return out
}

// taken is the size of all samples.
func (b bed) taken() float64 {
	var t float64
	for _, s := range slices.Concat(b.samples...) {
		t += s.Size
	}
	return t
}

// pick takes a quantity and the worms behind it from a sample, if it has them.
type pick func(Sample) (quantity, worms float64, ok bool)

func countOf(s Sample) (quantity, worms float64, ok bool) {
	return float64(s.Count), float64(s.Count), true
}

func massOf(s Sample) (quantity, worms float64, ok bool) {
	return s.Mass.Grams(), float64(s.Count), s.Mass > 0 || s.Count == 0
}

// parts returns the strata that have samples with the picked quantity.
func (b bed) parts(p pick) []part {
	var out []part
	for i, samples := range b.samples {
		q := part{whole: b.strata[i].Size}
		for _, s := range samples {
			if y, worms, ok := p(s); ok {
				q.add(s.Size, y, worms)
			}
		}
		if len(q.y) > 0 {
			out = append(out, q)
		}
	}
	return out
}

// count returns the total of a counted quantity over the bed.
func (b bed) count(p pick) span {
	parts := b.parts(p)
	switch {
	case allZero(parts):
		return zeroTotal(parts)
	case len(parts) > 1:
		return stratifiedTotal(parts)
	case len(parts[0].y) == 1:
		return parts[0].poissonTotal()
	}
	return parts[0].profileTotal()
}

// stage returns the total of a life stage, from the samples where it was
// counted.
func (b bed) stage(u string, of func(Sample) *int) unit.Figure {
	p := func(s Sample) (quantity, worms float64, ok bool) {
		n := of(s)
		if n == nil {
			return 0, 0, false
		}
		return float64(*n), float64(*n), true
	}
	if len(b.parts(p)) < len(b.strata) {
		return unit.None(u, NotCounted)
	}
	s := new(Result).bound(b.count(p), maxCount)
	return s.figure(u, basis)
}

// meanMass returns the mean mass of a worm (g), and whether samples were
// weighed for it. Without, it is the fallback, whose value is 0 for none.
func (b bed) meanMass(fallback MeanMass) (span, bool) {
	weighed := b.parts(massOf)
	if allZero(weighed) {
		return logSpan(fallback.MG/1000, z975*fallback.CV), false
	}
	spread := fallback.CV
	if spread == 0 {
		spread = referenceCV
	}
	return meanOf(weighed, spread), true
}

// mass returns the mass of worms in the bed (g): from the samples' masses when
// each with worms was weighed, else worms times mean mass. A single sample
// takes the second way, since its mass alone shows no spread.
func (b bed) mass(count, mean span) span {
	parts := b.parts(massOf)
	switch {
	case b.unevenlyWeighed():
		return product(count, mean).atLeast(seen(parts))
	case len(parts) > 1:
		return stratifiedTotal(parts)
	}
	return parts[0].gammaTotal()
}

// unevenlyWeighed reports whether the samples' masses alone don't give that of the
// bed: not all that held worms were weighed, or there is only one.
func (b bed) unevenlyWeighed() bool {
	all := slices.Concat(b.samples...)
	unweighed := func(s Sample) bool { return s.Mass == 0 && s.Count > 0 }
	return len(all) == 1 || allZero(b.parts(massOf)) || slices.ContainsFunc(all, unweighed)
}
