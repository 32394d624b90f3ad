package season

import "lumbricary.example/service/unit"

// Emission factors of food waste, in metric tons of CO2 equivalent per short
// ton (EPA, Emission Factors for Greenhouse Gas Inventories, Table 9). Status:
// seen-transcription.
const (
	landfilledPerShortTon = 0.68
	compostedPerShortTon  = 0.11
)

// kilogramsPerShortTon is 2000 lb of 0.45359237 kg, exact.
const kilogramsPerShortTon = 907.18474

// Avoided returns the emissions avoided by composting food waste rather than
// landfilling it, in kg of CO2 equivalent:
//
//	E = F / 907.18474 · (0.68 − 0.11) · 1000
//
// with F the food waste fed in kg wet, without bedding. Worms are taken to emit
// what other composting does. Basis says both.
func Avoided(fed unit.Mass) unit.Figure {
	const basis = "EPA GHG Emission Factors Hub, Table 9, food waste, edition not recorded: " +
		"landfilled 0.68, composted 0.11 t CO2e per short ton; assumes that worms count as composting"
	kg := fed.Kilograms() / kilogramsPerShortTon * (landfilledPerShortTon - compostedPerShortTon) * 1000
	return unit.Of(kg, "kg", basis)
}
