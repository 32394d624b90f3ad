package census

import (
	"fmt"
	"math"
	"slices"

	"lumbricary.example/service/unit"
)

// maxCount is the largest number of worms in one quantity.
const maxCount = 1e9

// FrameError reports a frame that samples can't be raised to.
type FrameError struct{ Reason string }

// Error says what is wrong with the frame.
func (e *FrameError) Error() string { return "frame: " + e.Reason }

// SampleError reports a sample that can't be right.
type SampleError struct {
	Index  int // of the sample, from 0; -1: all together
	Reason string
}

// Error names the sample and what is wrong with it.
func (e *SampleError) Error() string {
	if e.Index < 0 {
		return "samples: " + e.Reason
	}
	return fmt.Sprintf("sample %d: %s", e.Index+1, e.Reason)
}

// FallbackError reports a mean mass of a worm that can't be right.
type FallbackError struct{ MeanMass MeanMass }

// Error says the mean mass.
func (e *FallbackError) Error() string {
	return fmt.Sprintf("mean mass of %g mg with cv %g: neither may be negative or infinite", e.MeanMass.MG, e.MeanMass.CV)
}

// check returns the first fault of the input. Errors: FrameError, SampleError,
// FallbackError.
func check(f Frame, samples []Sample, fallback MeanMass) error {
	if err := checkFrame(f); err != nil {
		return err
	}
	if len(samples) == 0 {
		return &SampleError{-1, "none given"}
	}
	for i, s := range samples {
		if reason := fault(f, s); reason != "" {
			return &SampleError{i, reason}
		}
	}
	if !nonNegative(fallback.MG) || !nonNegative(fallback.CV) {
		return &FallbackError{fallback}
	}
	return checkSizes(f, samples)
}

// checkFrame returns the first fault of f. Errors: FrameError.
func checkFrame(f Frame) error {
	if !slices.Contains([]string{"m2", "g", "L"}, f.Unit) {
		return &FrameError{fmt.Sprintf("sizes in %q; use m2, g or L", f.Unit)}
	}
	if len(f.Strata) == 0 {
		return &FrameError{"no stratum"}
	}
	for i, s := range f.Strata {
		switch {
		case !positive(s.Size):
			return &FrameError{fmt.Sprintf("stratum %q needs a size above 0", s.Name)}
		case s.Name == "" && len(f.Strata) > 1:
			return &FrameError{"of several strata each needs a name"}
		case f.find(s.Name) != i:
			return &FrameError{fmt.Sprintf("stratum %q twice", s.Name)}
		}
	}
	return nil
}

// fault says what is wrong with s, or "".
func fault(f Frame, s Sample) string {
	switch {
	case !positive(s.Size):
		return "its size must be above 0"
	case s.Count < 0 || s.Count > maxCount:
		return "a count is 0 to 1000000000"
	case s.Mass < 0 || s.Mass > unit.MaxMass:
		return "a mass is 0 to 1000 tonnes"
	case s.Mass > 0 && s.Count == 0:
		return "a mass of no worms"
	case f.find(s.Stratum) < 0:
		return fmt.Sprintf("the frame has no stratum %q", s.Stratum)
	}
	return stageFault(s)
}

// stageFault says what is wrong with the life stages of s, or "".
func stageFault(s Sample) string {
	worms := 0
	for _, n := range []*int{s.Adults, s.Juveniles, s.Cocoons} {
		if n != nil && (*n < 0 || *n > maxCount) {
			return "a count is 0 to 1000000000"
		}
	}
	for _, n := range []*int{s.Adults, s.Juveniles} {
		if n != nil {
			worms += *n
		}
	}
	if worms > s.Count {
		return "more adults and juveniles than worms"
	}
	return ""
}

// checkSizes refuses samples that together are larger than what they were
// taken from. Errors: FrameError.
func checkSizes(f Frame, samples []Sample) error {
	for i, st := range f.Strata {
		var taken float64
		for _, s := range samples {
			if f.find(s.Stratum) == i {
				taken += s.Size
			}
		}
		if taken > st.Size*(1+1e-9) { // sums of decimal fractions miss the whole by rounding
			return &FrameError{fmt.Sprintf("samples of %g %s out of a stratum %q of %g", taken, f.Unit, st.Name, st.Size)}
		}
	}
	return nil
}

// find returns the index of the stratum that a sample of the given name
// belongs to, or -1.
func (f Frame) find(name string) int {
	if len(f.Strata) == 1 && f.Strata[0].Name == "" {
		return 0
	}
	return slices.IndexFunc(f.Strata, func(s Stratum) bool { return s.Name == name })
}

func positive(x float64) bool    { return x > 0 && !math.IsInf(x, 1) }
func nonNegative(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
