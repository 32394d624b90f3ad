package picture

import (
	"math"
	"strconv"
)

// scale is a measure from zero up.
type scale struct {
	top, step float64
}

// scaleTo returns a scale from 0 to a round number at or above most, in at most
// five steps of 1, 2 or 5 times a power of ten.
func scaleTo(most float64) scale {
	if most <= 0 {
		return scale{1, 1}
	}
	step := math.Pow(10, math.Floor(math.Log10(most/5)))
	for _, times := range []float64{1, 2, 5, 10} {
		if s := step * times; most/s <= 5 {
			return scale{math.Ceil(most/s-1e-9) * s, s}
		}
	}
	return scale{most, most}
}

// ticks are the steps of the scale up to a height, from 0.
func (s scale) ticks(upTo float64) []float64 {
	var out []float64
	for i := 0; float64(i)*s.step <= upTo*(1+1e-9); i++ {
		out = append(out, float64(i)*s.step)
	}
	return out
}

// word writes a step of the scale, with no more decimals than steps have.
func (s scale) word(v float64) string {
	return strconv.FormatFloat(v, 'f', max(0, int(math.Ceil(-math.Log10(s.step)-1e-9))), 64)
}

// room is how wide the words of a scale are.
func (s scale) room() float64 {
	widest := 0.0
	for _, t := range s.ticks(s.top) {
		widest = max(widest, widthOf(s.word(t), 12, false))
	}
	return widest
}
