package lineage

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"lumbricary.example/service/unit"
)

// One is the whole: shares are counted in parts of 10⁻¹².
const One = 1_000_000_000_000

// Unknown is the origin of stock that nobody knows the origin of.
const Unknown = "unknown"

// Share is how much of a lot descends from an origin.
type Share struct {
	Origin string
	Parts  int64 // of One
}

// Shares is what a lot descends from: sorted by origin id, each with more than
// zero parts, summing to exactly One.
type Shares []Share

// Pure returns the shares of stock from one origin; "" is Unknown.
func Pure(origin string) Shares { return Shares{{known(origin), One}} }

func known(origin string) string { return cmp.Or(origin, Unknown) }

// Part is some stock that goes into a mix.
type Part struct {
	Mass   unit.Mass
	Shares Shares
}

// Mix returns the shares of parts put together: of each origin the mean of its
// shares, weighted by mass,
//
//	p = Σ mass·parts / Σ mass,
//
// by 128-bit multiplication and division, rounded down; what is left of One
// goes, one each, to the origins with the largest remainders, ties to the
// smaller id. The order of the parts makes no difference. Origins left without
// any share are dropped, and "" is Unknown. Errors: MixError for parts without
// any mass, with a negative one or too much of it to sum, or whose shares don't
// sum to One.
func Mix(parts []Part) (Shares, error) {
	var sums []weighted
	var total unit.Mass
	for i, p := range parts {
		if sum, ok := p.whole(); !ok || p.Mass > math.MaxInt64-total {
			return nil, &MixError{i, p.Mass, sum}
		}
		total += p.Mass
		sums = added(sums, p)
	}
	if total == 0 {
		return nil, &MixError{Index: -1}
	}
	return shares(sums, total), nil
}

// weighted is mass·parts of an origin.
type weighted struct {
	origin string
	sum    wide
}

// added returns sums, sorted by origin, with the weighted shares of p.
func added(sums []weighted, p Part) []weighted {
	out := make([]weighted, 0, len(sums)+len(p.Shares))
	for _, s := range p.sorted() {
		for len(sums) > 0 && sums[0].origin < s.Origin {
			out, sums = append(out, sums[0]), sums[1:]
		}
		if len(sums) > 0 && sums[0].origin == s.Origin {
			out, sums = append(out, sums[0]), sums[1:]
		}
		more := times(int64(p.Mass), s.Parts)
		if n := len(out); n > 0 && out[n-1].origin == s.Origin {
			out[n-1].sum = out[n-1].sum.plus(more)
		} else {
			out = append(out, weighted{s.Origin, more})
		}
	}
	return append(out, sums...)
}

// sorted returns the shares of p by known origins in order.
func (p Part) sorted() Shares {
	byOrigin := func(a, b Share) int { return strings.Compare(a.Origin, b.Origin) }
	if len(p.Shares) > 0 && p.Shares[0].Origin != "" && slices.IsSortedFunc(p.Shares, byOrigin) {
		return p.Shares
	}
	out := slices.Clone(p.Shares)
	for i := range out {
		out[i].Origin = known(out[i].Origin)
	}
	slices.SortFunc(out, byOrigin)
	return out
}

// shares divides the sums by origin by their total, to shares of One.
func shares(sums []weighted, total unit.Mass) Shares {
	products := make([]wide, len(sums))
	for i, s := range sums {
		products[i] = s.sum
	}
	out := make(Shares, 0, len(sums))
	for i, q := range divide(products, int64(total), One) {
		if q > 0 {
			out = append(out, Share{sums[i].origin, q})
		}
	}
	return out
}

// whole returns the sum of the shares of p, and whether p can be mixed: it has
// no negative mass, no share outside 0 to One, and One altogether.
func (p Part) whole() (sum int64, ok bool) {
	for _, s := range p.Shares {
		if s.Parts < 0 || s.Parts > One-sum {
			return s.Parts, false
		}
		sum += s.Parts
	}
	return sum, sum == One && p.Mass >= 0
}

// EffectiveSources returns the effective number of sources 1/Σp², the founder
// equivalents of Lacy (1989), Zoo Biology 8: 111-123: the number of sources
// that, contributing equally, would give the same diversity. Unknown counts as
// one source; no shares are 0 sources.
func EffectiveSources(s Shares) float64 {
	var sum wide
	for _, x := range s {
		sum = sum.plus(times(x.Parts, x.Parts))
	}
	if sum == (wide{}) {
		return 0
	}
	return One * One / sum.float()
}

// ShareOf returns the share of the given origins together, as those of a
// culture, from 0 to 1.
func ShareOf(s Shares, origins ...string) float64 {
	var sum int64
	for _, x := range s {
		if slices.Contains(origins, x.Origin) {
			sum += x.Parts
		}
	}
	return float64(sum) / One
}

// UnknownShare returns the share of the unknown origin, from 0 to 1.
func UnknownShare(s Shares) float64 { return ShareOf(s, Unknown) }
