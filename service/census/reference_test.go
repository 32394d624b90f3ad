package census

import (
	"math"
	"testing"
)

// near fails unless got is within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tol)
	}
}

func TestPlainTIntervalAgreesWithNIST(t *testing.T) {
	t.Parallel()
	// NIST/SEMATECH e-Handbook 1.3.5.2, ZARR13.DAT (seen-transcription).
	low, high := TInterval(9.26146, 0.02278881, 195)
	near(t, "low", low, 9.258241, 2e-6)
	near(t, "high", high, 9.264679, 2e-6)
}

func TestTQuantilesRoundToThoseOfNIST(t *testing.T) {
	t.Parallel()
	// Computed; they round to NIST Technical Note 1297, table B.1.
	for _, c := range []struct{ df, want float64 }{
		{1, 12.706205},
		{2, 4.302653},
		{4, 2.776445},
		{7, 2.364624},
		{9, 2.262157},
		{19, 2.093024},
		{29, 2.04523},
		{194, 1.972268},
	} {
		near(t, "t(0.975)", tQuantile(c.df), c.want, 1e-5)
	}
	near(t, "t(0.975, ∞)", tQuantile(math.Inf(1)), z975, 0)
}

func TestStratifiedTotalAgreesWithTheTelevisionHours(t *testing.T) {
	t.Parallel()
	// Scheaffer, Mendenhall & Ott, Elementary Survey Sampling, hours of
	// television in two towns and a rural area (seen-transcription).
	parts := []part{
		of(155, 35, 43, 36, 39, 28, 28, 29, 25, 38, 27, 26, 32, 29, 40, 35, 41, 37, 31, 45, 34),
		of(62, 27, 15, 4, 41, 49, 25, 10, 30),
		of(93, 8, 14, 12, 15, 30, 32, 21, 20, 34, 7, 11, 24),
	}
	v, nu := stratifiedVariance(parts)
	near(t, "total", total(parts), 8579.25, 1e-4)
	near(t, "mean", total(parts)/310, 27.675, 1e-4)
	near(t, "variance of the mean", v/310/310, 1.969519, 1e-4)
	near(t, "standard error of the mean", math.Sqrt(v)/310, 1.403396, 1e-4)
	near(t, "Satterthwaite's degrees of freedom", nu, 21.0896, 1e-4)

	s := stratifiedTotal(parts)
	near(t, "log half-width", math.Log(s.high/s.value), tQuantile(21.0896)*1.403396/27.675, 1e-6)
	near(t, "product of the limits", s.low*s.high, s.value*s.value, 1e-3)
}

// of is a stratum of the given size with samples of size 1.
func of(whole float64, counts ...float64) part {
	p := part{whole: whole}
	for _, x := range counts {
		p.add(1, x, x)
	}
	return p
}

func TestPoissonLimitsOfOneSampleAreGarwoods(t *testing.T) {
	t.Parallel()
	// Garwood 1936, exact 95 % limits of a Poisson mean; those of 0 are
	// −ln 0.025 and those of 1 follow from e^−μ(1+μ) = 0.025 (computed).
	s := of(1e12, 0).poissonTotal().times(1e-12)
	near(t, "upper limit of 0", s.high, -math.Log(0.025), 1e-6)
	s = of(1e12, 1).poissonTotal().times(1e-12)
	near(t, "lower limit of 1", s.low, -math.Log(0.975), 1e-6)
	near(t, "tail at the upper limit of 1", math.Exp(-s.high)*(1+s.high), 0.025, 1e-6)
}

func TestGammaQuantilesAgreeWithClosedForms(t *testing.T) {
	t.Parallel()
	// Shape 1 is the exponential distribution; a large shape is near the cube of
	// a normal deviate (Wilson & Hilferty 1931) (computed).
	near(t, "shape 1", gammaQuantile(0.975, 1), -math.Log(0.025), 1e-9)
	for _, a := range []float64{1e3, 1e6, 1e9} {
		c := 1 / (9 * a)
		want := math.Pow(1-c+z975*math.Sqrt(c), 3)
		near(t, "large shape", gammaQuantile(0.975, a)/a, want, 1e-4/math.Sqrt(a))
	}
}

func TestWeighedLimitsAreTheGammas(t *testing.T) {
	t.Parallel()
	// Mean 5 and variance 4 from 4 samples: a = 4·25/4·(1.96/3.182446)²
	// (computed).
	p := part{whole: 4e12}
	for _, g := range []float64{5 - math.Sqrt(6), 5, 5, 5 + math.Sqrt(6)} {
		p.add(1, g, 100)
	}
	a := 25 * math.Pow(z975/3.182446305284263, 2)
	s := p.gammaTotal().times(1 / p.whole)
	near(t, "mean", s.value, 5, 1e-12)
	near(t, "low", s.low, 5*a/gammaQuantile(0.975, a), 1e-5)
	near(t, "high", s.high, 5*a/gammaQuantile(0.025, a), 1e-5)
}

func TestWeighedLimitsAreNeverSurerThanTheNumberOfWormsAllows(t *testing.T) {
	t.Parallel()
	p := part{whole: 3e12}
	for range 3 {
		p.add(1, 2, 4)
	}
	s := p.gammaTotal().times(1 / p.whole)
	near(t, "low", s.low, 2*12/gammaQuantile(0.975, 12), 1e-6)
}

func TestLogDistancesOfAProductAddUpAsSquares(t *testing.T) {
	t.Parallel()
	s := product(logSpan(100, 0.3), logSpan(0.5, 0.4))
	near(t, "value", s.value, 50, 0)
	near(t, "log half-width up", math.Log(s.high/s.value), 0.5, 1e-12)
	near(t, "log half-width down", math.Log(s.value/s.low), 0.5, 1e-12)
	near(t, "log-scale sd", s.logSD(), 0.5/z975, 1e-12)
}
