// Package working writes down how a figure came about, so that a keeper can do
// it again on paper: the formula with its source, what went into it with its
// records, and the sum with the numbers put in.
//
// The packages that compute fill a Figure from the very values that they
// computed with. The formula beside it is text in a language of sums that
// Evaluate reads, so that whoever has a Figure can work its result out anew.
package working

import (
	"time"

	"lumbricary.example/service/unit"
)

// Status says how sure a formula or a value is.
type Status string

// The statuses, as the reference tables have them, and that of what the club wrote
// down itself.
const (
	Recorded Status = "recorded" // the club's own record
	Seen     Status = "seen"     // read in the source
	Copied   Status = "seen-transcription"
	Computed Status = "computed" // follows from definitions, or from other figures
	Practice Status = "practice" // custom, no source
	Memory   Status = "memory"   // not looked up again
)

// Formula is one formula of the catalogue.
type Formula struct {
	Text   string // in the names of its inputs, as Evaluate reads it
	Low    string // of the limits, where the figure has an interval; value stands for the figure
	High   string
	Source string
	Status Status
	Note   string // what the names don't say
}

// Record is a record of the club's book. The zero Record is none.
type Record struct {
	Kind string // as "feeding"
	ID   string
	At   time.Time
}

// Input is a number that goes into a formula.
type Input struct {
	Name   string // as the formula calls it
	Value  float64
	Unit   string // UCUM code
	Status Status
	Source string // of a value from elsewhere; or how the club knows it
	Record Record // that it was read from
	Figure string // that it was worked out as
}

// Row is what one record adds to a sum; or several records, as Folded puts them
// together.
type Row struct {
	Record Record
	Group  string // what rows are put together by, as "feeding"
	Inputs []Input
	Count  int     // how many rows these are, when put together
	Sum    float64 // what they add, when put together
	Part   int     // to which sum of the formula, from 0, when put together
}

// Figure is a figure with how it came about.
type Figure struct {
	Name    string // of the member that shows it, as a JSON pointer; or in words, of a step on the way
	Formula ID
	Inputs  []Input
	Rows    []Row // what the formula's sums run over
	Result  unit.Figure
	Caveat  string // code of why the result differs from what the inputs give now
}

// Of returns an input that is on record.
func Of(name string, value float64, code string, r Record) Input {
	return Input{Name: name, Value: value, Unit: code, Status: Recorded, Record: r}
}

// From returns an input that was worked out as another figure.
func From(name string, f Figure) Input {
	return Input{Name: name, Value: f.Result.Value, Unit: f.Result.Unit, Status: Computed, Figure: f.Name}
}

// Given returns an input from elsewhere: a constant or a customary value.
func Given(name string, value float64, code string, s Status, source string) Input {
	return Input{Name: name, Value: value, Unit: code, Status: s, Source: source}
}

// Step returns a figure on the way to others, which the answer doesn't show.
func Step(name string, f ID, value float64, code string) Figure {
	return Figure{Name: name, Formula: f, Result: unit.Of(value, code, "")}
}

// Under returns the figures with names that are pointers moved below at: the
// part of an answer that they are of.
func Under(at string, figures []Figure) []Figure {
	out := make([]Figure, 0, len(figures))
	for _, f := range figures {
		f.Name = at + f.Name
		f.Inputs = moved(at, f.Inputs)
		rows := make([]Row, len(f.Rows))
		for i, r := range f.Rows {
			r.Inputs = moved(at, r.Inputs)
			rows[i] = r
		}
		f.Rows = rows
		out = append(out, f)
	}
	return out
}

func moved(at string, inputs []Input) []Input {
	out := make([]Input, len(inputs))
	for i, in := range inputs {
		if in.Figure != "" {
			in.Figure = at + in.Figure
		}
		out[i] = in
	}
	return out
}
