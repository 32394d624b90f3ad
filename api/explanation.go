package api

import (
	"slices"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// Explained is the part of an answer that says how its figures came about.
type Explained struct {
	Explanation []WorkedFigure `json:"explanation,omitempty"` // where explain asks for it
}

func (e *Explained) set(explanation []WorkedFigure) { e.Explanation = explanation }

// WorkedFigure says how one figure of an answer came about, so that it can be
// worked out again on paper. Figures are worked out in metric units, whatever
// they are shown in.
type WorkedFigure struct {
	Figure    string        `json:"figure" example:"/rate" validate:"required"` // of the answer, as a JSON pointer; with # a step on the way to it
	Formula   string        `json:"formula" example:"processed / worm_days" validate:"required"`
	Low       *string       `json:"low_formula" example:"value / exp(1.96 * error / value)" extensions:"x-nullable" validate:"required"` // of the lower limit; value stands for the figure
	High      *string       `json:"high_formula" example:"value * exp(1.96 * error / value)" extensions:"x-nullable" validate:"required"`
	Source    string        `json:"source" example:"definition" validate:"required"`
	Status    string        `json:"status" example:"computed" enums:"recorded,seen,seen-transcription,computed,practice,memory" validate:"required"` // how sure the formula is
	Note      *string       `json:"note" example:"kg wet feed, without bedding" extensions:"x-nullable" validate:"required"`                         // what the names don't say
	Caveat    *string       `json:"caveat" example:"inputs-changed-since" extensions:"x-nullable" validate:"required"`                               // why the result isn't what the inputs give now
	Inputs    []WorkedInput `json:"inputs" validate:"required"`
	Rows      []WorkedRow   `json:"rows" validate:"required"`                   // what the sums in the formula run over: a sum counts the rows that have all of its names
	Records   int           `json:"row_count" example:"12" validate:"required"` // how many rows there are; with explain=all they are all listed
	Working   []WorkedLine  `json:"working" validate:"required"`
	Result    Figure        `json:"result" validate:"required"`
	Converted *Figure       `json:"converted" extensions:"x-nullable" validate:"required"` // the result in the units that the answer is read in; null: the same
}

// WorkedInput is a number that goes into a formula.
type WorkedInput struct {
	Name   string        `json:"name" example:"worm_days" validate:"required"` // as the formula calls it
	Value  float64       `json:"value" example:"62.5" validate:"required"`
	Unit   string        `json:"unit" example:"kg.d" validate:"required"` // UCUM code; empty: a pure number
	Status string        `json:"status" example:"computed" enums:"recorded,seen,seen-transcription,computed,practice,memory" validate:"required"`
	Source *string       `json:"source" example:"custom, for castings that nobody measured" extensions:"x-nullable" validate:"required"`
	Record *WorkedRecord `json:"record" extensions:"x-nullable" validate:"required"`                      // that it was read from
	Figure *string       `json:"figure" example:"/worm_days" extensions:"x-nullable" validate:"required"` // as which it is explained itself
}

// WorkedRecord is a record of the club's book.
type WorkedRecord struct {
	Kind string     `json:"kind" example:"feeding" validate:"required"`
	ID   string     `json:"id" example:"01970000-0000-7000-8000-000000000020" validate:"required"`
	At   *time.Time `json:"at" example:"2026-05-01T07:30:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
}

// WorkedRow is what one record adds to a sum, or several of a kind do.
type WorkedRow struct {
	Record *WorkedRecord `json:"record" extensions:"x-nullable" validate:"required"`
	Group  *string       `json:"group" example:"feeding" extensions:"x-nullable" validate:"required"` // what rows are put together by
	Count  int           `json:"count" example:"1" validate:"required"`                               // how many rows these are
	Inputs []WorkedInput `json:"inputs" validate:"required"`
	Value  float64       `json:"value" example:"0.84" validate:"required"` // what it adds
	Sum    int           `json:"sum" example:"1" validate:"required"`      // to which sum of the formula, from 1; the first that it counts in
}

// WorkedLine is a sum with its numbers put in, rounded as far as it still
// comes to the value in the digits that are shown of it.
type WorkedLine struct {
	What  string  `json:"what" example:"value" enums:"value,low,high" validate:"required"`
	Text  string  `json:"text" example:"46.9 kg / 62.5 kg.d" validate:"required"`
	Value float64 `json:"value" example:"0.75" validate:"required"`
	Shown string  `json:"shown" example:"0.75" validate:"required"` // the value in these digits
	Unit  string  `json:"unit" example:"kg/kg/d" validate:"required"`
}

// mostRows is how many rows of a sum are listed; more are put together.
const mostRows = 20

// The ways of asking how an answer came about.
const (
	explainSome = "1"
	explainAll  = "all" // with every row of every sum
)

// explains tells whether the call asks how its figures came about.
func (r *request) explains() bool { return r.route.has(explained) && r.gin.Query("explain") != "" }

// checkExplain looks whether a call of a route that explains itself asks for what
// there is. Errors: ErrMalformed.
func (r *request) checkExplain() error {
	asked, ok := r.gin.GetQueryArray("explain")
	if !ok || !r.route.has(explained) {
		return nil
	}
	var faults service.Faults
	switch {
	case len(asked) > 1:
		faults.Add("?explain", "repeated", "give this parameter once")
	case !slices.Contains([]string{explainSome, explainAll}, asked[0]):
		faults.Add("?explain", "unknown", "use 1, or all for every row of every sum")
	case !slices.Contains([]string{"", "json", "text"}, r.gin.Query("format")):
		faults.Add("?explain", "form", "ask for json or text; files aren't explained")
	default:
		return nil
	}
	return unreadable(faults)
}

// explain adds to an answer, whose body points to something Explained, how its
// figures came about, where the call asks for it; or tells just that, as plain text.
// What is explained is derived. Errors: those of figures.
func (r *request) explain(a answer, figures func() ([]working.Figure, error)) (answer, error) {
	body, ok := a.body.(interface {
		set(explanation []WorkedFigure)
	})
	if !ok || !r.explains() {
		return a, r.err
	}
	all, err := figures()
	if err != nil {
		return answer{}, err
	}
	if r.gin.Query("explain") != explainAll {
		for i, f := range all {
			all[i] = f.Folded(mostRows)
		}
	}
	if r.wantsText() {
		return textAnswer(ExplanationText(all, r.units(), r.zone())), r.err
	}
	a.version = 0
	body.set(explanationsOf(all, r.units()))
	return a, r.err
}

// always makes figures that are there what explain asks for.
func always(figures []working.Figure) func() ([]working.Figure, error) {
	return func() ([]working.Figure, error) { return figures, nil }
}

func explanationsOf(figures []working.Figure, in unit.System) []WorkedFigure {
	out := make([]WorkedFigure, 0, len(figures))
	for _, f := range figures {
		out = append(out, explanationOf(f, in))
	}
	return out
}

func explanationOf(f working.Figure, in unit.System) WorkedFigure {
	formula := working.Catalogue[f.Formula]
	out := WorkedFigure{
		Figure: f.Name, Formula: formula.Text, Low: orNull(formula.Low), High: orNull(formula.High), Source: formula.Source,
		Status: string(formula.Status), Note: orNull(formula.Note), Caveat: orNull(f.Caveat), Inputs: explanationInputs(f.Inputs),
		Rows: []WorkedRow{}, Records: f.Records(), Working: []WorkedLine{}, Result: figureOf(f.Result, unit.Metric),
	}
	for _, row := range f.Rows {
		out.Rows = append(out.Rows, explanationRow(f, row))
	}
	for _, l := range f.Working() {
		out.Working = append(out.Working, WorkedLine{l.What, l.Text, l.Value, working.Digits(l.Value), l.Unit})
	}
	if shown, differs := f.In(in); differs {
		converted := figureOf(shown, unit.Metric)
		out.Converted = &converted
	}
	return out
}

func explanationRow(f working.Figure, row working.Row) WorkedRow {
	value, part := f.Term(row)
	return WorkedRow{
		Record: explanationRecord(row.Record), Group: orNull(row.Group), Count: max(1, row.Count),
		Inputs: explanationInputs(row.Inputs), Value: value, Sum: part + 1,
	}
}

func explanationInputs(inputs []working.Input) []WorkedInput {
	out := make([]WorkedInput, 0, len(inputs))
	for _, in := range inputs {
		out = append(out, WorkedInput{
			in.Name, in.Value, in.Unit, string(in.Status), orNull(in.Source), explanationRecord(in.Record), orNull(in.Figure),
		})
	}
	return out
}

func explanationRecord(r working.Record) *WorkedRecord {
	if r.Kind == "" {
		return nil
	}
	return &WorkedRecord{r.Kind, r.ID, timeOrNull(r.At.UTC())}
}
