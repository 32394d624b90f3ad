package working

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
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
	mostTerms   = 6  // of a sum written out; of more the result is put in
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

// line writes a formula with as few digits as still come to the result.
func (f Figure) line(what, text string, result float64) Line {
	digits := shownDigits
	for ; digits < mostDigits; digits++ {
		v, err := Evaluate(pen{f, digits, false}.write(text), nil, nil)
		if err == nil && Agree(v, result) {
			break
		}
	}
	return Line{what, pen{f, digits, true}.write(text), result, f.Result.Unit}
}

// pen puts a figure's numbers into formulas, with so many digits.
type pen struct {
	of     Figure
	digits int
	pretty bool // with units, and × for *
}

// write puts the numbers into a formula.
func (p pen) write(text string) string {
	before, inner, after := cut(text)
	if inner == "" {
		return p.put(text, append(slices.Clone(p.of.Inputs), Input{Name: TheValue, Value: p.of.Result.Value, Unit: p.of.Result.Unit}))
	}
	terms, sum := p.terms(inner)
	written := strings.Join(terms, " + ")
	switch {
	case len(terms) == 0:
		written = "0"
	case len(terms) > mostTerms:
		written = number(sum, p.digits)
	case strings.Contains(written, " ") && (before != "" || after != ""):
		written = "(" + written + ")"
	}
	return p.write(before) + written + p.write(after)
}

// terms writes what a sum adds up, and says what it comes to.
func (p pen) terms(inner string) (written []string, sum float64) {
	for _, r := range p.of.Rows {
		v, counts := p.of.term(inner, r)
		switch {
		case !counts:
			continue
		case r.Count > 0:
			written = append(written, number(v, p.digits))
		default:
			written = append(written, p.put(inner, slices.Concat(r.Inputs, p.of.Inputs)))
		}
		sum += v
	}
	return written, sum
}

// put writes an expression with the values of its names.
func (p pen) put(text string, inputs []Input) string {
	var b strings.Builder
	for text != "" {
		n := strings.IndexFunc(text, func(r rune) bool { return !wordy(r) })
		if n < 0 {
			n = len(text)
		}
		word := text[:max(n, 1)]
		text = text[len(word):]
		switch {
		case word == "*" && p.pretty:
			word = "×"
		case n > 0 && unicode.IsDigit(rune(word[0])):
			if v, err := strconv.ParseFloat(word, 64); err == nil {
				word = number(v, max(4, p.digits))
			}
		case n > 0 && !strings.HasPrefix(text, "("):
			word = p.value(word, inputs)
		}
		b.WriteString(word)
	}
	return b.String()
}

func (p pen) value(name string, inputs []Input) string {
	i := slices.IndexFunc(inputs, func(in Input) bool { return in.Name == name })
	if i < 0 {
		return name
	}
	in := inputs[i]
	v := number(in.Value, p.digits)
	if in.Unit != "" && in.Unit != pure && p.pretty {
		v += " " + in.Unit
	}
	if in.Value < 0 {
		v = "(" + v + ")"
	}
	return v
}

// Agree reports whether two results are the same in the digits that are shown, or
// but for the rounding of sums.
func Agree(a, b float64) bool {
	return Digits(a) == Digits(b) || math.Abs(a-b) <= 1e-9*math.Abs(b)
}

// pure is the unit of a pure number, which is not written.
const pure = "1"

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
