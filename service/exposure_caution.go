package service

import (
	"slices"
	"time"

	"lumbricary.example/service/exposure"
)

// TraceCaution is what a reader of a trace is to keep in mind.
type TraceCaution struct{ Code, Text string }

// cautions are those that apply to a trace.
func (x *exposing) cautions(all []exposure.Reached, back bool) (out []TraceCaution) {
	for _, c := range []struct {
		code, text string
		applies    func(exposure.Reached) bool
	}{
		{
			"possible", "A trace tells what may have been carried along. It is no finding: look at the places, the nearest first.",
			func(exposure.Reached) bool { return true },
		}, {
			"left-club", "Some of it may have left the club: tell those who have it. Live worms, castings and bedding may need a permit to cross a border, " +
				"and non-native worms are not to be released or moved against local law.",
			func(r exposure.Reached) bool { return !back && r.Kind == exposure.Outside },
		}, {
			"clearing", "A clearing says what was done. It is no plant-health certificate.",
			func(r exposure.Reached) bool { return !r.Cleared.IsZero() },
		}, {
			"animal-origin", "Feedstock of animal origin needs treatment under local rules; none is recorded of some of what came in.",
			x.untreated,
		}, {
			"receipt-unnamed", "Some feedings of these places name no receipt: where that feed came from isn't traced.",
			func(r exposure.Reached) bool { return back && x.fedUnnamed(r) },
		}, {
			"same-day", "Some records are told to the day. Those of one day stand in the order in which they were recorded.",
			func(r exposure.Reached) bool { return x.toTheDay[r.Record] },
		},
	} {
		if slices.ContainsFunc(all, c.applies) {
			out = append(out, TraceCaution{c.code, c.text})
		}
	}
	return out
}

// untreated tells whether a place is feed of animal origin of which no treatment
// is recorded.
func (x *exposing) untreated(r exposure.Reached) bool {
	came, is := x.receipts[ReceiptID(r.Ref)]
	animal := x.names.Materials[came.Material].AnimalOrigin
	if came.Animal != nil {
		animal = *came.Animal
	}
	return is && animal && came.Heat.What == ""
}

// fedUnnamed tells whether a bin was fed what names no receipt before something
// left it for the next place.
func (x *exposing) fedUnnamed(r exposure.Reached) bool {
	return slices.ContainsFunc(x.unnamed[BinID(r.Ref)], func(at time.Time) bool { return !at.After(r.At) })
}
