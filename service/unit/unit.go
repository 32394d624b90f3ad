// Package unit holds the quantities of the domain as named types, so that a
// mass can never be passed where a count is meant, and the conversions from
// the units that people type.
//
// Units are named by their UCUM codes (Unified Code for Units of Measure,
// case-sensitive form). Conversion factors are exact by definition: the
// international yard and pound agreement of 1959 (1 lb = 0.45359237 kg,
// 1 in = 25.4 mm) and the US gallon of 231 cubic inches.
package unit

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Mass is a mass in whole milligrams.
type Mass int64

// The masses that code is written in.
const (
	Milligram Mass = 1
	Gram           = 1000 * Milligram
	Kilogram       = 1000 * Gram
)

// Grams returns m in grams.
func (m Mass) Grams() float64 { return float64(m) / float64(Gram) }

// Kilograms returns m in kilograms.
func (m Mass) Kilograms() float64 { return float64(m) / float64(Kilogram) }

// MaxMass is the largest mass the book takes in one quantity: 1000 tonnes.
const MaxMass = 1_000_000 * Kilogram

type (
	// Count is a number of worms.
	Count int64
	// Percent is a share out of 100.
	Percent float64
	// Celsius is a temperature in degrees Celsius.
	Celsius float64
	// Area is a surface in square metres.
	Area float64
	// Volume is a volume in litres.
	Volume float64
)

// Dimension says what kind of thing a unit measures.
type Dimension uint8

// The dimensions that the domain uses.
const (
	NoDimension Dimension = iota
	DimMass
	DimVolume
	DimTemperature
	DimArea
	DimCount
	DimShare
)

// String returns the word for d that messages use.
func (d Dimension) String() string {
	return [...]string{"nothing", "mass", "volume", "temperature", "area", "count", "share"}[d]
}

type code struct {
	name string
	dim  Dimension
	// factor converts to grams, litres, square metres, worms or percent.
	factor float64
}

// codes lists the units in the order messages show them.
var codes = []code{
	{"g", DimMass, 1},
	{"kg", DimMass, 1000},
	{"mg", DimMass, 0.001},
	{"[lb_av]", DimMass, 1000 * pound},
	{"[oz_av]", DimMass, ounce},
	{"L", DimVolume, 1},
	{"mL", DimVolume, 0.001},
	{"m3", DimVolume, 1000},
	{"[gal_us]", DimVolume, gallon},
	{"[qt_us]", DimVolume, 0.946352946},
	{"[cft_i]", DimVolume, 28.316846592},
	{"[cyd_i]", DimVolume, 764.554857984},
	{"Cel", DimTemperature, 1},
	{"[degF]", DimTemperature, 1},
	{"m2", DimArea, 1},
	{"cm2", DimArea, 0.0001},
	{"[sft_i]", DimArea, squareFoot},
	{"{worms}", DimCount, 1},
	{"%", DimShare, 1},
}

// DimensionOf returns what the unit with UCUM code name measures, and
// NoDimension for a code that is not listed.
func DimensionOf(name string) Dimension { return find(name).dim }

// Codes lists the UCUM codes of the given dimensions, for messages.
func Codes(dims ...Dimension) []string {
	var out []string
	for _, c := range codes {
		if slices.Contains(dims, c.dim) {
			out = append(out, c.name)
		}
	}
	return out
}

func find(name string) code {
	for _, c := range codes {
		if c.name == name {
			return c
		}
	}
	return code{}
}

// Measure is a value as somebody typed it, with the UCUM code of its unit.
type Measure struct {
	Value float64
	Unit  string
}

// String returns m as in "1.5 kg".
func (m Measure) String() string {
	return strconv.FormatFloat(m.Value, 'g', -1, 64) + " " + m.Unit
}

// DimensionError reports a unit that measures something else than was asked.
type DimensionError struct {
	Got  string      // the unit given
	Want []Dimension // what was needed
}

// Error names the units that would have been right.
func (e *DimensionError) Error() string {
	return fmt.Sprintf("%q is not a unit of %s; use one of %s", e.Got, e.Want[0], strings.Join(Codes(e.Want...), ", "))
}

// RangeError reports a value that no such quantity can have.
type RangeError struct {
	Got    Measure
	Reason string
}

// Error says the value and what is wrong with it.
func (e *RangeError) Error() string { return fmt.Sprintf("%s: %s", e.Got, e.Reason) }

// in returns m in the base unit of dim. Errors: DimensionError, and RangeError
// for a value that is not a finite number.
func (m Measure) in(dim Dimension) (float64, error) {
	c := find(m.Unit)
	if c.dim != dim {
		return 0, &DimensionError{m.Unit, []Dimension{dim}}
	}
	if math.IsNaN(m.Value) || math.IsInf(m.Value, 0) {
		return 0, &RangeError{m, "not a number"}
	}
	return m.Value * c.factor, nil
}

// Mass returns m in whole milligrams, rounded half away from zero. Errors:
// DimensionError for a unit that is no mass; RangeError when negative or above
// MaxMass.
func (m Measure) Mass() (Mass, error) {
	g, err := m.in(DimMass)
	if err != nil {
		return 0, err
	}
	return MassOfGrams(g, m)
}

// MassOfGrams returns g grams in whole milligrams; typed is what to name in
// the error. Errors: RangeError when negative or above MaxMass.
func MassOfGrams(g float64, typed Measure) (Mass, error) {
	switch {
	case g < 0:
		return 0, &RangeError{typed, "a mass can't be negative"}
	case g > MaxMass.Grams():
		return 0, &RangeError{typed, "more than 1000 tonnes"}
	}
	return Mass(math.Round(g * float64(Gram))), nil
}

// Volume returns m in litres. Errors: DimensionError; RangeError when negative.
func (m Measure) Volume() (Volume, error) {
	l, err := m.in(DimVolume)
	if err == nil && l < 0 {
		err = &RangeError{m, "a volume can't be negative"}
	}
	return Volume(l), err
}

// Area returns m in square metres. Errors: DimensionError; RangeError when
// not positive.
func (m Measure) Area() (Area, error) {
	a, err := m.in(DimArea)
	if err == nil && a <= 0 {
		err = &RangeError{m, "a surface must be positive"}
	}
	return Area(a), err
}

// Temperature returns m in degrees Celsius. Errors: DimensionError; RangeError
// outside −40 to 90 °C, which no worm bin has.
func (m Measure) Temperature() (Celsius, error) { return m.celsius(90) }

// Heat returns the temperature of a treatment in degrees Celsius. Errors:
// DimensionError; RangeError outside −40 to 400 °C.
func (m Measure) Heat() (Celsius, error) { return m.celsius(400) }

func (m Measure) celsius(most float64) (Celsius, error) {
	v, err := m.in(DimTemperature)
	if err != nil {
		return 0, err
	}
	if m.Unit == "[degF]" {
		v = (v - 32) * 5 / 9
	}
	if v < -40 || v > most {
		return 0, &RangeError{m, fmt.Sprintf("outside -40 to %v °C", most)}
	}
	return Celsius(v), nil
}

// Count returns m as a whole number of worms. Errors: DimensionError;
// RangeError when negative, fractional or above 10^9.
func (m Measure) Count() (Count, error) {
	v, err := m.in(DimCount)
	if err == nil && (v < 0 || v > 1e9 || v != math.Trunc(v)) {
		err = &RangeError{m, "a count is a whole number from 0 to 1000000000"}
	}
	return Count(v), err
}

// Share returns m as a percentage. Errors: DimensionError; RangeError outside
// 0 to 100.
func (m Measure) Share() (Percent, error) {
	v, err := m.in(DimShare)
	if err == nil && (v < 0 || v > 100) {
		err = &RangeError{m, "a share is 0 to 100 %"}
	}
	return Percent(v), err
}
