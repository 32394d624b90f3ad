package api

import "lumbricary.example/service/unit"

// Quantity is a number as somebody typed it, with the UCUM code of its unit.
type Quantity struct {
	Value float64 `json:"value" example:"1.5" validate:"required"`
	Unit  string  `json:"unit" example:"kg" validate:"required"` // UCUM code, as kg, [lb_av], L, {worms} or %
}

// measure returns the quantity as the use-cases take it.
func (q Quantity) measure() unit.Measure { return unit.Measure(q) }

// quantityOf shows a quantity as it was typed.
func quantityOf(m unit.Measure) Quantity { return Quantity(m) }
