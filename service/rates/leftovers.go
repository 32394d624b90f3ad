package rates

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/unit"
)

// How sure a leftover share judged by eye is. Both are practice: nobody has
// published how well keepers judge.
const (
	// eyeSD is the standard deviation of a share on the logit scale.
	eyeSD = 0.4
	// eyeEdge keeps a share read as none or all from counting as exact: its
	// error is that of 1 % or 99 %.
	eyeEdge = 0.01
)

// eye names a reading: a check and what it spoke of. Feedings that one reading
// covers share its error. The zero eye is no reading: all of the feeding was
// there.
type eye struct {
	check   int    // place in the history, from 1
	feeding string // "" for all that aren't named
}

// share is what is left of a feeding, from 0 to 1, and who saw it.
type share struct {
	left float64
	seen eye
}

// sd returns the standard error of the share, σ·s(1 − s) by the delta method
// from σ = eyeSD on the logit scale.
func (s share) sd() float64 {
	if s.seen == (eye{}) {
		return 0
	}
	return eyeSD * max(float64(s.left*(1-s.left)), eyeEdge*(1-eyeEdge))
}

// history is the leftover records of a bin in order.
type history []Leftover

// historyOf orders the records that say anything by time, then check.
func historyOf(records []Leftover) history {
	var out history
	for _, r := range records {
		if r.All != nil || len(r.Of) > 0 {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b Leftover) int {
		return cmp.Or(a.At.Compare(b.At), strings.Compare(a.Check, b.Check))
	})
	return out
}

// within returns the times of the first and last record in [from, to], and
// whether there is any.
func (h history) within(from, to time.Time) (first, last time.Time, ok bool) {
	for _, r := range h {
		if r.At.Before(from) || r.At.After(to) {
			continue
		}
		if !ok {
			first, ok = r.At, true
		}
		last = r.At
	}
	return first, last, ok
}

// at returns what is left of f at the check of time t: the share a record
// names, else the lesser of the share before and that of all; never more than
// before. It is not known when no record of that time speaks of f, unless
// nothing was left of f before.
func (h history) at(f Feed, t time.Time) (s share, known bool) {
	s.left = 1
	for i, r := range h {
		read, named, ok := r.of(f.ID)
		if !ok || !r.At.After(f.At) || r.At.After(t) {
			continue
		}
		known = known || r.At.Equal(t)
		switch {
		case named:
			s = share{min(read, s.left), eye{i + 1, f.ID}}
		case read <= s.left:
			s = share{read, eye{check: i + 1}}
		}
	}
	return s, known || s.left == 0
}

// of returns the share that r gives a feeding, whether by name, and whether it
// gives any.
func (r Leftover) of(feeding string) (left float64, named, ok bool) {
	if p, ok := r.Of[feeding]; ok {
		return fraction(p), true, true
	}
	if r.All == nil {
		return 0, false, false
	}
	return fraction(*r.All), false, true
}

func fraction(p unit.Percent) float64 { return min(1, max(0, float64(p)/100)) }
