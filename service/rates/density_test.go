package rates_test

import (
	"math"
	"testing"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
)

func TestDensityIsStockPerSurface(t *testing.T) {
	t.Parallel()
	const squareCentimetre = 0.0001
	// Neuhauser, Hartenstein & Kaplan 1980: 6 g on 78 cm² (seen, and computed).
	near(t, "carrying capacity on horse manure", rates.Density(6*unit.Gram, 78*squareCentimetre), 0.7692307692, 1e-9)
	near(t, "two kilograms on half a square metre", rates.Density(2*kg, 0.5), 4, 1e-12)
}

// Ndegwa, Thompson & Das 2000 print 0.33 lb/ft² for 1.60 kg/m²: seen, and computed.
func TestTheBestDensityInPoundsPerSquareFoot(t *testing.T) {
	t.Parallel()
	if got := rates.BestConversion / rates.CustomaryDensity; math.Abs(got-0.3277058298) > 1e-9 {
		t.Errorf("%v lb/ft², want 0.3277058298", got)
	}
	// A pound a square foot by exact units: computed.
	if math.Abs(rates.CustomaryDensity-4.88242763638305) > 1e-9 {
		t.Errorf("a pound a square foot is %v kg/m²", rates.CustomaryDensity)
	}
}

func TestADenseBinIsFlagged(t *testing.T) {
	t.Parallel()
	flags(t, "1.60", rates.Density(1600*unit.Gram, 1))
	flags(t, "1.61", rates.Density(1610*unit.Gram, 1), rates.FlagConversionFalls)
	flags(t, "a pound a square foot", rates.Density(453592, 0.09290304), rates.FlagConversionFalls)
	flags(t, "4.89", rates.Density(4890*unit.Gram, 1), rates.FlagConversionFalls, rates.FlagOverCustomary)
}

func TestWithoutASurfaceThereIsNoDensity(t *testing.T) {
	t.Parallel()
	none(t, "density", rates.Density(kg, 0), "no-surface")
	none(t, "density", rates.Density(kg, unit.Area(math.NaN())), "no-surface")
}
