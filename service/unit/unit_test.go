package unit_test

import (
	"errors"
	"math"
	"testing"

	"lumbricary.example/service/unit"
)

func TestMassesComeInAnyListedUnit(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed unit.Measure
		want  unit.Mass
	}{
		{unit.Measure{Value: 1.5, Unit: "kg"}, 1_500_000},
		{unit.Measure{Value: 0.4, Unit: "mg"}, 0},
		{unit.Measure{Value: 0.5, Unit: "mg"}, 1},
		// Exact by definition: international yard and pound agreement, 1959.
		{unit.Measure{Value: 1, Unit: "[lb_av]"}, 453_592},
		{unit.Measure{Value: 16, Unit: "[oz_av]"}, 453_592},
	} {
		if got, err := tt.typed.Mass(); err != nil || got != tt.want {
			t.Errorf("%s = %d mg, %v; want %d", tt.typed, got, err, tt.want)
		}
	}
}

// The values are those of check_values.json, sections 2 and 13 (computed, exact
// units).
func TestConversionsAreExact(t *testing.T) {
	t.Parallel()
	temperature := func(f float64) float64 {
		c, err := unit.Measure{Value: f, Unit: "[degF]"}.Temperature()
		if err != nil {
			t.Error(err)
		}
		return float64(c)
	}
	area, err := unit.Measure{Value: 1, Unit: "[sft_i]"}.Area()
	if err != nil {
		t.Error(err)
	}
	gallon, err := unit.Measure{Value: 1, Unit: "[gal_us]"}.Volume()
	if err != nil {
		t.Error(err)
	}
	for _, tt := range []struct {
		name      string
		got, want float64
	}{
		{"131 °F", temperature(131), 55},
		{"104 °F", temperature(104), 40},
		{"170 °F", temperature(170), 76.6666666667},
		{"1 lb per square foot in kg/m2", 0.45359237 / float64(area), 4.88242763638305},
		{"a US gallon in litres", float64(gallon), 3.785411784},
	} {
		if math.Abs(tt.got-tt.want) > 1e-9 {
			t.Errorf("%s is %v; want %v", tt.name, tt.got, tt.want)
		}
	}
}

func TestWhatIsNoSuchQuantityIsRefused(t *testing.T) {
	t.Parallel()
	mass := func(m unit.Measure) error { _, err := m.Mass(); return err }
	volume := func(m unit.Measure) error { _, err := m.Volume(); return err }
	area := func(m unit.Measure) error { _, err := m.Area(); return err }
	temperature := func(m unit.Measure) error { _, err := m.Temperature(); return err }
	heat := func(m unit.Measure) error { _, err := m.Heat(); return err }
	count := func(m unit.Measure) error { _, err := m.Count(); return err }
	share := func(m unit.Measure) error { _, err := m.Share(); return err }
	for _, tt := range []struct {
		name  string
		of    func(unit.Measure) error
		typed unit.Measure
	}{
		{"negative mass", mass, unit.Measure{Value: -1, Unit: "g"}},
		{"mass of a mountain", mass, unit.Measure{Value: 2e6, Unit: "kg"}},
		{"mass that is no number", mass, unit.Measure{Value: math.NaN(), Unit: "g"}},
		{"infinite mass", mass, unit.Measure{Value: math.Inf(1), Unit: "g"}},
		{"negative volume", volume, unit.Measure{Value: -1, Unit: "L"}},
		{"no surface", area, unit.Measure{Value: 0, Unit: "m2"}},
		{"a kiln", heat, unit.Measure{Value: 401, Unit: "Cel"}},
		{"boiling bin", temperature, unit.Measure{Value: 212, Unit: "[degF]"}},
		{"half a worm", count, unit.Measure{Value: 0.5, Unit: "{worms}"}},
		{"more than all", share, unit.Measure{Value: 101, Unit: "%"}},
	} {
		if err := tt.of(tt.typed); !is[*unit.RangeError](err) {
			t.Errorf("%s: error %v; want a RangeError", tt.name, err)
		}
		wrong := unit.Measure{Value: 1, Unit: "furlong"}
		if err := tt.of(wrong); !is[*unit.DimensionError](err) {
			t.Errorf("%s in furlongs: error %v; want a DimensionError", tt.name, err)
		}
	}
}

func TestAWrongUnitIsToldTheRightOnes(t *testing.T) {
	t.Parallel()
	_, err := unit.Measure{Value: 1, Unit: "lb"}.Mass()
	want := `"lb" is not a unit of mass; use one of g, kg, mg, [lb_av], [oz_av]`
	if err == nil || err.Error() != want {
		t.Errorf("error %q; want %q", err, want)
	}
	_, err = unit.Measure{Value: -2, Unit: "kg"}.Mass()
	if want := "-2 kg: a mass can't be negative"; err == nil || err.Error() != want {
		t.Errorf("error %q; want %q", err, want)
	}
}

func TestEveryUnitIsFoundByItsCode(t *testing.T) {
	t.Parallel()
	dims := []unit.Dimension{unit.DimMass, unit.DimVolume, unit.DimTemperature, unit.DimArea, unit.DimCount, unit.DimShare}
	for _, d := range dims {
		codes := unit.Codes(d)
		if len(codes) == 0 {
			t.Errorf("no unit of %s", d)
		}
		for _, c := range codes {
			if unit.DimensionOf(c) != d {
				t.Errorf("%s is a unit of %s; want %s", c, unit.DimensionOf(c), d)
			}
		}
	}
	if got := unit.DimensionOf("stone"); got != unit.NoDimension {
		t.Errorf("stone is a unit of %s; want none", got)
	}
}

func TestAFigureKeepsItsFlagsToItself(t *testing.T) {
	t.Parallel()
	base := unit.Of(1, "kg", "weighed").Within(0.9, 1.1, 0.95).Flag("a")
	b, c := base.Flag("b"), base.Flag("c")
	if len(base.Flags) != 1 || b.Flags[1] != "b" || c.Flags[1] != "c" {
		t.Errorf("flags %v, %v, %v; want a, a b, a c", base.Flags, b.Flags, c.Flags)
	}
	if n := unit.None("kg", "not-weighed"); n.Known || n.Reason != "not-weighed" {
		t.Errorf("none is %+v", n)
	}
	if g := (1500 * unit.Milligram).Grams(); g != 1.5 {
		t.Errorf("1500 mg is %v g", g)
	}
	if kg := (250 * unit.Gram).Kilograms(); kg != 0.25 {
		t.Errorf("250 g is %v kg", kg)
	}
}

func is[E error](err error) bool {
	_, ok := errors.AsType[E](err)
	return ok
}
