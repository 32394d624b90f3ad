package quantity

import (
	"fmt"
	"math"
	"strings"

	"lumbricary.example/service/unit"
)

// NoKnownStock reports a share of a book that is 0.
//
//nolint:errname // named by the code that the API answers, no-known-stock
type NoKnownStock struct{ Species string } // "" for any species

// Error says of what there is none.
func (e *NoKnownStock) Error() string {
	if e.Species == "" {
		return "a share needs stock in the book, and there is none"
	}
	return "a share needs stock in the book, and there is no " + e.Species
}

// SpeciesNeeded reports a quantity that could be of several species, or of
// none that is known.
//
//nolint:errname // named by the code that the API answers, species-needed
type SpeciesNeeded struct{ Present []string } // with stock in the book

// Error names the species that it could be.
func (e *SpeciesNeeded) Error() string {
	if len(e.Present) == 0 {
		return "name the species: no stock is known"
	}
	return "name the species: one of " + strings.Join(e.Present, ", ")
}

// DensityNeeded reports a volume without the mass of worms in a litre of it.
//
//nolint:errname // named by the code that the API answers, density-needed
type DensityNeeded struct{ Volume unit.Measure }

// Error says what is missing.
func (e *DensityNeeded) Error() string {
	return fmt.Sprintf("%s: say how many grams of worms a litre holds", e.Volume)
}

// UnknownSizeClass reports a size class that is not in the list.
//
//nolint:errname // named by the code that the API answers, unknown-size-class
type UnknownSizeClass struct{ Got SizeClass }

// Error names the classes that exist.
func (e *UnknownSizeClass) Error() string {
	return fmt.Sprintf("%q is not a size class; use one of %s, %s, %s, %s, %s",
		e.Got, BedRun, Breeders, BaitSize, Juveniles, Unsorted)
}

// finite refuses what is negative or no number. Errors: unit.RangeError.
func finite(m unit.Measure) error {
	switch {
	case math.IsNaN(m.Value) || math.IsInf(m.Value, 0):
		return &unit.RangeError{Got: m, Reason: "not a number"}
	case m.Value < 0:
		return &unit.RangeError{Got: m, Reason: "can't be negative"}
	}
	return nil
}
