package yields

import (
	"math"

	"lumbricary.example/service/unit"
)

// Where a moisture came from, the surest first.
const (
	Measured = "measured" // dried and weighed, or a laboratory's figure
	Material = "material" // the figure the club keeps for its material
	Default  = "default"  // a published or customary figure, labelled as such
)

// Moisture is the share of water in a wet mass.
type Moisture struct {
	Known   bool
	Percent unit.Percent // of wet mass, 0 to 100
	Basis   string       // Measured, Material or Default
}

// Dry returns the dry matter in a wet mass, to the milligram, and whether it
// can be told.
func (m Moisture) Dry(wet unit.Mass) (unit.Mass, bool) {
	if !m.Known {
		return 0, false
	}
	return DryMass(wet, m.Percent), true
}

// DryMass returns the dry matter D = W(100 − M)/100 in a wet mass W of
// moisture M percent of wet mass, rounded to the milligram. W and D in the
// same unit; M from 0 to 100.
func DryMass(wet unit.Mass, moisture unit.Percent) unit.Mass {
	return unit.Mass(math.Round(float64(wet) * float64(100-moisture) / 100))
}

// AtMoisture returns in kg what a wet mass W of moisture M weighs once it has
// been dried or wetted to moisture N, its dry matter being conserved:
// W(100 − M)/(100 − N). M from 0 to 100, N from 0 to less than 100; there is no
// such mass ("moisture-out-of-range") otherwise.
func AtMoisture(wet unit.Mass, from, to unit.Percent) unit.Figure {
	if !(from >= 0 && from <= 100 && to >= 0 && to < 100) {
		return unit.None("kg", "moisture-out-of-range")
	}
	kg := wet.Kilograms() * float64(100-from) / float64(100-to)
	return unit.Of(kg, "kg", "computed")
}

// SolidsLoss is the working value for the share of the feed's solids that
// leave as carbon dioxide while it turns to castings. About 50 ± 10 % has been
// reported; a bin of slow materials loses less.
const SolidsLoss unit.Percent = 50

// ExpectedCastings returns in kg the wet castings to expect from a wet mass W
// of feed of moisture Mf when L percent of its solids are lost and the castings
// have moisture Mc: W(100 − Mf)(100 − L) / (100 (100 − Mc)). Mf and L from 0 to
// 100, Mc from 0 to less than 100; otherwise there is no such mass
// ("moisture-out-of-range", "loss-out-of-range").
func ExpectedCastings(feed unit.Mass, moisture, loss, castingsMoisture unit.Percent) unit.Figure {
	if !(loss >= 0 && loss <= 100) {
		return unit.None("kg", "loss-out-of-range")
	}
	f := AtMoisture(feed, moisture, castingsMoisture)
	if f.Known {
		f.Value *= float64(100-loss) / 100
	}
	return f
}
