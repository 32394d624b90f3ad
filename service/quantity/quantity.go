// Package quantity turns what somebody typed (a mass, a count, a share of a bin
// judged by eye, a volume of worm-rich material) into whole milligrams, once,
// against the book of that moment.
package quantity

import (
	"math"

	"lumbricary.example/service/unit"
)

// Typed is a quantity of stock as it was typed.
type Typed struct {
	Measure      unit.Measure // a mass, {worms}, % or a volume
	DensityGPerL float64      // worms in the worm-rich material; needed for a volume
	MeanMg       float64      // milligrams a worm, from a weighed sample of this hand-over; 0: none
	SizeClass    SizeClass    // "": not told
	Species      string       // "": the only one with stock; for a share, every one with stock
	Booked       *unit.Mass   // what a re-imported record was booked as: not evaluated again
}

// Holding is the book of one species in the bin that the quantity is of.
type Holding struct {
	Species string
	Book    unit.Mass
}

// Resolved is a quantity of one species in milligrams, with what it rests on.
type Resolved struct {
	Species   string
	Mass      unit.Mass
	Basis     string
	Count     unit.Count // as typed; 0 if not counted
	CV        float64    // coefficient of variation of Mass
	MeanMg    float64    // milligrams a worm that made the count a mass; 0 if not counted
	MeanBasis string     // of MeanMg
}

// What the mass of a quantity rests on.
const (
	Weighed = "weighed"
	Counted = "count"
	ByEye   = "by-eye"
	Poured  = "volume"
)

// Uncertainties, all practice, for a club to change.
const (
	WeighedCV    = 0.02 // of a weighed mass
	ReferenceCV  = 0.35 // of a mean mass from a size class or a species
	VolumeCV     = 0.35 // of a volume times a density
	ByEyeLogitSD = 0.5  // of a share judged by eye, on the scale ln(p/(1-p))
)

// ByEyeCV returns the coefficient of variation of a mass that is the share p
// (0 to 1) of a book, judged by eye: ByEyeLogitSD·(1-p), to first order, as
// d ln p = (1-p)·d logit p. All of a bin is certain.
func ByEyeCV(p float64) float64 { return ByEyeLogitSD * (1 - p) }

// Resolve returns what t is in milligrams. The book holds the species in the
// bin that t is taken from or put into; mean returns what is on record about
// the mass of a worm there, by the latest census or else the species.
//
// A share applies to every species with stock unless one is named: the book
// times the share, to the nearest milligram, in the order of book. Anything
// else is of one species. A mass is taken as it is; a count is multiplied by
// the mean mass (see ChooseMean), a volume in litres by the density in g/L. A
// booked mass stands as it was booked.
//
// Errors: NoKnownStock for a share of nothing; SpeciesNeeded; DensityNeeded;
// UnknownSizeClass; unit.DimensionError; unit.RangeError.
func Resolve(t Typed, book []Holding, mean func(species string) MeanMass) ([]Resolved, error) {
	dim := unit.DimensionOf(t.Measure.Unit)
	if dim == unit.DimShare && t.Booked == nil {
		return t.share(book)
	}
	species, err := t.species(book)
	if err != nil {
		return nil, err
	}
	r, err := t.one(dim, species, mean)
	if err != nil {
		return nil, err
	}
	if t.Booked != nil {
		r = r.booked(*t.Booked)
	}
	if r.Mass < 0 || r.Mass > unit.MaxMass {
		return nil, &unit.RangeError{Got: t.Measure, Reason: "outside 0 to 1000 tonnes"}
	}
	return []Resolved{r}, nil
}

// booked returns r with the mass that it was booked as, and the mean mass of a
// worm that follows from it.
func (r Resolved) booked(m unit.Mass) Resolved {
	r.Mass = m
	if r.Count > 0 {
		r.MeanMg = float64(m) / float64(r.Count)
	}
	return r
}

// one returns t as a quantity of one species. Errors: as of Resolve.
func (t Typed) one(dim unit.Dimension, species string, mean func(string) MeanMass) (Resolved, error) {
	r := Resolved{Species: species}
	var err error
	switch dim {
	case unit.DimMass:
		r.Basis, r.CV = Weighed, WeighedCV
		r.Mass, err = t.Measure.Mass()
	case unit.DimCount:
		err = t.count(&r, mean(species))
	case unit.DimVolume:
		r.Basis, r.CV = Poured, VolumeCV
		r.Mass, err = t.volume()
	case unit.DimShare:
		var p unit.Percent
		p, err = t.Measure.Share()
		r.Basis, r.CV = ByEye, ByEyeCV(float64(p)/100)
	case unit.NoDimension, unit.DimTemperature, unit.DimArea:
		err = &unit.DimensionError{
			Got:  t.Measure.Unit,
			Want: []unit.Dimension{unit.DimMass, unit.DimCount, unit.DimShare, unit.DimVolume},
		}
	}
	return r, err
}

// count fills r from a count. Errors: UnknownSizeClass, unit.RangeError.
func (t Typed) count(r *Resolved, recorded MeanMass) error {
	n, err := t.Measure.Count()
	if err != nil {
		return err
	}
	m, err := t.chooseMean(recorded)
	if err != nil {
		return err
	}
	r.Basis, r.Count, r.CV, r.MeanMg, r.MeanBasis = Counted, n, m.CV, m.Mg, m.Basis
	r.Mass, err = unit.MassOfGrams(float64(n)*m.Mg/1000, t.Measure)
	return err
}

// volume returns the mass of worms in a volume. Errors: DensityNeeded,
// unit.RangeError.
func (t Typed) volume() (unit.Mass, error) {
	l, err := t.Measure.Volume()
	if err != nil {
		return 0, err
	}
	if err := finite(unit.Measure{Value: t.DensityGPerL, Unit: "g/L"}); err != nil {
		return 0, err
	}
	if t.DensityGPerL == 0 {
		return 0, &DensityNeeded{t.Measure}
	}
	return unit.MassOfGrams(float64(l)*t.DensityGPerL, t.Measure)
}

// share returns the share t of each species that it applies to. Errors:
// NoKnownStock, unit.RangeError.
func (t Typed) share(book []Holding) ([]Resolved, error) {
	percent, err := t.Measure.Share()
	if err != nil {
		return nil, err
	}
	var out []Resolved
	for _, h := range book {
		if h.Book <= 0 || t.Species != "" && t.Species != h.Species {
			continue
		}
		mass := unit.Mass(math.Round(float64(h.Book) * float64(percent) / 100))
		out = append(out, Resolved{Species: h.Species, Mass: mass, Basis: ByEye, CV: ByEyeCV(float64(percent) / 100)})
	}
	if len(out) == 0 {
		return nil, &NoKnownStock{t.Species}
	}
	return out, nil
}

// species returns the species that t is of: the one named, or the only one
// with stock. Errors: SpeciesNeeded.
func (t Typed) species(book []Holding) (string, error) {
	if t.Species != "" {
		return t.Species, nil
	}
	var present []string
	for _, h := range book {
		if h.Book > 0 {
			present = append(present, h.Species)
		}
	}
	if len(present) != 1 {
		return "", &SpeciesNeeded{present}
	}
	return present[0], nil
}
