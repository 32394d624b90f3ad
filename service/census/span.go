package census

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"lumbricary.example/service/unit"
)

// z975 is the 0.975 quantile of the normal distribution.
const z975 = 1.959963984540054

// span is a value with the limits of its interval.
type span struct{ value, low, high float64 }

// logSpan is an interval of equal factors, value·exp(±half).
func logSpan(value, half float64) span {
	return span{value, value * math.Exp(-half), value * math.Exp(half)}
}

func (s span) times(f float64) span { return span{s.value * f, s.low * f, s.high * f} }

// atLeast raises the lower limit to what has been seen.
func (s span) atLeast(seen float64) span {
	s.low = min(max(s.low, seen), s.value)
	return s
}

// logSD is the standard deviation of the logarithm that the interval's width
// stands for; of the upper half alone when it starts at 0, and 0 for the
// value 0.
func (s span) logSD() float64 {
	switch {
	case s.value == 0:
		return 0
	case s.low == 0:
		return math.Log(s.high/s.value) / z975
	}
	return math.Log(s.high/s.low) / (2 * z975)
}

func (s span) figure(u, basis string) unit.Figure {
	return unit.Of(s.value, u, basis).Within(s.low, s.high, Level)
}

// product is the interval of a product of independent quantities: the log
// distances to each limit add up as squares (Zou & Donner 2008's method of
// variance estimates recovery, on the log scale), which for equal factors is
// T·exp(±√(h₁² + h₂²)). Where a limit is 0 or the value is, the limits multiply.
func product(a, b span) span {
	v := a.value * b.value
	if v == 0 {
		return span{v, a.low * b.low, a.high * b.high}
	}
	return span{
		value: v,
		low:   v * math.Exp(-math.Hypot(math.Log(a.value/a.low), math.Log(b.value/b.low))),
		high:  v * math.Exp(math.Hypot(math.Log(a.high/a.value), math.Log(b.high/b.value))),
	}
}

// TInterval returns the plain t interval mean ± t(0.975, n−1)·sd/√n. It is
// for checks against references only: for clumped counts it holds the truth
// too seldom.
func TInterval(mean, sd float64, n int) (low, high float64) {
	half := tQuantile(float64(n-1)) * sd / math.Sqrt(float64(n))
	return mean - half, mean + half
}

// cut is the drop in twice the log likelihood at the limits of a profile set
// from n samples, n·ln(1 + t²/(n−1)): the t interval's own, were the samples
// normal.
func cut(n int) float64 {
	t := tQuantile(float64(n - 1))
	return float64(n) * math.Log1p(t*t/float64(n-1))
}

// tQuantile is the 0.975 quantile of Student's t with nu degrees of freedom.
func tQuantile(nu float64) float64 {
	if nu > 1e6 || math.IsNaN(nu) { // the normal's to six digits; NaN where nothing varied
		return z975
	}
	return distuv.StudentsT{Sigma: 1, Nu: nu}.Quantile(0.975)
}

// gammaQuantile is the q quantile of the gamma distribution of shape a and
// scale 1.
func gammaQuantile(q, a float64) float64 { return mathext.GammaIncRegInv(a, q) }
