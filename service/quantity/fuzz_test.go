package quantity_test

import (
	"math"
	"testing"

	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

func FuzzAQuantityIsAMassInRangeOrRefused(f *testing.F) {
	for _, seed := range []struct {
		value float64
		unit  string
		book  int64
	}{
		{1.5, "kg", 0},
		{0, "g", 1},
		{-1, "g", 1},
		{1e308, "[lb_av]", 5},
		{250, "{worms}", 0},
		{0.5, "{worms}", 0},
		{101, "%", 7},
		{33, "%", 1 << 50},
		{math.Inf(1), "kg", 1},
		{math.NaN(), "%", 1},
		{5e-324, "L", 1},
		{20, "Cel", 1},
		{1, "parsec", 1},
	} {
		f.Add(seed.value, seed.unit, seed.book)
	}
	mean := func(string) quantity.MeanMass {
		return quantity.MeanMass{Mg: 250, CV: 0.3, Basis: quantity.WeighedSample}
	}
	f.Fuzz(func(t *testing.T, value float64, code string, book int64) {
		if book < 0 || unit.Mass(book) > unit.MaxMass {
			return // no book is short or heavier than a load of worms may be
		}
		typed := quantity.Typed{Measure: unit.Measure{Value: value, Unit: code}, Species: "eisenia-fetida"}
		resolved, err := quantity.Resolve(typed, []quantity.Holding{{Species: "eisenia-fetida", Book: unit.Mass(book)}}, mean)
		if err != nil {
			return
		}
		for _, r := range resolved {
			if r.Mass < 0 || r.Mass > unit.MaxMass || math.IsNaN(r.CV) || r.CV < 0 || math.IsNaN(r.MeanMg) {
				t.Errorf("%v %q of %d is %+v", value, code, book, r)
			}
		}
	})
}
