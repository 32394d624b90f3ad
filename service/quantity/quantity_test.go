package quantity_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

const (
	red  = "eisenia-fetida"
	blue = "perionyx-excavatus"
)

var (
	onlyRed = []quantity.Holding{{Species: red, Book: 1000 * unit.Gram}, {Species: blue}}
	both    = []quantity.Holding{{Species: red, Book: 1000 * unit.Gram}, {Species: blue, Book: 333}}
)

func typed(value float64, unitCode string) quantity.Typed {
	return quantity.Typed{Measure: unit.Measure{Value: value, Unit: unitCode}}
}

// adults is on record for every species: 400 mg.
func adults(string) quantity.MeanMass {
	return quantity.MeanMass{Mg: 400, Basis: quantity.SpeciesAverage}
}

func resolve(t *testing.T, q quantity.Typed, book []quantity.Holding) quantity.Resolved {
	t.Helper()
	got, err := quantity.Resolve(q, book, adults)
	if err != nil || len(got) != 1 {
		t.Fatalf("%s: %v, %v; want one", q.Measure, got, err)
	}
	return got[0]
}

func TestAMassIsTakenAsItIs(t *testing.T) {
	t.Parallel()
	got := resolve(t, typed(1, "[lb_av]"), onlyRed)
	if want := (quantity.Resolved{Species: red, Mass: 453592, Basis: quantity.Weighed, CV: 0.02}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestACountIsMultipliedByTheMeanMassOfAWorm(t *testing.T) {
	t.Parallel()
	got := resolve(t, typed(500, "{worms}"), onlyRed)
	want := quantity.Resolved{
		Species: red, Mass: 200 * unit.Gram, Basis: quantity.Counted, Count: 500,
		CV: 0.35, MeanMg: 400, MeanBasis: quantity.SpeciesAverage,
	}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestAVolumeIsMultipliedByItsDensity(t *testing.T) {
	t.Parallel()
	q := typed(500, "mL")
	q.DensityGPerL = 150
	got := resolve(t, q, onlyRed)
	if want := (quantity.Resolved{Species: red, Mass: 75 * unit.Gram, Basis: quantity.Poured, CV: 0.35}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestAShareAppliesToEverySpeciesWithStock(t *testing.T) {
	t.Parallel()
	got, err := quantity.Resolve(typed(25, "%"), both, adults)
	want := []quantity.Resolved{
		{Species: red, Mass: 250 * unit.Gram, Basis: quantity.ByEye, CV: 0.375},
		{Species: blue, Mass: 83, Basis: quantity.ByEye, CV: 0.375},
	}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("got %+v, %v; want %+v", got, err, want)
	}
}

func TestAShareOfANamedSpeciesLeavesTheOthers(t *testing.T) {
	t.Parallel()
	q := typed(50, "%")
	q.Species = blue
	if got := resolve(t, q, both); got.Species != blue || got.Mass != 167 {
		t.Errorf("got %+v, want half of 333 mg, rounded", got)
	}
}

func TestAHundredPercentTakesAllExactly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		book := unit.Mass(rapid.Int64Range(1, int64(unit.MaxMass)).Draw(t, "book"))
		got, err := quantity.Resolve(typed(100, "%"), []quantity.Holding{{Species: red, Book: book}}, adults)
		if err != nil || len(got) != 1 || got[0].Mass != book || got[0].CV != 0 {
			t.Fatalf("got %+v, %v; want %d", got, err, book)
		}
	})
}

func TestAShareNeverTakesMoreThanTheBook(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		book := unit.Mass(rapid.Int64Range(1, int64(unit.MaxMass)).Draw(t, "book"))
		share := rapid.Float64Range(0, 100).Draw(t, "share")
		got, err := quantity.Resolve(typed(share, "%"), []quantity.Holding{{Species: red, Book: book}}, adults)
		if err != nil || got[0].Mass < 0 || got[0].Mass > book {
			t.Fatalf("got %+v, %v", got, err)
		}
	})
}

func TestAShareOfNothingIsRefused(t *testing.T) {
	t.Parallel()
	named := typed(50, "%")
	named.Species = blue
	for name, tt := range map[string]struct {
		q    quantity.Typed
		book []quantity.Holding
		want string
	}{
		"no species known":     {typed(50, "%"), nil, ""},
		"every book at 0":      {typed(50, "%"), []quantity.Holding{{Species: red}}, ""},
		"the named one at 0":   {named, onlyRed, blue},
		"the named one absent": {named, onlyRed[:1], blue},
	} {
		_, err := quantity.Resolve(tt.q, tt.book, adults)
		if got, ok := errors.AsType[*quantity.NoKnownStock](err); !ok || got.Species != tt.want {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestTheSpeciesMustBeNamedUnlessThereIsOnlyOne(t *testing.T) {
	t.Parallel()
	for _, q := range []quantity.Typed{typed(50, "g"), typed(50, "{worms}"), typed(1, "L")} {
		q.DensityGPerL = 100
		for name, tt := range map[string]struct {
			book []quantity.Holding
			want []string
		}{"several": {both, []string{red, blue}}, "none": {nil, nil}} {
			_, err := quantity.Resolve(q, tt.book, adults)
			if got, ok := errors.AsType[*quantity.SpeciesNeeded](err); !ok || !slices.Equal(got.Present, tt.want) {
				t.Errorf("%s of %s: %v", q.Measure, name, err)
			}
		}
		q.Species = blue
		if got := resolve(t, q, nil); got.Species != blue {
			t.Errorf("%s of a named species: %+v", q.Measure, got)
		}
	}
}

func TestTheMeanMassIsTheBestThatIsKnown(t *testing.T) {
	t.Parallel()
	sample := quantity.MeanMass{Mg: 1, CV: 0.02, Basis: quantity.WeighedSample}
	census := quantity.MeanMass{Mg: 2, CV: 0.1, Basis: quantity.LatestCensus}
	class := quantity.MeanMass{Mg: 3, CV: 0.35, Basis: quantity.ClassFigure}
	species := quantity.MeanMass{Mg: 4, CV: 0.35, Basis: quantity.SpeciesAverage}
	var none quantity.MeanMass
	bedRun := quantity.MeanMass{Mg: 453.59237, CV: 0.35, Basis: quantity.ClassFigure}
	for _, tt := range []struct{ sample, census, class, species, want quantity.MeanMass }{
		{sample, census, class, species, sample},
		{none, census, class, species, census},
		{none, none, class, species, class},
		{none, none, none, species, species},
		{none, none, none, none, bedRun},
	} {
		if got := quantity.ChooseMean(tt.sample, tt.census, tt.class, tt.species); got != tt.want {
			t.Errorf("got %+v, want %+v", got, tt.want)
		}
	}
}

func TestACountUsesTheSampleThenTheCensusThenTheClassThenTheSpecies(t *testing.T) {
	t.Parallel()
	census := func(string) quantity.MeanMass {
		return quantity.MeanMass{Mg: 300, CV: 0.12, Basis: quantity.LatestCensus}
	}
	unknown := func(string) quantity.MeanMass { return quantity.MeanMass{} }
	for _, tt := range []struct {
		name   string
		sample float64
		class  quantity.SizeClass
		mean   func(string) quantity.MeanMass
		want   unit.Mass
		cv     float64
		basis  string
	}{
		{"sample over census and class", 250, quantity.Breeders, census, 25000, 0.02, quantity.WeighedSample},
		{"census over class", 0, quantity.Breeders, census, 30000, 0.12, quantity.LatestCensus},
		{"class over species", 0, quantity.Breeders, adults, 90718, 0.35, quantity.ClassFigure},
		{"unsorted counts as bed-run", 0, quantity.Unsorted, adults, 45359, 0.35, quantity.ClassFigure},
		{"species where no class is told", 0, "", adults, 40000, 0.35, quantity.SpeciesAverage},
		{"bed-run where nothing is known", 0, "", unknown, 45359, 0.35, quantity.ClassFigure},
	} {
		q := typed(100, "{worms}")
		q.MeanMg, q.SizeClass = tt.sample, tt.class
		got, err := quantity.Resolve(q, onlyRed, tt.mean)
		if err != nil || got[0].Mass != tt.want || got[0].CV != tt.cv || got[0].MeanBasis != tt.basis {
			t.Errorf("%s: %+v, %v", tt.name, got, err)
		}
	}
}

// Extension text (seen): 500 adults, 1,000 mixed, 2,000 juveniles a pound of
// 0.45359237 kg (exact).
func TestAPoundHoldsAsManyWormsAsExtensionTextsSay(t *testing.T) {
	t.Parallel()
	for class, want := range map[quantity.SizeClass]float64{
		quantity.Breeders:  907.18474,
		quantity.BaitSize:  907.18474,
		quantity.BedRun:    453.59237,
		quantity.Unsorted:  453.59237,
		quantity.Juveniles: 226.796185,
		"":                 0,
	} {
		got, err := class.MeanMass()
		if err != nil || math.Abs(got.Mg-want) > 1e-9 {
			t.Errorf("%q: %v mg, %v; want %v", class, got.Mg, err, want)
		}
	}
}

func TestABookedMassIsNotEvaluatedAgain(t *testing.T) {
	t.Parallel()
	booked := 217 * unit.Gram
	count, share, named := typed(500, "{worms}"), typed(40, "%"), typed(40, "%")
	count.Booked, share.Booked, named.Booked = &booked, &booked, &booked
	named.Species = blue
	if got := resolve(t, count, onlyRed); got.Mass != booked || got.Count != 500 || got.MeanMg != 434 {
		t.Errorf("a count: %+v", got)
	}
	if got := resolve(t, share, onlyRed); got.Mass != booked || got.Basis != quantity.ByEye || got.CV != 0.3 {
		t.Errorf("a share: %+v", got)
	}
	if got := resolve(t, named, nil); got.Mass != booked || got.Species != blue {
		t.Errorf("a share of what is no longer there: %+v", got)
	}
	if _, err := quantity.Resolve(share, both, adults); err == nil {
		t.Error("one booked mass for two species passed")
	}
	for _, m := range []unit.Mass{-1, unit.MaxMass + 1} {
		count.Booked = &m
		_, err := quantity.Resolve(count, onlyRed, adults)
		if _, ok := errors.AsType[*unit.RangeError](err); !ok {
			t.Errorf("booked as %d: %v", m, err)
		}
	}
}

func TestQuantitiesThatCannotBeAreRefused(t *testing.T) {
	t.Parallel()
	booked := 5 * unit.Gram
	with := func(q quantity.Typed, change func(*quantity.Typed)) quantity.Typed {
		change(&q)
		return q
	}
	density := func(d float64) func(*quantity.Typed) { return func(q *quantity.Typed) { q.DensityGPerL = d } }
	sample := func(m float64) func(*quantity.Typed) { return func(q *quantity.Typed) { q.MeanMg = m } }
	for name, q := range map[string]quantity.Typed{
		"negative mass":        typed(-1, "g"),
		"half a worm":          typed(0.5, "{worms}"),
		"more than all":        typed(101, "%"),
		"more than all, again": with(typed(101, "%"), func(q *quantity.Typed) { q.Booked = &booked }),
		"negative volume":      typed(-1, "L"),
		"negative density":     with(typed(1, "L"), density(-1)),
		"endless density":      with(typed(1, "L"), density(math.Inf(1))),
		"too much by volume":   with(typed(1e9, "L"), density(1e9)),
		"negative sample":      with(typed(1, "{worms}"), sample(-1)),
		"no number":            with(typed(1, "{worms}"), sample(math.NaN())),
		"too much by count":    with(typed(1e9, "{worms}"), sample(1e9)),
	} {
		_, err := quantity.Resolve(q, onlyRed, adults)
		if _, ok := errors.AsType[*unit.RangeError](err); !ok {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestWhatIsNoQuantityOfStockIsRefused(t *testing.T) {
	t.Parallel()
	for _, code := range []string{"Cel", "m2", "handful", ""} {
		_, err := quantity.Resolve(typed(1, code), onlyRed, adults)
		if got, ok := errors.AsType[*unit.DimensionError](err); !ok || got.Got != code || len(got.Want) != 4 {
			t.Errorf("%q: %v", code, err)
		}
	}
}

func TestAVolumeNeedsADensity(t *testing.T) {
	t.Parallel()
	_, err := quantity.Resolve(typed(2, "L"), onlyRed, adults)
	if got, ok := errors.AsType[*quantity.DensityNeeded](err); !ok || got.Volume.Value != 2 {
		t.Errorf("got %v", err)
	}
}

func TestASizeClassThatDoesNotExistIsRefused(t *testing.T) {
	t.Parallel()
	q := typed(2, "{worms}")
	q.SizeClass = "giants"
	_, err := quantity.Resolve(q, onlyRed, adults)
	if got, ok := errors.AsType[*quantity.UnknownSizeClass](err); !ok || got.Got != "giants" {
		t.Errorf("got %v", err)
	}
}

func TestAShareByEyeIsSurerTheMoreItTakes(t *testing.T) {
	t.Parallel()
	for p, want := range map[float64]float64{0: 0.5, 0.5: 0.25, 1: 0} {
		if got := quantity.ByEyeCV(p); got != want {
			t.Errorf("%v: %v, want %v", p, got, want)
		}
	}
}

func TestErrorsSayWhatToTypeInstead(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		err  error
		want string
	}{
		{&quantity.NoKnownStock{}, "a share needs stock in the book, and there is none"},
		{&quantity.NoKnownStock{Species: red}, "a share needs stock in the book, and there is no eisenia-fetida"},
		{&quantity.SpeciesNeeded{}, "name the species: no stock is known"},
		{&quantity.SpeciesNeeded{Present: []string{red, blue}}, "name the species: one of eisenia-fetida, perionyx-excavatus"},
		{&quantity.DensityNeeded{Volume: unit.Measure{Value: 2, Unit: "L"}}, "2 L: say how many grams of worms a litre holds"},
		{&quantity.UnknownSizeClass{Got: "giants"}, `"giants" is not a size class; use one of bed-run, breeders, bait-size, juveniles, unsorted`},
	} {
		if tt.err.Error() != tt.want {
			t.Errorf("\n got %s\nwant %s", tt.err, tt.want)
		}
	}
}

func ExampleResolve() {
	book := []quantity.Holding{{Species: "eisenia-fetida", Book: 1200 * unit.Gram}}
	third := quantity.Typed{Measure: unit.Measure{Value: 33, Unit: "%"}}
	got, err := quantity.Resolve(third, book, func(string) quantity.MeanMass { return quantity.MeanMass{} })
	fmt.Println(got[0].Mass.Grams(), got[0].Basis, err)
	// Output: 396 by-eye <nil>
}
