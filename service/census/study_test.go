package census_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"lumbricary.example/service/census"
	"lumbricary.example/service/unit"
)

// The study counts how often an interval holds the truth, which is the total
// of the finite bin that the samples were taken from. CENSUS_STUDY_RUNS sets
// the runs a cell; gates widen by four binomial standard errors.

// world is a bin made of cells, each a possible sample, filled at random.
type world struct {
	cells   []int     // per stratum
	means   []float64 // worms a cell, per stratum
	clump   float64   // k of the negative binomial
	samples int       // per stratum
}

// coverage is how often each interval held the truth.
type coverage struct{ count, mass, plainT float64 }

const wormMG, wormSD = 400, 0.5 // mean mass (mg) and log sd of one worm in the simulated bins

// fill draws the worms of one cell with the mass (mg) of all of them: a
// gamma-distributed attraction, Poisson worms, lognormal worm masses.
func (w world) fill(stratum int, rng *rand.Rand) (worms int, mass unit.Mass) {
	pull := distuv.Gamma{Alpha: w.clump, Beta: w.clump / w.means[stratum], Src: rng}.Rand()
	worms = int(distuv.Poisson{Lambda: pull, Src: rng}.Rand())
	for range worms {
		mass += unit.Mass(math.Ceil(wormMG * math.Exp(wormSD*rng.NormFloat64()-wormSD*wormSD/2)))
	}
	return worms, mass
}

// sample fills one bin and samples it; worms and mass are the truth.
func (w world) sample(rng *rand.Rand) (f census.Frame, taken []census.Sample, worms int, mass unit.Mass) {
	f.Unit = "m2"
	for i, cells := range w.cells {
		name := fmt.Sprint("stratum ", i)
		f.Strata = append(f.Strata, census.Stratum{Name: name, Size: float64(cells)})
		for c := range cells {
			n, m := w.fill(i, rng)
			worms, mass = worms+n, mass+m
			if c < w.samples {
				taken = append(taken, census.Sample{Stratum: name, Size: 1, Count: n, Mass: m})
			}
		}
	}
	return f, taken, worms, mass
}

// study fills, samples and estimates many bins from a fixed seed.
func (w world) study(t *testing.T, runs int) coverage {
	t.Helper()
	rng := rand.New(rand.NewPCG(uint64(w.samples), math.Float64bits(w.clump*w.means[0])))
	var held coverage
	for range runs {
		f, taken, worms, mass := w.sample(rng)
		r, err := census.Estimate(f, taken, census.MeanMass{})
		if err != nil {
			t.Fatal(err)
		}
		low, high := plainT(taken, float64(w.cells[0]))
		held.count += within(r.Count.Low, r.Count.High, float64(worms))
		held.mass += within(r.Mass.Low, r.Mass.High, mass.Grams())
		held.plainT += within(low, high, float64(worms))
	}
	n := float64(runs)
	return coverage{held.count / n, held.mass / n, held.plainT / n}
}

// plainT is the plain t interval for the total of a bin of so many cells.
func plainT(taken []census.Sample, cells float64) (low, high float64) {
	var sum, squares float64
	for _, s := range taken {
		sum += float64(s.Count)
		squares += float64(s.Count * s.Count)
	}
	n := float64(len(taken))
	sd := math.Sqrt((squares - sum*sum/n) / (n - 1))
	low, high = census.TInterval(sum/n, sd*math.Sqrt(1-n/cells), len(taken))
	return low * cells, high * cells
}

// within is 1 if the limits hold the truth, else 0.
func within(low, high, truth float64) float64 {
	const rounding = 1e-9
	if low*(1-rounding) <= truth && truth <= high*(1+rounding) {
		return 1
	}
	return 0
}

func studyRuns(t *testing.T) int {
	s, ok := os.LookupEnv("CENSUS_STUDY_RUNS")
	if !ok {
		return 200
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		t.Fatalf("CENSUS_STUDY_RUNS=%q is not a number of runs", s)
	}
	return n
}

// gate fails when a share from runs lies outside the limits by more than
// chance allows.
func gate(t *testing.T, what string, share, low, high float64, runs int) {
	t.Helper()
	chance := func(p float64) float64 { return 4 * math.Sqrt(p*(1-p)/float64(runs)) }
	if share < low-chance(low) || share > high+chance(high) {
		t.Errorf("%s: coverage %.4f, want %.2f to %.2f", what, share, low, high)
	}
}

func TestIntervalOfOneStratumHoldsTheTruthAsOftenAsPromised(t *testing.T) {
	t.Parallel()
	runs := studyRuns(t)
	for _, samples := range []int{6, 8, 12, 20} {
		for _, k := range []float64{0.5, 1, 2, 5} {
			t.Run(fmt.Sprintf("%d samples, k %g", samples, k), func(t *testing.T) {
				t.Parallel()
				for _, mean := range []float64{3, 10, 30} {
					w := world{cells: []int{100}, means: []float64{mean}, clump: k, samples: samples}
					c := w.study(t, runs)
					t.Logf("n %2d  k %3g  mean %2g  count %.4f  weighed mass %.4f  plain t %.4f", samples, k, mean, c.count, c.mass, c.plainT)
					gate(t, "count", c.count, 0.94, 0.98, runs)
					gate(t, "weighed mass", c.mass, 0.92, 0.98, runs) // as measured: lowest at k 0.5
				}
			})
		}
	}
}

func TestIntervalOfStrataHoldsTheTruthAsOftenAsPromised(t *testing.T) {
	t.Parallel()
	runs := studyRuns(t)
	for _, samples := range []int{4, 6, 10} {
		for _, k := range []float64{1, 2, 5} {
			t.Run(fmt.Sprintf("%d samples, k %g", samples, k), func(t *testing.T) {
				t.Parallel()
				for _, means := range [][]float64{{30, 5}, {10, 3}, {30, 10, 5}} {
					w := world{cells: []int{40, 60, 50}[:len(means)], means: means, clump: k, samples: samples}
					c := w.study(t, runs)
					t.Logf("n %2d a stratum  k %g  means %v  count %.4f  weighed mass %.4f", samples, k, means, c.count, c.mass)
					gate(t, "count", c.count, 0.93, 0.97, runs)
					gate(t, "weighed mass", c.mass, 0.93, 0.97, runs)
				}
			})
		}
	}
}
