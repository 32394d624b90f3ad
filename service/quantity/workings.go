package quantity

import (
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// Working says how the mass of r came about from what was typed. Book is that of
// the species where it was taken from, which a share is of; status says how sure
// the mean mass of a worm is where it is that of the species. The name of the figure
// is /mass_g.
func (t Typed) Working(r Resolved, book unit.Mass, status working.Status) working.Figure {
	out := working.Figure{Name: "/mass_g", Formula: working.Weighed, Result: unit.Of(r.Mass.Grams(), "g", r.Basis)}
	typed := working.Of("weighed", r.Mass.Grams(), "g", working.Record{})
	typed.Source = "typed as " + t.Measure.String()
	out.Inputs = []working.Input{typed}
	switch dim := unit.DimensionOf(t.Measure.Unit); {
	case dim == unit.DimMass:
		if m, err := t.Measure.Mass(); err == nil {
			out.Inputs[0].Value = m.Grams()
		}
	case dim == unit.DimCount && r.MeanMg > 0:
		out.Formula = working.Counted
		out.Inputs = []working.Input{
			working.Of("count", t.Measure.Value, "{worms}", working.Record{}),
			meanInput(r.MeanMg, r.MeanBasis, status),
		}
	case dim == unit.DimVolume:
		if l, err := t.Measure.Volume(); err == nil && t.DensityGPerL > 0 {
			out.Formula = working.Poured
			out.Inputs = []working.Input{
				working.Of("volume", float64(l), "L", working.Record{}), working.Of("density", t.DensityGPerL, "g/L", working.Record{}),
			}
		}
	case dim == unit.DimShare:
		out.Formula = working.ByEye
		out.Inputs = []working.Input{
			working.Of("book", book.Grams(), "g", working.Record{}), working.Of("share", t.Measure.Value, "%", working.Record{}),
		}
	}
	return out.Checked(milligramInGrams)
}

// milligramInGrams is the rounding of a booked mass.
const milligramInGrams = 0.001

// meanInput is the mean mass of a worm with how it is known: the order of sources
// is that of ChooseMean.
func meanInput(mg float64, basis string, species working.Status) working.Input {
	from := map[string]struct {
		status working.Status
		source string
	}{
		WeighedSample:  {working.Recorded, "weighed sample of this hand-over"},
		LatestCensus:   {working.Recorded, "the bin's latest census with weighed samples"},
		ClassFigure:    {working.Seen, "size class: extension text, 500 adults, 1,000 mixed, 2,000 juveniles a pound"},
		SpeciesAverage: {species, "species table: adults"},
	}[basis]
	return working.Input{Name: "mean_mass", Value: mg, Unit: "mg", Status: from.status, Source: from.source}
}
