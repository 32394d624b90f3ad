package quantity

import "lumbricary.example/service/unit"

// MeanMass is the mean mass of a worm, in milligrams, and how it is known. The
// zero MeanMass is not known.
type MeanMass struct {
	Mg    float64
	CV    float64 // coefficient of variation of Mg; 0: as the basis has it
	Basis string
}

// How a mean mass is known, from the best to the least.
const (
	WeighedSample  = "weighed-sample" // of this hand-over
	LatestCensus   = "census"         // of the bin
	ClassFigure    = "size-class"
	SpeciesAverage = "species" // adults
)

// SizeClass is a class that stock is sorted and sold by. The empty class is not
// told.
type SizeClass string

// The size classes.
const (
	Unsorted  SizeClass = "unsorted" // counts as bed-run
	BedRun    SizeClass = "bed-run"  // all sizes as they come out of the bed
	Breeders  SizeClass = "breeders"
	BaitSize  SizeClass = "bait-size"
	Juveniles SizeClass = "juveniles"
)

const milligramsPerPound = 453592.37 // exact, by definition

// MeanMass returns what a worm of the class weighs: one pound over the number
// to a pound, which is 500 breeders or bait-size worms (907.18 mg), 1,000
// bed-run worms (453.59 mg) or 2,000 juveniles (226.80 mg).
//
// Source: extension text, "500 adults, 1,000 mixed, 2,000 juveniles a pound"
// (seen). The common 4,000 bed-run worms a kilogram, 250 mg, has no source and
// is not used. The coefficient of variation is that of a reference figure.
//
// The zero MeanMass is returned for the empty class. Errors: UnknownSizeClass.
func (c SizeClass) MeanMass() (MeanMass, error) {
	switch c {
	case "":
		return MeanMass{}, nil
	case Unsorted, BedRun:
		return perPound(1000), nil
	case Breeders, BaitSize:
		return perPound(500), nil
	case Juveniles:
		return perPound(2000), nil
	}
	return MeanMass{}, &UnknownSizeClass{c}
}

func perPound(worms float64) MeanMass {
	return MeanMass{milligramsPerPound / worms, ReferenceCV, ClassFigure}
}

// ChooseMean returns the best of what is known about the mean mass of a worm:
// a weighed sample of this hand-over, the bin's latest census, the figure of
// the size class, the average of the species. Where nothing is known the stock
// counts as bed-run.
func ChooseMean(sample, census, class, species MeanMass) MeanMass {
	for _, m := range []MeanMass{sample, census, class, species} {
		if m.Mg > 0 {
			return m
		}
	}
	return perPound(1000)
}

// chooseMean applies ChooseMean to what was typed and what is on record.
// Errors: UnknownSizeClass; unit.RangeError for a sample that is no mass.
func (t Typed) chooseMean(recorded MeanMass) (MeanMass, error) {
	class, err := t.SizeClass.MeanMass()
	if err != nil {
		return MeanMass{}, err
	}
	if err := finite(unit.Measure{Value: t.MeanMg, Unit: "mg"}); err != nil {
		return MeanMass{}, err
	}
	sample := MeanMass{t.MeanMg, WeighedCV, WeighedSample}
	if recorded.CV == 0 {
		recorded.CV = ReferenceCV
	}
	if recorded.Basis == LatestCensus {
		return ChooseMean(sample, recorded, class, MeanMass{}), nil
	}
	return ChooseMean(sample, MeanMass{}, class, recorded), nil
}
