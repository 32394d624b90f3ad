package census

import "math"

// part is one stratum with the samples drawn from it.
type part struct {
	whole float64   // size of the stratum
	size  []float64 // of each sample
	y     []float64 // quantity in each sample: worms, or their mass in g
	worms []float64 // behind the quantity
}

func (p *part) add(size, y, worms float64) {
	p.size, p.y, p.worms = append(p.size, size), append(p.y, y), append(p.worms, worms)
}

// raise is the factor from the samples to the stratum, A/Σa.
func (p part) raise() float64 { return max(1, p.whole/sum(p.size)) }

// total is the estimate for the stratum, A·Σy/Σa.
func (p part) total() float64 { return p.raise() * sum(p.y) }

// unseen is the share of the stratum that was not sampled, 1 − n/N, which all
// variances are multiplied by.
func (p part) unseen() float64 { return 1 - 1/p.raise() }

// variance is the sampling variance of total by the ratio to size,
//
//	A²·(1 − n/N)·s²/(n·ā²),  s² = Σ(y − R·a)²/(n−1),  R = Σy/Σa
//
// with y the quantity in a sample of size a (mean ā) out of a stratum of size
// A (Cochran 1977, Sampling Techniques, eq. 6.9). It needs two samples.
func (p part) variance() float64 {
	n := float64(len(p.y))
	return p.raise() * p.raise() * p.unseen() * p.residuals() * n / (n - 1)
}

// residuals is Σ(y − R·a)² over the samples.
func (p part) residuals() float64 {
	r := sum(p.y) / sum(p.size)
	var ss float64
	for i, y := range p.y {
		d := y - r*p.size[i]
		ss += d * d
	}
	return ss
}

// poissonVariance is what variance would be for worms scattered at random:
// a sample of x worms that weigh y varies by y²/x.
func (p part) poissonVariance() float64 {
	var v float64
	for i, y := range p.y {
		if y > 0 {
			v += y * y / p.worms[i]
		}
	}
	return p.raise() * p.raise() * p.unseen() * v
}

// shrink draws the limits of s nearer by √(1 − n/N), since what was sampled is
// known.
func (p part) shrink(s span) span {
	by := math.Sqrt(p.unseen())
	if by == 0 {
		return span{s.value, s.value, s.value}
	}
	return span{s.value, s.value - (s.value-s.low)*by, s.value + (s.high-s.value)*by}
}

// poissonTotal is the total from one sample, whose worms are taken as a
// Poisson count x: limits χ²(0.025, 2x)/2 and χ²(0.975, 2x+2)/2 (Garwood 1936).
func (p part) poissonTotal() span {
	x := p.y[0]
	s := span{value: x, high: gammaQuantile(0.975, x+1)}
	if x > 0 {
		s.low = gammaQuantile(0.025, x)
	}
	return p.shrink(s.times(p.raise())).atLeast(x)
}

// profileTotal is the total of a count in one stratum from two samples or
// more, by the negative-binomial profile-likelihood set.
func (p part) profileTotal() span {
	mean := sum(p.size) / float64(len(p.size))
	offset := make([]float64, len(p.size))
	for i, a := range p.size {
		offset[i] = a / mean
	}
	perSample := newProfile(p.y, offset).set(cut(len(p.y)))
	return p.shrink(perSample.times(p.raise() * float64(len(p.y)))).atLeast(sum(p.y))
}

// gammaTotal is the total of a mass in one stratum from two samples or more:
// limits x̄·a/Γ_q(a), a = n·x̄²/s²·(z/t)² with x̄ and s² of the samples, t =
// t(0.975, n−1) and z = 1.96. Γ_q is the quantile of the gamma distribution of
// shape a. The shape is at most the number of worms, that of worms scattered
// at random.
func (p part) gammaTotal() span {
	n, y, worms := float64(len(p.y)), sum(p.y), sum(p.worms)
	zt := z975 / tQuantile(n-1)
	a := worms
	if ss := p.residuals(); ss > 0 {
		a = min(worms, y*y*(n-1)/(n*ss)*zt*zt)
	}
	s := span{y, y * a / gammaQuantile(0.975, a), y * a / gammaQuantile(0.025, a)}
	return p.shrink(s.times(p.raise())).atLeast(y)
}

// stratifiedTotal is the total of several strata, T·exp(±t_ν·SE/T): variances
// add up, and ν is Satterthwaite's (Σv)²/Σ(v²/(n−1)). A stratum with one
// sample counts as Poisson with ν = ∞, and the whole is never surer than worms
// scattered at random would be.
func stratifiedTotal(parts []part) span {
	v, nu := stratifiedVariance(parts)
	var random float64
	for _, p := range parts {
		random += p.poissonVariance()
	}
	t := total(parts)
	half := max(tQuantile(nu)*math.Sqrt(v), z975*math.Sqrt(random)) / t
	return logSpan(t, half).atLeast(seen(parts))
}

// stratifiedVariance returns the variance of the total and its degrees of
// freedom, which are infinite when no variance could be told from samples.
func stratifiedVariance(parts []part) (v, nu float64) {
	var spread float64
	for _, p := range parts {
		n := len(p.y)
		if n == 1 {
			v += p.poissonVariance()
			continue
		}
		vh := p.variance()
		v += vh
		spread += vh * vh / float64(n-1)
	}
	return v, v * v / spread
}

// zeroTotal is the total where no sample held a worm: up to the largest that a
// Poisson likelihood allows, cut/2 worms in the samples, all of them in the
// stratum that was sampled most thinly.
func zeroTotal(parts []part) span {
	n, thinnest := 0, parts[0]
	for _, p := range parts {
		n += len(p.y)
		if p.raise() > thinnest.raise() {
			thinnest = p
		}
	}
	if n == 1 {
		return thinnest.poissonTotal()
	}
	return thinnest.shrink(span{high: thinnest.raise() * cut(n) / 2})
}

// meanOf is the quantity per worm over all parts, as a ratio of totals. Its
// variance is that of the residuals d = y − R·x of the samples with worms,
//
//	n/(n−1)·Σ(A/Σa)²·(1 − n/N)·d² / T²
//
// with x worms in a sample and T worms in all (Cochran 1977, eq. 6.13, without
// the strata's own means, which errs on the wide side). Of one such sample
// alone, spread stands for the unknown cv.
func meanOf(parts []part, spread float64) span {
	var y, x, unseen float64
	for _, p := range parts {
		y += p.raise() * sum(p.y)
		x += p.raise() * sum(p.worms)
		unseen = max(unseen, p.unseen())
	}
	r := y / x
	var n, ss float64
	for _, p := range parts {
		for i := range p.y {
			if p.worms[i] > 0 {
				d := p.raise() * (p.y[i] - r*p.worms[i])
				ss += d * d * p.unseen()
				n++
			}
		}
	}
	if n == 1 {
		return logSpan(r, z975*spread*math.Sqrt(unseen))
	}
	half := max(tQuantile(n-1)*math.Sqrt(ss*n/(n-1))/y, z975*scaleCV*math.Sqrt(unseen))
	return logSpan(r, half)
}

func total(parts []part) float64 {
	var t float64
	for _, p := range parts {
		t += p.total()
	}
	return t
}

// seen is the quantity in the samples themselves.
func seen(parts []part) float64 {
	var s float64
	for _, p := range parts {
		s += sum(p.y)
	}
	return s
}

func allZero(parts []part) bool { return seen(parts) == 0 }

func sum(xs []float64) float64 {
	var s float64
	for _, x := range xs {
		s += x
	}
	return s
}
