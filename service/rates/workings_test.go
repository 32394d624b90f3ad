package rates_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/working"
)

func TestEveryFigureComesOutAgainFromItsWorking(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		for _, f := range rates.Of(drawBin(t)).Workings() {
			if !f.Result.Known {
				continue
			}
			want := map[string]float64{working.TheValue: f.Result.Value}
			if f.Result.Level > 0 {
				want[working.TheLow], want[working.TheHigh] = f.Result.Low, f.Result.High
			}
			for what, x := range want {
				if v, err := f.Again(what); err != nil || math.Abs(v-x) > 1e-6*math.Max(1, math.Abs(x)) {
					t.Fatalf("%s: %s comes out as %v (%v), not %v: %+v", f.Name, what, v, err, x, f)
				}
			}
		}
	})
}
