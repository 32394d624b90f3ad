package lineage

import (
	"fmt"

	"lumbricary.example/service/unit"
)

// MixError reports parts that can't be mixed.
type MixError struct {
	Index int       // of the part; -1: no part has any mass
	Mass  unit.Mass // of the part
	Sum   int64     // of its shares, in parts of One, or the one share that is none
}

// Error says which part is wrong.
func (e *MixError) Error() string {
	if e.Index < 0 {
		return "nothing to mix"
	}
	return fmt.Sprintf("part %d: a mass of %d mg with shares of %d parts can't be mixed", e.Index, e.Mass, e.Sum)
}

// NoLotError reports stock in a bin that never came in: a book without a lot.
type NoLotError struct {
	Entry string
	Place Place
	Book  unit.Mass
}

// Error names the place.
func (e *NoLotError) Error() string {
	return fmt.Sprintf("entry %s: %d mg stand in %s without a lot", e.Entry, e.Book, e.Place)
}

// ReversalError reports a reversal that can't be derived as it stands: one put
// on top of what is there, or one of an entry that is missing.
type ReversalError struct{ Entry, Reverses string }

// Error names the reversal and what it reverses.
func (e *ReversalError) Error() string {
	return fmt.Sprintf("reversal %s of entry %s needs the lots derived from all entries", e.Entry, e.Reverses)
}

// MissingLotError reports a lot that is named as a parent and can't be found.
type MissingLotError struct{ Lot string }

// Error names the lot.
func (e *MissingLotError) Error() string { return fmt.Sprintf("lot %s is missing", e.Lot) }
