package rates

import (
	"math"

	"lumbricary.example/service/unit"
)

const (
	level = 0.95
	// z is the standard normal quantile of (1 + level)/2.
	z = 1.959963984540054
	// widest is the largest half-width on the log scale, ln 1000: an interval
	// from a thousandth to a thousand times the value says all there is to say.
	widest = 6.907755278982137
)

// estimate is a quantity that can't be negative, with the variance of its
// error in the square of its unit.
type estimate struct{ value, variance float64 }

// over returns e/d by the delta method, the errors of e and d being
// independent: var(e/d) = (var e + (e/d)² var d)/d². d isn't 0.
func (e estimate) over(d estimate) estimate {
	q := e.value / d.value
	return estimate{q, (e.variance + float64(q*q*d.variance)) / (d.value * d.value)}
}

// exactly returns v without error.
func exactly(v float64) estimate { return estimate{value: v} }

// figure returns e with its interval on the log scale, v·exp(±z·s/v) with v
// the value and s the standard error. A value of 0 has [0, z·s], and no
// interval when nothing is known of its error.
func (e estimate) figure(code, basis string) unit.Figure {
	s := math.Sqrt(e.variance)
	switch {
	case e.value == 0 && s == 0:
		return unit.Of(0, code, basis)
	case e.value == 0:
		return unit.Of(0, code, basis).Within(0, z*s, level)
	}
	factor := math.Exp(min(widest, z*s/e.value))
	return unit.Of(e.value, code, basis).Within(e.value/factor, e.value*factor, level)
}
