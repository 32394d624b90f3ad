package census

import (
	"math"
	"slices"
	"testing"
)

// logLikelihood is the negative binomial's by its gamma functions, k = ∞ being
// Poisson: the definition, slow, and apart from how the package works it out.
func logLikelihood(counts, sizes []float64, mu, k float64) float64 {
	var l float64
	for i, x := range counts {
		m := mu * sizes[i]
		if math.IsInf(k, 1) {
			l += x*math.Log(m) - m - lgamma(x+1)
			continue
		}
		l += lgamma(x+k) - lgamma(k) - lgamma(x+1) - k*math.Log1p(m/k) + x*math.Log(m/(k+m))
	}
	return l
}

func lgamma(x float64) float64 {
	l, _ := math.Lgamma(x)
	return l
}

// bestOverK is the largest likelihood at mu over a dense range of k.
func bestOverK(counts, sizes []float64, mu float64) float64 {
	best := logLikelihood(counts, sizes, mu, math.Inf(1))
	for k := 0.02; k < 1e4; k *= 1.01 {
		best = max(best, logLikelihood(counts, sizes, mu, k))
	}
	return best
}

func TestEndsOfTheProfileSetLieWhereTheLikelihoodFallsToTheCut(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ counts, sizes []float64 }{
		{counts: []float64{10, 12, 8, 11}},
		{counts: []float64{5, 5, 5, 5, 5, 5}},
		{counts: []float64{40, 3, 10, 0, 22, 7}},
		{counts: []float64{2, 1, 0, 0, 0, 0}},
		{counts: []float64{400, 120, 900, 33, 250, 610}},
		{counts: []float64{3, 9, 4, 7, 0, 12, 5, 1, 8, 6, 2, 30}},
		{counts: []float64{8, 30, 3, 16, 5}, sizes: []float64{0.5, 1.5, 0.75, 1, 1.25}},
		{counts: []float64{0, 2, 1, 70, 5, 9}, sizes: []float64{0.2, 0.4, 0.4, 3, 1, 1}},
	} {
		sizes := c.sizes
		if sizes == nil {
			sizes = slices.Repeat([]float64{1}, len(c.counts))
		}
		limit := cut(len(c.counts))
		s := newProfile(c.counts, sizes).set(limit)
		top := bestOverK(c.counts, sizes, s.value)
		for _, end := range []float64{s.low, s.high} {
			near(t, "drop at an end", 2*(top-bestOverK(c.counts, sizes, end)), limit, 2e-3)
		}
		if s.low >= s.value || s.high <= s.value {
			t.Errorf("%v: set %v does not surround its mean", c.counts, s)
		}
	}
}

func TestCutOfSixSamplesIsThatOfTheTInterval(t *testing.T) {
	t.Parallel()
	// 6·ln(1 + 2.570582²/5) with t(0.975, 5) = 2.570582 (computed).
	near(t, "cut", cut(6), 6*math.Log(1+2.570582*2.570582/5), 1e-5)
}

func TestPoissonIsTheLimitOfTheNegativeBinomial(t *testing.T) {
	t.Parallel()
	p := newProfile([]float64{300, 310, 295}, []float64{1, 1, 1})
	for _, eta := range []float64{5, 5.7, 6} {
		poisson, _, _ := p.curve(0).at(eta)
		almost, _, _ := p.curve(1e-12).at(eta)
		near(t, "likelihood", almost, poisson, 1e-5)
	}
}

func TestSumOfManyLogarithmsIsExactEnough(t *testing.T) {
	t.Parallel()
	for _, alpha := range []float64{1e-6, 0.01, 1, 50} {
		var want float64
		for j := tableSize; j < 5000; j++ {
			want += math.Log1p(alpha * float64(j))
		}
		near(t, "sum", rest(alpha, tableSize, 5000), want, 1e-7)
	}
}

func TestBedWithoutAWormReachesUpToHalfTheCut(t *testing.T) {
	t.Parallel()
	s := of(6e12, 0, 0, 0, 0, 0, 0)
	z := zeroTotal([]part{s}).times(1 / s.whole)
	near(t, "low", z.low, 0, 0)
	near(t, "high", z.high, cut(6)/12, 1e-9)
}

func TestLimitsDrawNearerAsMoreOfTheBinIsSampled(t *testing.T) {
	t.Parallel()
	counts := []float64{10, 4, 9, 17, 6, 11}
	far := of(6e12, counts...).profileTotal()
	half := of(12, counts...).profileTotal()
	near(t, "distance up", (half.high-half.value)/half.value, (far.high-far.value)/far.value*math.Sqrt(0.5), 1e-6)
	near(t, "distance down", (half.value-half.low)/half.value, (far.value-far.low)/far.value*math.Sqrt(0.5), 1e-6)
}
