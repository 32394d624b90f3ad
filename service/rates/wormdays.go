package rates

import "lumbricary.example/service/unit"

// milligram is a mass in kg, below which the stock is rounding.
const milligram = 1e-6

// wormDays is ∫ B dt in kg·d over the days between the ends.
type wormDays struct {
	estimate
	uses      []used  // the anchors and jumps that bear on it
	drifted   []drift // the stretches of days after the last anchor
	belowZero bool    // departures took more than there was
	reason    string  // why the stock isn't known, or ""
}

// used is an anchor or a jump, and for how many days its mass counts.
type used struct {
	point
	days float64
}

// figure returns w in kg·d.
func (w wormDays) figure() unit.Figure {
	const code = "kg.d"
	if w.reason != "" {
		return unit.None(code, w.reason)
	}
	f := w.estimate.figure(code, "stocking-and-census")
	if w.belowZero {
		f = f.Flag(FlagBelowZero)
	}
	return f
}

// wormDaysOf integrates the stock over the days from 0 to length. B is linear in the
// masses m of anchors and jumps, so ∫ B dt = Σ g·m, exact at the middle of each
// piece, and its variance is Σ (g·SE m)² plus that of the drift. Where B would be
// below 0 it counts as 0.
func wormDaysOf(s stock, length float64) wormDays {
	points := s.points()
	gradient := make([]float64, len(points))
	var out wormDays
	var before float64
	for _, p := range s.pieces(length) {
		q := s.positive(p)
		out.belowZero = out.belowZero || q != p
		middle, wide := (q.from+q.to)/2, q.to-q.from
		for k, w := range s.weights(p, middle) {
			gradient[k] += float64(w * wide)
		}
		if p.anchor == len(s.anchors)-1 {
			since := s.anchors[p.anchor].day
			d := drift{s.at(p, middle), q.from - since, q.to - since, before}
			out.drifted = append(out.drifted, d)
			out.variance += d.variance()
			before += d.moment()
		}
	}
	for k, x := range points {
		if gradient[k] == 0 {
			continue
		}
		out.uses = append(out.uses, used{x, gradient[k]})
		out.value += float64(gradient[k] * x.kg)
		e := float64(gradient[k] * x.err)
		out.variance += float64(e * e)
	}
	if out.value < milligram {
		out.value = 0 // not a milligram for a day: rounding
	}
	return out
}

// positive returns the part of p in which the stock is not below 0, which may
// be of no length.
func (s stock) positive(p piece) piece {
	a, b := s.at(p, p.from), s.at(p, p.to)
	switch {
	case a >= -milligram && b >= -milligram:
		return p
	case a <= 0 && b <= 0:
		p.to = p.from
	case a < 0:
		p.from += (p.to - p.from) * a / (a - b)
	default:
		p.to = p.from + (p.to-p.from)*a/(a-b)
	}
	return p
}

// drift is a stretch of days after the last anchor, in which a random walk of
// the stock's logarithm brings variance to its integral.
type drift struct {
	kg       float64 // B
	from, to float64 // days since the last anchor, a to b
	before   float64 // ∫ B·t dt over the stretches so far
}

// variance is what the stretch adds. The walk's covariance at days t ≤ u is
// driftSD²·t, so it has σ²B²(b³ − a³ − 3a²(b − a))/3 of its own, and
// 2σ²·B(b − a)·∫ B·t dt with those before it.
func (d drift) variance() float64 {
	const perDay = driftSD * driftSD
	wide := d.to - d.from
	own := float64(d.kg*d.kg*wide*wide) * (d.to + 2*d.from) / 3
	with := 2 * float64(d.kg*wide*d.before)
	return float64(perDay * (own + with))
}

// moment is ∫ B·t dt over the stretch.
func (d drift) moment() float64 { return float64(d.kg * (d.to - d.from) * (d.from + d.to) / 2) }
