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

// Evaluate works out a formula. It has numbers, names, + − * / ^ with the usual
// precedence (^ binds right), parentheses, and the functions sqrt, exp, ln, abs,
// floor, round, min and max, and sum. Names have the values of scalars. The
// argument of sum is worked out for each row with the row's values, in which a
// name that the row lacks is 0 unless scalars has it, and added up in that order;
// added is a number of sums already made of further rows. Errors: SyntaxError.
func Evaluate(formula string, scalars Values, rows []Values, added float64) (float64, error) {
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
	added   float64
	row     Values // inside a sum
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
	if !ok && e.row == nil {
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
	if e.row != nil {
		e.fail("a sum in a sum")
		return 0
	}
	begin := e.at
	v := e.added
	for _, row := range e.rows {
		e.at, e.row = begin, row
		if row == nil {
			e.row = Values{}
		}
		v += e.sums()
	}
	if len(e.rows) == 0 {
		e.row = Values{} // the argument is read all the same
		e.sums()
	}
	e.row = nil
	e.want(")")
	return v
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
