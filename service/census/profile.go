package census

import "math"

// overdispersion of the negative binomial is α = 1/k, from 0 (Poisson) to
// that of k = 0.02.
const maxAlpha = 1 / 0.02

// tableSize is the count up to which logarithms are summed one by one.
const tableSize = 48

// profile is the negative-binomial likelihood of counts x in samples whose
// means are μ·a, with a the sample's size relative to the mean one. Up to terms
// that depend on neither,
//
//	ℓ(μ,α) = Σ [ x·ln μ − (x + 1/α)·ln(1 + αμa) + Σ_{j<x} ln(1 + αj) ]
//
// and for α = 0 Poisson's Σ [ x·ln μ − μa ].
type profile struct {
	counts []float64
	groups []group // of samples of one size
	worms  float64
	n      float64
	scale  float64 // of α, from which on clumping shows
}

// group sums up the samples of one relative size.
type group struct{ size, samples, worms float64 }

func newProfile(counts, sizes []float64) *profile {
	p := &profile{counts: counts, n: float64(len(counts)), worms: sum(counts)}
	for i, x := range counts {
		p.groupOf(sizes[i]).take(x)
	}
	p.scale = 0.02 / (1 + p.worms/p.n)
	return p
}

func (p *profile) groupOf(size float64) *group {
	for i := range p.groups {
		if p.groups[i].size == size {
			return &p.groups[i]
		}
	}
	p.groups = append(p.groups, group{size: size})
	return &p.groups[len(p.groups)-1]
}

func (g *group) take(x float64) {
	g.samples++
	g.worms += x
}

// alpha maps [0, 1] to [0, maxAlpha], evenly at first, then by factors.
func (p *profile) alpha(u float64) float64 {
	return p.scale * math.Expm1(u*math.Log1p(maxAlpha/p.scale))
}

// spread is Σ Σ_{j<x} ln(1 + αj) over the counts.
func (p *profile) spread(alpha float64) float64 {
	if alpha == 0 {
		return 0
	}
	var table [tableSize + 1]float64
	filled := 0
	var s float64
	for _, x := range p.counts {
		m := int(min(x, tableSize))
		for ; filled < m; filled++ {
			table[filled+1] = table[filled] + math.Log1p(alpha*float64(filled))
		}
		s += table[m]
		if x > tableSize {
			s += rest(alpha, tableSize, x)
		}
	}
	return s
}

// rest is Σ_{m≤j<x} ln(1 + αj) by the Euler–Maclaurin formula, to 1e-8.
func rest(alpha, m, x float64) float64 {
	integral := func(t float64) float64 {
		return ((1+alpha*t)*math.Log1p(alpha*t) - alpha*t) / alpha
	}
	slope := func(t float64) float64 { return alpha / (1 + alpha*t) }
	return integral(x) - integral(m) -
		(math.Log1p(alpha*x)-math.Log1p(alpha*m))/2 + (slope(x)-slope(m))/12
}

// curve is ℓ for one α as a function of η = ln μ, which is concave.
type curve struct {
	*profile
	alpha, spread float64
}

func (p *profile) curve(alpha float64) curve { return curve{p, alpha, p.spread(alpha)} }

// at returns ℓ at η with its first two derivatives.
func (c curve) at(eta float64) (l, slope, bend float64) {
	mu := math.Exp(eta)
	l = c.worms*eta + c.spread
	for _, g := range c.groups {
		m := mu * g.size
		am := c.alpha * m
		if c.alpha == 0 {
			l -= g.samples * m
		} else {
			l -= (g.worms + g.samples/c.alpha) * math.Log1p(am)
		}
		slope += (g.worms - g.samples*m) / (1 + am)
		bend -= m * (g.samples + c.alpha*g.worms) / (1 + am) / (1 + am)
	}
	return l, slope, bend
}

// peak returns the η at which ℓ is largest, by Newton's method from the plain
// mean, where it already is for samples of one size. Steps are bounded, since
// the curve is nearly straight far out.
func (c curve) peak() float64 {
	eta := math.Log(c.worms / c.n)
	for range 60 {
		_, slope, bend := c.at(eta)
		step := max(-1, min(1, -slope/bend))
		eta += step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return eta
}

// cross returns the η on the given side (−1 or +1) of the peak at which ℓ falls
// to level, and the peak itself where ℓ never reaches it. Newton's method on a
// concave curve comes to the crossing from outside, once there.
func (c curve) cross(level, side float64) float64 {
	eta := c.peak()
	l, _, bend := c.at(eta)
	if l <= level {
		return eta
	}
	eta += side * math.Sqrt(2*(l-level)/-bend)
	for range 60 {
		l, slope, _ := c.at(eta)
		step := (level - l) / slope
		eta += step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return eta
}

// set returns the mean count of a sample and the ends of the set of all μ with
//
//	2[ℓ(x̄,k̂) − max_k ℓ(μ,k)] ≤ cut
//
// which is the union, over k, of the μ that ℓ(·,k) allows: its ends are the
// furthest that any k allows.
func (p *profile) set(cut float64) span {
	mean := p.worms / p.n
	eta := math.Log(mean)
	best := p.maximise(func(c curve) float64 {
		l, _, _ := c.at(eta)
		return l
	})
	level := best - cut/2
	high := p.maximise(func(c curve) float64 { return c.cross(level, 1) })
	low := p.maximise(func(c curve) float64 { return -c.cross(level, -1) })
	return span{mean, math.Exp(-low), math.Exp(high)}
}

// maximise returns the largest value of f over α: the best of a
// grid, then a golden-section search between its neighbours.
func (p *profile) maximise(f func(curve) float64) float64 {
	const steps = 24
	at := func(u float64) float64 { return f(p.curve(p.alpha(u))) }
	best, value := 0.0, at(0)
	for i := 1; i <= steps; i++ {
		if v := at(float64(i) / steps); v > value {
			best, value = float64(i)/steps, v
		}
	}
	const golden = 0.6180339887498949
	low, high := max(0, best-1.0/steps), min(1, best+1.0/steps)
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := at(a), at(b)
	for range 12 {
		if fa > fb {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = at(a)
		} else {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = at(b)
		}
	}
	return max(value, fa, fb)
}
