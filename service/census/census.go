// Package census estimates how many worms a bin holds, and what they weigh,
// from counts in samples of known area, mass or volume.
//
// Worms gather where the feed is, so counts are clumped and the plain t
// interval (TInterval) holds the truth too seldom. Each estimate therefore
// comes with an interval made for clumped counts. The study in the tests shows
// how often it holds the truth: of 20,000 bins a cell 94.9–97.9 % in one stratum
// (6 samples or more, k 0.5–5, 3–30 worms a sample; the plain t interval
// 83–94 %), and 93.0–96.1 % in two or three strata (4 samples or more in each,
// k 1–5), least where one stratum holds nearly all worms.
package census

import (
	"slices"

	"lumbricary.example/service/unit"
)

// Level is the coverage that every interval of a census aims at.
const Level = 0.95

// The strata that a bin is commonly divided into.
const (
	FeedZone   = "feed-zone"
	Elsewhere  = "elsewhere"
	UnderCover = "under-cover"
)

// The warnings that a result may carry.
const (
	FewSamples          = "few_samples"            // fewer than five samples
	OneSample           = "one_sample"             // clumping unseen: the interval is Poisson's, too narrow
	OneSampleInStratum  = "one_sample_in_stratum"  // the same for a stratum
	OnlyFeedZoneSampled = "only_feed_zone_sampled" // worms gather there: likely an overestimate
	StratumNotSampled   = "stratum_not_sampled"    // no total can be had
	OneWeighing         = "one_weighing"           // mean mass of a worm from one sample; spread assumed
	UpperLimitOpen      = "upper_limit_open"       // the upper limit is beyond a hundred times the value
)

// The reasons for which a figure of a result may be missing.
const (
	NotWeighed = "not-weighed"         // no counted worm was weighed
	NotCounted = "not-counted"         // a keeper's figure, or a life stage nobody counted
	NotSampled = "stratum-not-sampled" // a stratum of the frame has no sample
	NoMeanMass = "no-mean-mass"        // not weighed, and no mean mass to fall back on
)

const (
	wormsUnit   = "{worms}"
	cocoonsUnit = "{cocoons}"
	basis       = "census"
)

// Sample is what was counted in one place of the bin.
type Sample struct {
	Stratum string    // FeedZone, Elsewhere, UnderCover, another of the frame's names, or ""
	Size    float64   // area (m²), mass (g) or volume (L), in the frame's unit
	Count   int       // worms, without cocoons
	Mass    unit.Mass // weighed mass of the counted worms; 0: not weighed
	// Life stages; nil: not told apart. Adults and juveniles are part of Count.
	Adults, Juveniles, Cocoons *int
}

// Stratum is a part of the bin that is sampled on its own.
type Stratum struct {
	Name string
	Size float64 // the whole of the stratum, in the frame's unit
}

// Frame is what the samples stand for: the whole bin, as one unnamed stratum
// or several named ones.
type Frame struct {
	Unit   string // UCUM code of all sizes: "m2", "g" or "L"
	Strata []Stratum
}

// MeanMass is a mean mass of a worm from elsewhere, for samples that were not
// weighed. The zero MeanMass is none.
type MeanMass struct {
	MG    float64 // mg a worm
	CV    float64 // standard deviation of its logarithm
	Basis string  // where it is from, as "size-class" or "species"
}

// Result is an estimate of the stock of a bin.
type Result struct {
	Count    unit.Figure // {worms} in the bin
	MeanMass unit.Figure // g a worm, from the weighed samples only
	Mass     unit.Figure // g of worms in the bin
	Density  unit.Figure // {worms} per unit of size, as "{worms}/m2"
	// CV is the standard deviation of the logarithm of the mass, from the width
	// of its interval; 0 where Mass is unknown or zero and so has no logarithm.
	CV float64
	// Life stages in the bin, from the samples in which they were told apart.
	Adults, Juveniles unit.Figure // {worms}
	Cocoons           unit.Figure // {cocoons}
	Warnings          []string
	trail             trail
}

// Estimate returns the stock of the bin f from samples; fallback is the mean
// mass of a worm to use when none was weighed. In a frame of one unnamed
// stratum all samples count as drawn from the whole bin, whatever their
// stratum; otherwise each sample belongs to the stratum of its name. Figures
// that a missing stratum or weighing forbids are unknown, with the reason.
//
// Errors: FrameError, SampleError, and FallbackError for a mean mass that is
// not a number or negative.
func Estimate(f Frame, samples []Sample, fallback MeanMass) (Result, error) {
	if err := check(f, samples, fallback); err != nil {
		return Result{}, err
	}
	b := divide(f, samples)
	r := Result{Warnings: b.warnings()}
	r.Adults = b.stage(wormsUnit, func(s Sample) *int { return s.Adults })
	r.Juveniles = b.stage(wormsUnit, func(s Sample) *int { return s.Juveniles })
	r.Cocoons = b.stage(cocoonsUnit, func(s Sample) *int { return s.Cocoons })

	mean, weighed := b.meanMass(fallback)
	r.trail = trail{bed: b, mean: mean, weighed: weighed, fallback: fallback, byMean: b.unevenlyWeighed()}
	r.MeanMass = unit.None("g", NotWeighed)
	if weighed {
		r.MeanMass = mean.figure("g", "weighed")
	}
	if !b.sampled() {
		r.Count, r.Mass = unit.None(wormsUnit, NotSampled), unit.None("g", NotSampled)
		r.Density = unit.None(wormsUnit+"/"+f.Unit, NotSampled)
		return r, nil
	}
	count := b.count(countOf)
	bounded := r.bound(count, maxCount)
	r.Count = bounded.figure(wormsUnit, basis)
	r.Density = bounded.times(1/b.whole).figure(wormsUnit+"/"+f.Unit, basis)
	if mean.value == 0 {
		r.Mass = unit.None("g", NoMeanMass)
		return r, nil
	}
	mass := r.bound(b.mass(count, mean), unit.MaxMass.Grams())
	r.Mass, r.CV = mass.figure("g", basis), mass.logSD()
	if !weighed {
		r.Mass = r.Mass.Flag("mean-mass-" + fallback.Basis)
	}
	return r, nil
}

// bound brings an upper limit back to the largest quantity the book takes, and
// warns of one so high that the samples hardly set it.
func (r *Result) bound(s span, largest float64) span {
	if s.value > 0 && s.high > 100*s.value && !slices.Contains(r.Warnings, UpperLimitOpen) {
		r.Warnings = append(r.Warnings, UpperLimitOpen)
	}
	s.high = max(min(s.high, largest), s.value)
	return s
}
