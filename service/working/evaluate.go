package working

import (
	"fmt"
	"math"
	"strconv"
	"unicode"
)

// SyntaxError reports a formula that can't be read, or a name that has no value.
type SyntaxError struct{ Formula, What string }

// Error says what is wrong with the formula.
func (e *SyntaxError) Error() string { return fmt.Sprintf("formula %q: %s", e.Formula, e.What) }

// Values are numbers by name.
type Values map[string]float64

// Evaluate works out a formula. It has numbers, names, + - * / ^ with the usual
// precedence (^ binds right), parentheses, and the functions sqrt, exp, ln, abs,
// floor, round, min and max, and sum. Names have the values of scalars. A sum runs
// over the rows that have all the names in it that scalars lack, in their order;
// added is what further rows add to the first sum, the second, and so on. Errors:
// SyntaxError.
func Evaluate(formula string, scalars Values, rows []Values, added ...float64) (float64, error) {
	e := evaluation{formula: formula, tokens: tokens(formula), scalars: scalars, rows: rows, added: added}
	v := e.sums()
	if e.err == nil && e.at < len(e.tokens) {
		e.fail("unexpected " + e.tokens[e.at])
	}
	return v, e.err
}

// evaluation is a formula being worked out.
type evaluation struct {
	formula string
	tokens  []string
	at      int
	scalars Values
	rows    []Values
	added   []float64
	row     Values // inside a sum
	blank   bool   // reading a sum without rows
	err     error
}

func (e *evaluation) fail(what string) {
	if e.err == nil {
		e.err = &SyntaxError{e.formula, what}
	}
	e.at = len(e.tokens)
}

// take moves on when the next token is the one asked for.
func (e *evaluation) take(token string) bool {
	if e.at < len(e.tokens) && e.tokens[e.at] == token {
		e.at++
		return true
	}
	return false
}

func (e *evaluation) want(token string) {
	if !e.take(token) {
		e.fail("no " + token)
	}
}

func (e *evaluation) sums() float64 {
	v := e.products()
	for {
		switch {
		case e.take("+"):
			v += e.products()
		case e.take("-"):
			v -= e.products()
		default:
			return v
		}
	}
}

func (e *evaluation) products() float64 {
	v := e.signed()
	for {
		switch {
		case e.take("*"):
			v *= e.signed()
		case e.take("/"):
			v /= e.signed()
		default:
			return v
		}
	}
}

func (e *evaluation) signed() float64 {
	if e.take("-") {
		return -e.signed()
	}
	v := e.primary()
	if e.take("^") {
		return math.Pow(v, e.signed())
	}
	return v
}

func (e *evaluation) primary() float64 {
	if e.at == len(e.tokens) {
		e.fail("it ends too early")
		return 0
	}
	token := e.tokens[e.at]
	e.at++
	if token == "(" {
		v := e.sums()
		e.want(")")
		return v
	}
	if v, err := strconv.ParseFloat(token, 64); err == nil {
		return v
	}
	if !unicode.IsLetter(rune(token[0])) {
		e.fail("unexpected " + token)
		return 0
	}
	if e.take("(") {
		return e.call(token)
	}
	return e.value(token)
}

func (e *evaluation) value(name string) float64 {
	if v, ok := e.row[name]; ok {
		return v
	}
	v, ok := e.scalars[name]
	if !ok && !e.blank {
		e.fail("no value for " + name)
	}
	return v
}

// call works out a function, the tokens being after its opening parenthesis.
func (e *evaluation) call(name string) float64 {
	if name == "sum" {
		return e.sum()
	}
	args := []float64{e.sums()}
	for e.take(",") {
		args = append(args, e.sums())
	}
	e.want(")")
	switch {
	case len(args) == 2 && name == "min":
		return min(args[0], args[1])
	case len(args) == 2 && name == "max":
		return max(args[0], args[1])
	case len(args) != 1:
	case name == "sqrt":
		return math.Sqrt(args[0])
	case name == "exp":
		return math.Exp(args[0])
	case name == "ln":
		return math.Log(args[0])
	case name == "abs":
		return math.Abs(args[0])
	case name == "floor":
		return math.Floor(args[0])
	case name == "round":
		return math.Round(args[0])
	}
	e.fail("no function " + name + " of so many numbers")
	return 0
}

func (e *evaluation) sum() float64 {
	if e.row != nil || e.blank {
		e.fail("a sum in a sum")
		return 0
	}
	begin := e.at
	e.blank = true // once without a row, to find its end
	e.sums()
	e.blank = false
	names := free(e.tokens[begin:e.at], e.scalars)
	end, v := e.at, 0.0
	if len(e.added) > 0 {
		v, e.added = e.added[0], e.added[1:]
	}
	for _, row := range e.rows {
		if row.have(names) {
			e.at, e.row = begin, row
			v += e.sums()
		}
	}
	e.at, e.row = max(e.at, end), nil
	e.want(")")
	return v
}

// free are the names in a part of a formula that scalars lack.
func free(part []string, scalars Values) []string {
	var out []string
	for i, token := range part {
		_, known := scalars[token]
		function := i+1 < len(part) && part[i+1] == "("
		if unicode.IsLetter(rune(token[0])) && !known && !function {
			out = append(out, token)
		}
	}
	return out
}

func (v Values) have(names []string) bool {
	for _, name := range names {
		if _, ok := v[name]; !ok {
			return false
		}
	}
	return true
}

// tokens are the numbers, names and signs of a formula.
func tokens(formula string) []string {
	var out []string
	runes := []rune(formula)
	for i := 0; i < len(runes); {
		n := 1
		switch r := runes[i]; {
		case unicode.IsSpace(r):
			i++
			continue
		case unicode.IsDigit(r) || unicode.IsLetter(r):
			for i+n < len(runes) && wordy(runes[i+n]) {
				n++
			}
		}
		out = append(out, string(runes[i:i+n]))
		i += n
	}
	return out
}

func wordy(r rune) bool { return unicode.IsDigit(r) || unicode.IsLetter(r) || r == '.' || r == '_' }
