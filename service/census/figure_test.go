package census_test

import (
	"errors"
	"math"
	"testing"

	"lumbricary.example/service/census"
	"lumbricary.example/service/unit"
)

func TestKeepersFigureStandsWithItsOwnLimits(t *testing.T) {
	t.Parallel()
	r, err := census.FromFigure(900*unit.Gram, 600*unit.Gram, 1200*unit.Gram)
	if err != nil {
		t.Fatal(err)
	}
	if m := r.Mass; m.Value != 900 || m.Low != 600 || m.High != 1200 || m.Level != 0.95 || m.Unit != "g" || m.Basis != "keeper" {
		t.Errorf("mass %+v", m)
	}
	near(t, "cv", r.CV, math.Log(2)/(2*1.959963984540054), 1e-12)
	expectNone(t, "count", r.Count, census.NotCounted)
	expectNone(t, "mean mass", r.MeanMass, census.NotWeighed)
	expectNone(t, "density", r.Density, census.NotCounted)
}

func TestKeepersFigureFromZeroTakesItsSpreadFromTheUpperLimit(t *testing.T) {
	t.Parallel()
	r, err := census.FromFigure(100*unit.Gram, 0, 300*unit.Gram)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "cv", r.CV, math.Log(3)/1.959963984540054, 1e-12)
}

func TestKeepersFigureOutsideItsLimitsIsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string][3]unit.Mass{
		"below the lower limit": {500, 600, 700},
		"above the upper limit": {800, 600, 700},
		"negative":              {5, -1, 7},
		"beyond the book":       {5, 1, unit.MaxMass + 1},
	} {
		_, err := census.FromFigure(c[0], c[1], c[2])
		if _, ok := errors.AsType[*unit.RangeError](err); !ok {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
}
