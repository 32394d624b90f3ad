package lineage

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// wide is an unsigned 128-bit integer.
type wide struct{ hi, lo uint64 }

// times returns a·b; neither is negative.
func times(a, b int64) wide {
	hi, lo := bits.Mul64(uint64(a), uint64(b)) //nolint:gosec // G115: never negative
	return wide{hi, lo}
}

func (w wide) plus(v wide) wide {
	lo, carry := bits.Add64(w.lo, v.lo, 0)
	hi, _ := bits.Add64(w.hi, v.hi, carry)
	return wide{hi, lo}
}

func (w wide) float() float64 { return math.Ldexp(float64(w.hi), 64) + float64(w.lo) }

// divide returns each product over total in whole numbers that sum to whole:
// rounded down, and what is left goes, one each, to the largest remainders,
// ties to the earlier. The products must sum to total·whole, and total must be
// positive.
func divide(products []wide, total, whole int64) []int64 {
	out := make([]int64, len(products))
	remainder := make([]uint64, len(products))
	order := make([]int, len(products))
	for i, p := range products {
		q, r := bits.Div64(p.hi, p.lo, uint64(total))   //nolint:gosec // G115: never negative
		out[i], remainder[i], order[i] = int64(q), r, i //nolint:gosec // G115: at most whole
		whole -= out[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(remainder[b], remainder[a]) })
	for _, i := range order[:whole] {
		out[i]++
	}
	return out
}
