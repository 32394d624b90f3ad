package working

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"lumbricary.example/service/unit"
)

// Line is a sum with its numbers put in, as one writes it on paper, and what it
// comes to.
type Line struct {
	What  string // the value, or a limit of its interval
	Text  string // as "0.84 kg / 2.10 kg"
	Value float64
	Unit  string
}

// What a line works out.
const (
	TheValue = "value"
	TheLow   = "low"
	TheHigh  = "high"
)

const (
	shownDigits = 3  // of a result: what a keeper reads
	mostDigits  = 12 // of a number that is put in
	mostTerms   = 6  // of a sum written out; more are added up below it
)

// Working writes the formula out with the numbers put in: a line for the value,
// and one for each limit of an interval. Numbers are rounded, as far as the line
// still comes to the result in the digits that are shown. Nothing is written of a
// figure that can't be had.
func (f Figure) Working() []Line {
	if !f.Result.Known {
		return nil
	}
	formula := Catalogue[f.Formula]
	lines := []Line{f.line(TheValue, formula.Text, f.Result.Value)}
	if f.Result.Level > 0 && formula.Low != "" {
		lines = append(lines, f.line(TheLow, formula.Low, f.Result.Low), f.line(TheHigh, formula.High, f.Result.High))
	}
	return lines
}

// Again works the figure out from its inputs alone: of the value, or of a limit.
// Errors: SyntaxError.
func (f Figure) Again(what string) (float64, error) {
	formula := Catalogue[f.Formula]
	text := map[string]string{TheValue: formula.Text, TheLow: formula.Low, TheHigh: formula.High}[what]
	return f.rounded(exact).evaluate(text)
}

// Term works out what one of the rows adds to the first sum of the formula.
// Errors: SyntaxError.
func (f Figure) Term(row Row) (float64, error) {
	if row.Count > 0 {
		return row.Sum, nil
	}
	_, inner, _ := f.cut(Catalogue[f.Formula].Text)
	if inner == "" {
		return 0, nil
	}
	f.Rows = []Row{row}
	return f.rounded(exact).evaluate("sum(" + inner + ")")
}

// numbers are the values of a figure's inputs, as they are put into a formula.
type numbers struct {
	scalars Values
	rows    []Values
	added   float64
}

func (n numbers) evaluate(text string) (float64, error) {
	return Evaluate(text, n.scalars, n.rows, n.added)
}

const exact = 0

// rounded returns the inputs with so many digits that count.
func (f Figure) rounded(digits int) numbers {
	n := numbers{scalars: valuesOf(f.Inputs, digits)}
	if f.Result.Known {
		n.scalars[TheValue] = toDigits(f.Result.Value, digits)
	}
	for _, r := range f.Rows {
		if r.Count > 0 {
			n.added += toDigits(r.Sum, digits)
			continue
		}
		n.rows = append(n.rows, valuesOf(r.Inputs, digits))
	}
	return n
}

func valuesOf(inputs []Input, digits int) Values {
	out := Values{}
	for _, in := range inputs {
		out[in.Name] = toDigits(in.Value, digits)
	}
	return out
}

func toDigits(v float64, digits int) float64 {
	if digits == exact {
		return v
	}
	out, err := strconv.ParseFloat(number(v, digits), 64)
	if err != nil {
		return v
	}
	return out
}

// line writes a formula with as few digits as still come to the result.
func (f Figure) line(what, text string, result float64) Line {
	digits := shownDigits
	for ; digits < mostDigits; digits++ {
		if v, err := f.rounded(digits).evaluate(text); err == nil && Digits(v) == Digits(result) {
			break
		}
	}
	return Line{what, f.written(text, digits), result, f.Result.Unit}
}

// written puts the numbers into a formula.
func (f Figure) written(text string, digits int) string {
	before, inner, after := f.cut(text)
	if inner == "" {
		return put(text, append(f.Inputs, Input{Name: TheValue, Value: f.Result.Value, Unit: f.Result.Unit}), digits)
	}
	var terms []string
	for _, r := range f.Rows {
		if r.Count > 0 {
			terms = append(terms, number(r.Sum, digits))
			continue
		}
		terms = append(terms, put(inner, append(r.Inputs[:len(r.Inputs):len(r.Inputs)], f.Inputs...), digits))
	}
	sum := strings.Join(terms, " + ")
	switch {
	case len(terms) == 0:
		sum = "0"
	case len(terms) > mostTerms:
		v, err := f.rounded(digits).evaluate("sum(" + inner + ")")
		if err != nil {
			return ""
		}
		sum = number(v, mostDigits)
	case len(terms) > 1 && (before != "" || after != ""):
		sum = "(" + sum + ")"
	}
	return f.written(before, digits) + sum + f.written(after, digits)
}

// cut finds the first sum of a formula: what it adds up, and what is around it.
func (f Figure) cut(text string) (before, inner, after string) {
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

// put writes an expression with the values of its names; one that has none is 0.
func put(text string, inputs []Input, digits int) string {
	var b strings.Builder
	for text != "" {
		n := strings.IndexFunc(text, func(r rune) bool { return !wordy(r) })
		switch {
		case n < 0:
			n = len(text)
		case n == 0:
			b.WriteString(sign(text[:1]))
			text = text[1:]
			continue
		}
		word := text[:n]
		text = text[n:]
		if unicode.IsLetter(rune(word[0])) && !strings.HasPrefix(text, "(") {
			word = valueOf(word, inputs, digits)
		}
		b.WriteString(word)
	}
	return b.String()
}

func valueOf(name string, inputs []Input, digits int) string {
	for _, in := range inputs {
		if in.Name != name {
			continue
		}
		v := number(in.Value, digits)
		if in.Unit != "" {
			v += " " + in.Unit
		}
		if in.Value < 0 {
			v = "(" + v + ")"
		}
		return v
	}
	return "0"
}

func sign(s string) string {
	if s == "*" {
		return "×"
	}
	return s
}

// Digits writes a result in the digits that are shown of it.
func Digits(v float64) string { return number(v, shownDigits) }

// number writes v with so many digits that count, all that stand before the
// point, and no zeros at the end.
func number(v float64, digits int) string {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return "0"
	}
	decimals := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	out := strconv.FormatFloat(v, 'f', max(0, min(decimals, 15)), 64)
	if strings.Contains(out, ".") {
		out = strings.TrimRight(strings.TrimRight(out, "0"), ".")
	}
	return out
}

// Folded returns the figure with its rows put together by group, with their
// number and what they add up to, when there are more than most. Those of a formula
// with several sums stay as they are.
func (f Figure) Folded(most int) Figure {
	if formula := Catalogue[f.Formula]; len(f.Rows) <= most || strings.Count(formula.Text+formula.Low+formula.High, "sum(") != 1 {
		return f
	}
	var out []Row
	place := map[string]int{}
	for _, r := range f.Rows {
		v, err := f.Term(r)
		if err != nil {
			return f
		}
		i, ok := place[r.Group]
		if !ok {
			i = len(out)
			place[r.Group] = i
			out = append(out, Row{Group: r.Group})
		}
		out[i].Count += max(1, r.Count)
		out[i].Sum += v
	}
	f.Rows = out
	return f
}

// Records tells how many rows there are, put together or not.
func (f Figure) Records() int {
	n := 0
	for _, r := range f.Rows {
		n += max(1, r.Count)
	}
	return n
}

// In returns the figure's result in the units of a system, when they are others
// than those it was worked out in.
func (f Figure) In(s unit.System) (unit.Figure, bool) {
	shown := f.Result.In(s)
	return shown, f.Result.Known && shown.Unit != f.Result.Unit
}
