package working

import (
	"math"
	"strings"

	"lumbricary.example/service/unit"
)

// Again works the figure out from its inputs alone: of the value, or of a limit.
// Errors: SyntaxError.
func (f Figure) Again(what string) (float64, error) {
	formula := Catalogue[f.Formula]
	text := map[string]string{TheValue: formula.Text, TheLow: formula.Low, TheHigh: formula.High}[what]
	scalars := valuesOf(f.Inputs)
	scalars[TheValue] = f.Result.Value
	var rows []Values
	var added []float64
	for _, r := range f.Rows {
		if r.Count == 0 {
			rows = append(rows, valuesOf(r.Inputs))
			continue
		}
		for len(added) <= r.Part {
			added = append(added, 0)
		}
		added[r.Part] += r.Sum
	}
	return Evaluate(text, scalars, rows, added...)
}

func valuesOf(inputs []Input) Values {
	out := Values{}
	for _, in := range inputs {
		out[in.Name] = in.Value
	}
	return out
}

// Term works out what one of the rows adds to the first sum of the formula that it
// counts in, and which that is, from 0.
func (f Figure) Term(row Row) (value float64, part int) {
	if row.Count > 0 {
		return row.Sum, row.Part
	}
	for i, inner := range sumsOf(Catalogue[f.Formula].Text) {
		if v, counts := f.term(inner, row); counts {
			return v, i
		}
	}
	return 0, 0
}

// term works out what a row adds to a sum, and whether it counts in it.
func (f Figure) term(inner string, row Row) (float64, bool) {
	scalars := valuesOf(f.Inputs)
	if row.Count > 0 {
		return row.Sum, sumsOf(Catalogue[f.Formula].Text)[row.Part] == inner
	}
	values := valuesOf(row.Inputs)
	if !values.have(free(tokens(inner), scalars)) {
		return 0, false
	}
	v, err := Evaluate("sum("+inner+")", scalars, []Values{values})
	return v, err == nil
}

// sumsOf are what the sums of a formula add up, in order.
func sumsOf(text string) []string {
	var out []string
	for {
		_, inner, after := cut(text)
		if inner == "" {
			return out
		}
		out, text = append(out, inner), after
	}
}

// cut finds the first sum of a formula: what it adds up, and what is around it.
func cut(text string) (before, inner, after string) {
	before, rest, ok := strings.Cut(text, "sum(")
	if !ok {
		return text, "", ""
	}
	depth := 1
	for i, r := range rest {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
		}
		if depth == 0 {
			return before, rest[:i], rest[i+1:]
		}
	}
	return text, "", ""
}

// Folded returns the figure with its rows put together by group, with their
// number and what they add up to, when there are more than most. Rows that count
// in several sums stay as they are.
func (f Figure) Folded(most int) Figure {
	if len(f.Rows) <= most || f.mixed() {
		return f
	}
	var out []Row
	place := map[string]int{}
	for _, r := range f.Rows {
		v, part := f.Term(r)
		i, ok := place[r.Group]
		if !ok {
			i = len(out)
			place[r.Group] = i
			out = append(out, Row{Group: r.Group, Part: part})
		}
		out[i].Count++
		out[i].Sum += v
	}
	f.Rows = out
	return f
}

// mixed reports whether a row counts in several sums.
func (f Figure) mixed() bool {
	formula := Catalogue[f.Formula]
	all := append(sumsOf(formula.Text), sumsOf(formula.Low+formula.High)...)
	for _, r := range f.Rows {
		n := 0
		for _, inner := range all {
			if _, counts := f.term(inner, r); counts {
				n++
			}
		}
		if n > 1 {
			return true
		}
	}
	return false
}

// Records tells how many rows there are, put together or not.
func (f Figure) Records() int {
	n := 0
	for _, r := range f.Rows {
		n += max(1, r.Count)
	}
	return n
}

// In returns the figure's result in the units of a system, and whether they are
// others than those it was worked out in.
func (f Figure) In(s unit.System) (unit.Figure, bool) {
	shown := f.Result.In(s)
	return shown, f.Result.Known && shown.Unit != f.Result.Unit
}

// ChangedSince is the caveat of a figure whose inputs give something else now: it
// was recorded once, and what it was worked out from has changed.
const ChangedSince = "inputs-changed-since"

// Checked returns the figure with a caveat where its inputs don't give the result
// any more, but for rounding.
func (f Figure) Checked(rounding float64) Figure {
	if v, err := f.Again(TheValue); f.Result.Known && (err != nil || math.Abs(v-f.Result.Value) > rounding) {
		f.Caveat = ChangedSince
	}
	return f
}
