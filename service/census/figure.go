package census

import (
	"strconv"

	"lumbricary.example/service/unit"
)

// keeperBasis marks a figure that a keeper states without samples.
const keeperBasis = "keeper"

// FromFigure returns a keeper's own figure for the mass of worms in a bin, with
// the limits between which the keeper is 95 % sure. Nothing was counted.
//
// Errors: unit.RangeError unless 0 ≤ low ≤ value ≤ high ≤ unit.MaxMass.
func FromFigure(value, low, high unit.Mass) (Result, error) {
	for _, c := range []struct {
		wrong  bool
		mass   unit.Mass
		reason string
	}{
		{low < 0, low, "a mass can't be negative"},
		{high > unit.MaxMass, high, "more than 1000 tonnes"},
		{low > value, low, "a lower limit above the value of " + grams(value)},
		{high < value, high, "an upper limit below the value of " + grams(value)},
	} {
		if c.wrong {
			return Result{}, &unit.RangeError{Got: unit.Measure{Value: c.mass.Grams(), Unit: "g"}, Reason: c.reason}
		}
	}
	s := span{value.Grams(), low.Grams(), high.Grams()}
	return Result{
		Count:     unit.None(wormsUnit, NotCounted),
		MeanMass:  unit.None("g", NotWeighed),
		Mass:      s.figure("g", keeperBasis),
		Density:   unit.None(wormsUnit+"/m2", NotCounted),
		CV:        s.logSD(),
		Adults:    unit.None(wormsUnit, NotCounted),
		Juveniles: unit.None(wormsUnit, NotCounted),
		Cocoons:   unit.None(cocoonsUnit, NotCounted),
	}, nil
}

func grams(m unit.Mass) string { return strconv.FormatFloat(m.Grams(), 'g', -1, 64) + " g" }
