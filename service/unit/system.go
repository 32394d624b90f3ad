package unit

import "slices"

// System is a family of units that figures are read in.
type System string

// The systems.
const (
	Metric      System = "metric"
	USCustomary System = "us"
)

// Systems lists the systems.
func Systems() []System { return []System{Metric, USCustomary} }

// Valid reports whether s is one of the systems.
func (s System) Valid() bool { return slices.Contains(Systems(), s) }

// customary says how a value x of a metric unit reads in its US customary
// counterpart: (x · times / over) + plus. The factors are those of the table of
// units, exact by definition. A unit that isn't here reads the same in both:
// counts, shares, and ratios of a mass to a mass (kg/kg/d is lb/lb/d).
var customary = map[string]struct {
	unit        string
	times, over float64
	plus        float64
}{
	"g":          {"[oz_av]", 1, ounce, 0},
	"kg":         {"[lb_av]", 1, pound, 0},
	"kg.d":       {"[lb_av].d", 1, pound, 0},
	"kg/m2":      {"[lb_av]/[sft_i]", squareFoot, pound, 0},
	"kg/m2/d":    {"[lb_av]/[sft_i]/d", squareFoot, pound, 0},
	"{worms}/m2": {"{worms}/[sft_i]", squareFoot, 1, 0},
	"m2":         {"[sft_i]", 1, squareFoot, 0},
	"L":          {"[gal_us]", 1, gallon, 0},
	"Cel":        {"[degF]", 9, 5, 32},
}

// The units of the US in grams, kilograms, square metres and litres.
const (
	ounce      = 28.349523125
	pound      = 0.45359237
	squareFoot = 0.09290304
	gallon     = 3.785411784
)

// In returns the figure in the units of a system; one that has no counterpart
// there stays as it is. A figure that can't be had changes its unit too. Figures
// are worked out in metric units, so that Metric leaves each as it is.
func (f Figure) In(s System) Figure {
	c, ok := customary[f.Unit]
	if s != USCustomary || !ok {
		return f
	}
	f.Unit = c.unit
	for _, v := range []*float64{&f.Value, &f.Low, &f.High} {
		*v = *v*c.times/c.over + c.plus
	}
	if !f.Known {
		f.Value = 0
	}
	if f.Level == 0 {
		f.Low, f.High = 0, 0
	}
	return f
}
