package service

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// DefaultCastingsMoisture is what castings are booked with when nobody measured
// them: practice, no source; every figure that rests on it says so.
const DefaultCastingsMoisture unit.Percent = 65

// measure turns what was typed on every line into milligrams, once, against
// the book of that moment. A share without a species becomes a line for each
// species in the bin.
func (w *work) measure(faults *Faults, m *Movement) error {
	var out []Line
	taken := map[BinID]map[SpeciesID]unit.Mass{}
	for i, l := range m.Lines {
		pointer := fmt.Sprintf("/lines/%d", i)
		checkRange(faults, pointer+"/moisture_pct", l.Moisture, 0, 99.9)
		if m.FromBatch == "" && l.FromBin == "" {
			w.checkOrigin(faults, pointer, &l)
		}
		lines, err := w.resolve(m, l, taken)
		if fault, ok := errors.AsType[*Error](w.quantityError(err)); ok {
			faults.Add(pointer+cmp.Or(lineMember[fault.Code], "/quantity"), fault.Code, "%s", fault.Detail)
		} else if err != nil {
			return err
		}
		out = append(out, lines...)
	}
	m.Lines = out
	var total unit.Mass
	for _, l := range out {
		total += l.Mass
	}
	if len(*faults) == 0 && total == 0 {
		faults.Add("/lines", "range", "nothing would move")
	}
	return nil
}

// resolve turns a line of castings into one with its mass, and a line of worms
// into one for each species.
func (w *work) resolve(m *Movement, l Line, taken map[BinID]map[SpeciesID]unit.Mass) ([]Line, error) {
	if m.FromBatch == "" {
		return w.worms(l, m.At.Time, taken)
	}
	var err error
	l.Mass, err = w.castingsOf(m.FromBatch, m.At.Time, &l)
	return []Line{l}, err
}

// lineMember says which member of a line an error is about, where it isn't the
// quantity.
var lineMember = map[string]string{ErrSpeciesNeeded.Code: "/species", "unknown-size-class": "/size_class", "density-needed": "/density_g_per_l"}

// checkOrigin fills the species of stock from outside from its origin, and
// notes what doesn't fit.
func (w *work) checkOrigin(faults *Faults, pointer string, l *Line) {
	if l.Origin != "" {
		o, err := w.Origins.Get(l.Origin)
		if err != nil {
			checkRef(faults, pointer+"/origin", err)
			return
		}
		if l.Species == "" {
			l.Species = o.Species
		}
		if l.Species != o.Species {
			checkRef(faults, pointer+"/species", ErrSpeciesMismatch)
		}
	}
	w.checkSpecies(faults, pointer+"/species", l.Species)
}

// worms resolves a line of live worms into a line per species. What earlier
// lines of the same movement take from a bin is no longer there.
func (w *work) worms(l Line, at time.Time, taken map[BinID]map[SpeciesID]unit.Mass) ([]Line, error) {
	var book []quantity.Holding
	if l.FromBin != "" {
		stock, err := w.stockAt(l.FromBin, at)
		if err != nil {
			return nil, err
		}
		for s, m := range stock {
			book = append(book, quantity.Holding{Species: string(s), Book: m - taken[l.FromBin][s]})
		}
		slices.SortFunc(book, func(a, b quantity.Holding) int { return cmp.Compare(a.Species, b.Species) })
	}
	var meanErr error
	mean := func(species string) quantity.MeanMass {
		m, err := w.meanMass(l.FromBin, SpeciesID(species), at)
		meanErr = errors.Join(meanErr, err)
		return m
	}
	resolved, err := quantity.Resolve(quantity.Typed{
		Measure: l.Typed, DensityGPerL: l.Density, MeanMg: l.SampleMg, SizeClass: l.SizeClass,
		Species: string(l.Species), Booked: l.Booked,
	}, book, mean)
	if err := errors.Join(err, meanErr); err != nil {
		return nil, err
	}
	if taken[l.FromBin] == nil {
		taken[l.FromBin] = map[SpeciesID]unit.Mass{}
	}
	var out []Line
	for _, r := range resolved {
		l.Species, l.Mass, l.Basis, l.Worms, l.CV = SpeciesID(r.Species), r.Mass, r.Basis, r.Count, r.CV
		l.MeanMg, l.MeanBasis, l.Booked = r.MeanMg, r.MeanBasis, nil
		taken[l.FromBin][l.Species] += r.Mass
		out = append(out, l)
	}
	return out, nil
}

// meanMass returns what is on record about the mass of a worm: by the bin's
// latest census with weighed samples before that moment, else the species that
// its worms were identified as.
func (w *work) meanMass(bin BinID, species SpeciesID, at time.Time) (quantity.MeanMass, error) {
	if bin != "" {
		censuses, err := w.Censuses.List(Query{Bin: bin, Species: species, To: at.Add(time.Microsecond), Newest: true, Limit: 20})
		if err != nil {
			return quantity.MeanMass{}, err
		}
		for _, c := range censuses {
			if c.MeanMg != nil {
				return quantity.MeanMass{Mg: *c.MeanMg, CV: c.CV, Basis: quantity.LatestCensus}, nil
			}
		}
	}
	species, err := w.speciesIn(bin, species)
	if err != nil {
		return quantity.MeanMass{}, err
	}
	s, _ := w.desk.Reference.SpeciesByID(string(species))
	mg, _, ok := s.AdultMassMg()
	if !ok {
		return quantity.MeanMass{}, nil
	}
	return quantity.MeanMass{Mg: mg, CV: quantity.ReferenceCV, Basis: quantity.SpeciesAverage}, nil
}

// castingsOf resolves a quantity of castings of a batch into dry matter: a mass
// is wet, at the moisture given or else that of the batch; a share is of the
// book.
func (w *work) castingsOf(batch BatchID, at time.Time, l *Line) (unit.Mass, error) {
	share := unit.DimensionOf(l.Typed.Unit) == unit.DimShare
	l.Basis = quantity.Weighed
	if share {
		l.Basis = quantity.ByEye
	}
	if l.Booked != nil {
		return unit.MassOfGrams(l.Booked.Grams(), l.Typed)
	}
	if share {
		p, err := l.Typed.Share()
		if err != nil {
			return 0, err
		}
		book, err := w.castingsIn(batch, at)
		return unit.Mass(math.Round(float64(book) * float64(p) / 100)), err
	}
	wet, err := l.Typed.Mass()
	if err != nil {
		return 0, err
	}
	moisture, err := w.moistureOf(batch, at, l.Moisture)
	return dryOf(wet, moisture), err
}

// dryOf returns the dry matter of a wet mass at a moisture in % of wet mass.
func dryOf(wet unit.Mass, moisture unit.Percent) unit.Mass {
	return unit.Mass(math.Round(float64(wet) * (100 - float64(moisture)) / 100))
}

// moistureOf returns the moisture of castings: as measured, else as the batch was
// at that moment, else the labelled default.
func (w *work) moistureOf(batch BatchID, at time.Time, measured *unit.Percent) (unit.Percent, error) {
	if measured != nil {
		return *measured, nil
	}
	c, err := w.contents(batch, at)
	if moisture, known := c.Moisture(); known {
		return moisture, err
	}
	return DefaultCastingsMoisture, err
}

// quantityError turns the typed errors of package quantity into the catalogue's.
func (w *work) quantityError(err error) error {
	if e, ok := errors.AsType[*quantity.NoKnownStock](err); ok {
		return ErrNoKnownStock.Because(e)
	}
	if e, ok := errors.AsType[*quantity.SpeciesNeeded](err); ok {
		if len(e.Present) == 0 {
			return ErrSpeciesNeeded.With("say which species: the book has none in that bin")
		}
		return ErrSpeciesNeeded.With("say which species; in the bin are %v", e.Present)
	}
	if e, ok := errors.AsType[*quantity.DensityNeeded](err); ok {
		return &Error{Kind: Invalid, Code: "density-needed", Detail: e.Error()}
	}
	if e, ok := errors.AsType[*quantity.UnknownSizeClass](err); ok {
		return &Error{Kind: Invalid, Code: "unknown-size-class", Detail: e.Error()}
	}
	if e, ok := errors.AsType[*unit.DimensionError](err); ok {
		return &Error{Kind: Invalid, Code: "unit", Detail: e.Error()}
	}
	if e, ok := errors.AsType[*unit.RangeError](err); ok {
		return &Error{Kind: Invalid, Code: "range", Detail: e.Error()}
	}
	return err
}
