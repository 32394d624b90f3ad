package census

import (
	"math"
	"strconv"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// trail is what a result was worked out from.
type trail struct {
	bed      bed
	mean     span
	weighed  bool // the mean mass is from the samples
	fallback MeanMass
	byMean   bool // the mass is worms times their mean mass
}

// How the limits of an interval were found: in tables of distributions or by
// search, which is no work for paper.
const (
	bySearch  = "limits: the largest set of means that a negative-binomial likelihood allows, 2[l(best) - l(mean)] <= n ln(1 + t^2/(n - 1)), drawn in by sqrt(1 - n/N)"
	byPoisson = "limits: Poisson's of what was seen (Garwood 1936), drawn in by sqrt(1 - n/N)"
	byNothing = "limits: up to n ln(1 + t^2/(n - 1))/2 worms in samples that held none"
	byStrata  = "limits: value exp(±t SE/value), variances of the strata by ratio to size (Cochran 1977, eq. 6.9), Satterthwaite's degrees of freedom"
	byGamma   = "limits: gamma distribution of shape n mean^2/s^2 (1.96/t)^2, drawn in by sqrt(1 - n/N)"
	byRatio   = "limits: value exp(±t SE/value), of a ratio of totals (Cochran 1977, eq. 6.13)"
	byTable   = "limits: exp(±1.96 cv) of the value"
)

// Workings says how the result came about. Names are /worms, /mean_mg and
// /estimate, the mass in g; meanBasis and status say what a mean mass is that
// wasn't weighed, and how sure it is.
func (r Result) Workings(at working.Record, meanBasis string, status working.Status) []working.Figure {
	t := r.trail
	worms := t.sampled("/worms#estimate", working.Worms, r.Count, t.countMethod())
	t.rows(&worms, at, func(s Sample) ([]working.Input, bool) { return []working.Input{counted(s, at)}, true })
	whole := working.Figure{Name: "/worms", Formula: working.WholeWorms, Result: rounded(r.Count), Inputs: []working.Input{working.From("worms", worms)}}
	mean := t.meanWorking(r, at)
	mass := t.massWorking(r, at, worms, mean, working.Given("mean_mass", t.mean.value*1000, "mg", status, meanBasis))
	return []working.Figure{mass, whole, worms, mean}
}

func rounded(f unit.Figure) unit.Figure {
	if f.Known {
		f.Value = math.Round(f.Value)
	}
	f.Low, f.High, f.Level = 0, 0, 0
	return f
}

func (t trail) meanWorking(r Result, at working.Record) working.Figure {
	result := r.MeanMass
	if result.Known {
		result = unit.Of(result.Value*1000, "mg", result.Basis).Within(result.Low*1000, result.High*1000, result.Level)
	}
	mean := t.sampled("/mean_mg", working.MeanMass, result, byRatio)
	t.rows(&mean, at, func(s Sample) ([]working.Input, bool) {
		return []working.Input{weighed(s, at), counted(s, at)}, s.Mass > 0 || s.Count == 0
	})
	return mean
}

func counted(s Sample, at working.Record) working.Input {
	return working.Of("counted", float64(s.Count), "{worms}", at)
}

func weighed(s Sample, at working.Record) working.Input {
	return working.Of("mass", s.Mass.Grams(), "g", at)
}

func (t trail) massWorking(r Result, at working.Record, worms, mean working.Figure, given working.Input) working.Figure {
	if t.byMean {
		if t.weighed {
			given = working.From("mean_mass", mean)
		}
		mass := t.sampled("/estimate", working.MassByMean, r.Mass, "limits: those of worms and mean mass, their log distances added as squares (Zou & Donner 2008)")
		mass.Inputs = append(mass.Inputs, working.From("worms", worms), given)
		return mass
	}
	method := byGamma
	if len(t.bed.strata) > 1 {
		method = byStrata
	}
	mass := t.sampled("/estimate", working.MassBySamples, r.Mass, method)
	t.rows(&mass, at, func(s Sample) ([]working.Input, bool) { return []working.Input{weighed(s, at)}, true })
	return mass
}

func (t trail) countMethod() string {
	parts := t.bed.parts(countOf)
	switch {
	case allZero(parts):
		return byNothing
	case len(parts) > 1:
		return byStrata
	case len(parts) == 1 && len(parts[0].y) == 1:
		return byPoisson
	}
	return bySearch
}

// sampled is a figure from samples, with limits that were found by a method.
func (t trail) sampled(name string, f working.ID, result unit.Figure, method string) working.Figure {
	out := working.Figure{Name: name, Formula: f, Result: result}
	if result.Known && result.Level > 0 {
		out.Inputs = []working.Input{
			working.Given("low", result.Low, result.Unit, working.Computed, method), working.Given("high", result.High, result.Unit, working.Computed, method),
		}
	}
	return out
}

// rows lists the samples with what a formula takes from them.
func (t trail) rows(f *working.Figure, at working.Record, take func(Sample) ([]working.Input, bool)) {
	for i, samples := range t.bed.samples {
		var sampled float64
		for _, s := range samples {
			if _, ok := take(s); ok {
				sampled += s.Size
			}
		}
		for _, s := range samples {
			if in, ok := take(s); ok {
				f.Rows = append(f.Rows, working.Row{Group: "sample of stratum " + strconv.Itoa(i+1), Inputs: append([]working.Input{
					{Name: "whole", Value: t.bed.strata[i].Size, Unit: "m2", Status: working.Recorded},
					{Name: "sampled", Value: sampled, Unit: "m2", Status: working.Recorded, Record: at},
				}, in...)})
			}
		}
	}
}

// KeepersWorking says that a mass and its limits are as the keeper stated them.
// The name is /estimate.
func KeepersWorking(mass, low, high unit.Mass, at working.Record) working.Figure {
	return working.Figure{
		Name: "/estimate", Formula: working.KeepersFigure,
		Result: unit.Of(mass.Grams(), "g", keeperBasis).Within(low.Grams(), high.Grams(), Level),
		Inputs: []working.Input{
			working.Of("estimate", mass.Grams(), "g", at), working.Of("low", low.Grams(), "g", at), working.Of("high", high.Grams(), "g", at),
		},
	}
}
