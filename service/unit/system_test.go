package unit_test

import (
	"math"
	"testing"

	"lumbricary.example/service/unit"
)

// The factors are exact by definition: the international yard and pound
// agreement of 1959, and the US gallon of 231 cubic inches (seen).
func TestAFigureIsReadInUSCustomaryUnits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		metric float64
		unit   string
		us     float64
		want   string
	}{
		{0.45359237, "kg", 1, "[lb_av]"},
		{453.59237, "g", 16, "[oz_av]"},
		{0.45359237, "kg.d", 1, "[lb_av].d"},
		{0.45359237, "kg/m2", 0.09290304, "[lb_av]/[sft_i]"},
		{0.45359237, "kg/m2/d", 0.09290304, "[lb_av]/[sft_i]/d"},
		{10_000, "{worms}/m2", 929.0304, "{worms}/[sft_i]"},
		{0.09290304, "m2", 1, "[sft_i]"},
		{3.785411784, "L", 1, "[gal_us]"},
		{100, "Cel", 212, "[degF]"},
		{-40, "Cel", -40, "[degF]"},
	} {
		got := unit.Of(c.metric, c.unit, "computed").Within(c.metric, 2*c.metric, 0.95).In(unit.USCustomary)
		if math.Abs(got.Value-c.us) > 1e-12*math.Abs(c.us) || got.Unit != c.want || got.Low != got.Value || got.High == got.Value ||
			got.Basis != "computed" || got.Level != 0.95 {
			t.Errorf("%v %s is %+v, want %v %s", c.metric, c.unit, got, c.us, c.want)
		}
	}
}

func TestARatioOfMassesIsTheSameNumberInBothSystems(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"kg/kg", "kg/kg/d", "%", "{worms}", "{bins}"} {
		f := unit.Of(0.3, name, "computed").Within(0.2, 0.4, 0.95)
		if got := f.In(unit.USCustomary); got.Value != 0.3 || got.Low != 0.2 || got.High != 0.4 || got.Unit != name {
			t.Errorf("%s becomes %+v", name, got)
		}
	}
}

func TestAMetricFigureStaysAsItIs(t *testing.T) {
	t.Parallel()
	if got := unit.Of(2, "kg", "weighed").In(unit.Metric); got.Value != 2 || got.Unit != "kg" {
		t.Errorf("%+v", got)
	}
}

func TestAFigureThatCannotBeHadOnlyChangesItsUnit(t *testing.T) {
	t.Parallel()
	got := unit.None("Cel", "not-measured").In(unit.USCustomary)
	if got.Known || got.Value != 0 || got.Low != 0 || got.High != 0 || got.Unit != "[degF]" || got.Reason != "not-measured" {
		t.Errorf("%+v", got)
	}
}

func TestAFigureWithoutAnIntervalGetsNone(t *testing.T) {
	t.Parallel()
	if got := unit.Of(20, "Cel", "read").In(unit.USCustomary); got.Value != 68 || got.Low != 0 || got.High != 0 || got.Level != 0 {
		t.Errorf("%+v", got)
	}
}

func TestTheSystemsAreThoseTwo(t *testing.T) {
	t.Parallel()
	for s, want := range map[unit.System]bool{unit.Metric: true, unit.USCustomary: true, "": false, "imperial": false} {
		if s.Valid() != want {
			t.Errorf("%q: %v", s, s.Valid())
		}
	}
}
