package rates

import "lumbricary.example/service/unit"

// Published and customary stock densities, in kg of worms per m² of surface.
// They differ threefold; flow-through beds are run at up to 9.8.
const (
	// BestConversion is where conversion of feed was best; above it falls
	// (Ndegwa, Thompson & Das 2000, Bioresource Technology 71, 5–12).
	BestConversion = 1.60
	// CustomaryDensity is a pound of worms per square foot, 4.88 kg/m².
	CustomaryDensity = 0.45359237 / 0.09290304
)

// The flags of a density.
const (
	FlagConversionFalls = "conversion-falls"       // above BestConversion
	FlagOverCustomary   = "over-customary-density" // above CustomaryDensity
)

// Density returns the stock density B/A in kg/m², with B the live worms in kg
// and A the surface in m². Without a surface there is none ("no-surface").
func Density(stock unit.Mass, surface unit.Area) unit.Figure {
	const perArea = "kg/m2"
	if !(surface > 0) {
		return unit.None(perArea, "no-surface")
	}
	f := unit.Of(stock.Kilograms()/float64(surface), perArea, "computed")
	if f.Value > BestConversion {
		f = f.Flag(FlagConversionFalls)
	}
	if f.Value > CustomaryDensity {
		f = f.Flag(FlagOverCustomary)
	}
	return f
}
