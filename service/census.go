package service

import (
	"errors"
	"math"
	"slices"

	"lumbricary.example/service/census"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// Census is an estimate of the stock of one species in a bin: from samples, or
// a keeper's figure with its interval. It asserts a level: a posting brings the
// book to it when the book lies outside the interval or Apply is set.
type Census struct {
	ID       CensusID   // also the id of its first movement
	Movement MovementID // that posts for it now; a late entry makes it post anew
	Bin      BinID
	Species  SpeciesID
	At       Moment
	Samples  []Sample   // empty: a keeper's figure
	Typed    CensusText // what a keeper gave as figure
	Apply    bool
	Mass     unit.Mass // the estimate
	Low      unit.Mass // its 95 % interval
	High     unit.Mass
	CV       float64 // log-scale standard deviation of the mass
	Worms    *unit.Count
	MeanMg   *float64 // mass of a worm, where samples were weighed
	Book     unit.Mass
	Posted   unit.Mass // what the posting added to the book; 0: none needed
	Warnings []string
	Note     string
	Recorded Recorded
	Version  int64
}

// CensusText is a keeper's figure as typed; empty when samples were counted.
type CensusText struct {
	Estimate, Low, High unit.Measure
}

// Sample is one counted sample of a census.
type Sample struct {
	Stratum   string    // feed-zone, elsewhere, under-cover; empty: anywhere
	Area      unit.Area // surface of the sample
	Worms     unit.Count
	Mass      unit.Mass // of the counted worms; 0: not weighed
	Adults    *unit.Count
	Juveniles *unit.Count
	Cocoons   *unit.Count
}

const maxSamples = 200

// addCensus records a census and its movement, which posts the difference to
// the book when the book lies outside the interval or Apply is set. Errors:
// ErrInvalid, ErrForbidden, ErrMoreThanBook when later movements took more than
// the census leaves.
func (w *work) addCensus(c Census) (Census, error) {
	var faults Faults
	c.ID = CensusID(w.id(string(c.ID), &faults))
	if err := w.settleOnBin(&faults, c.Bin, &c.At); err != nil {
		return Census{}, err
	}
	checkNote(&faults, "/note", c.Note)
	w.checkSpecies(&faults, "/species", c.Species)
	if err := faults.Err(); err != nil {
		return Census{}, err
	}
	bin, err := w.Bins.Get(c.Bin)
	if err != nil {
		return Census{}, err
	}
	if err := w.estimate(&faults, &c, bin); err != nil {
		return Census{}, err
	}
	if err := faults.Err(); err != nil {
		return Census{}, err
	}
	stock, err := w.stockAt(c.Bin, c.At.Time)
	if err != nil {
		return Census{}, err
	}
	c.Book = stock[c.Species]
	m := Movement{ID: MovementID(c.ID), Kind: journal.Census, At: c.At, ToMember: bin.Keeper, Note: c.Note}
	if c.Apply || c.Book < c.Low || c.Book > c.High {
		c.Posted = c.Mass - c.Book
		m.Postings = journal.Assert(journal.Bin(string(c.Bin)), journal.Worms(string(c.Species)), c.Mass, c.Book)
	}
	if err := w.post(&m); err != nil {
		return Census{}, err
	}
	if err := w.touch(c.Bin, CensusEvent, m); err != nil {
		return Census{}, err
	}
	c.Movement, c.Recorded, c.Version = m.ID, m.Recorded, 1
	return c, w.Censuses.Insert(c)
}

// estimate fills the census from its samples or from the keeper's figure.
func (w *work) estimate(faults *Faults, c *Census, bin Bin) error {
	var r census.Result
	var err error
	switch {
	case len(c.Samples) > maxSamples:
		faults.Add("/samples", "range", "at most %d samples", maxSamples)
		return nil
	case len(c.Samples) > 0 && c.Typed.Estimate.Unit != "":
		faults.Add("/estimate", "shape", "give samples or an estimate, not both")
		return nil
	case len(c.Samples) > 0:
		mean, meanErr := w.meanMass(c.Bin, c.Species, c.At.Time)
		if meanErr != nil {
			return meanErr
		}
		r, err = c.fromSamples(bin, mean)
	default:
		r, err = c.fromFigure(faults)
	}
	if len(*faults) > 0 {
		return nil
	}
	if err != nil {
		faults.Add("/samples", "census", "%s", err)
		return nil
	}
	if !r.Mass.Known {
		faults.Add("/samples", r.Mass.Reason, "no mass can be had from these samples")
		return nil
	}
	c.take(r)
	return nil
}

// take copies the result of an estimate into the census.
func (c *Census) take(r census.Result) {
	grams := func(g float64) unit.Mass {
		return unit.Mass(math.Round(min(g, unit.MaxMass.Grams()) * float64(unit.Gram)))
	}
	c.Mass, c.Low, c.High, c.CV, c.Warnings = grams(r.Mass.Value), grams(r.Mass.Low), grams(r.Mass.High), r.CV, r.Warnings
	c.Low, c.High = min(c.Low, c.Mass), max(c.High, c.Mass)
	if r.Count.Known {
		n := unit.Count(math.Round(r.Count.Value))
		c.Worms = &n
	}
	if r.MeanMass.Known {
		mg := r.MeanMass.Value * 1000
		c.MeanMg = &mg
	}
}

// fromFigure reads a keeper's figure with its interval.
func (c *Census) fromFigure(faults *Faults) (census.Result, error) {
	mass := func(pointer string, q unit.Measure) unit.Mass {
		if q.Unit == "" {
			faults.Add(pointer, "required", "give samples, or an estimate with its low and high")
			return 0
		}
		m, err := q.Mass()
		faults.Check(pointer, quantityCode(err), err)
		return m
	}
	value, low, high := mass("/estimate", c.Typed.Estimate), mass("/low", c.Typed.Low), mass("/high", c.Typed.High)
	if len(*faults) > 0 {
		return census.Result{}, nil
	}
	r, err := census.FromFigure(value, low, high)
	faults.Check("/estimate", "interval", err)
	return r, err
}

// StrataTakenAsEqual warns that nobody measured the strata: each counts as an
// equal part of the bin's surface.
const StrataTakenAsEqual = "strata_taken_as_equal"

// fromSamples estimates from the counted samples. The bin's surface is divided
// evenly between the strata that were sampled, with a warning. Samples without a
// stratum stand for the whole surface, or for elsewhere beside named ones.
func (c *Census) fromSamples(bin Bin, mean quantity.MeanMass) (census.Result, error) {
	if bin.Surface == 0 {
		return census.Result{}, errors.New("the bin's surface isn't known; add surface_m2 to the bin, or give an estimate")
	}
	named := slices.ContainsFunc(c.Samples, func(s Sample) bool { return s.Stratum != "" })
	samples := make([]census.Sample, len(c.Samples))
	var strata []string
	for i, s := range c.Samples {
		if named && s.Stratum == "" {
			s.Stratum = census.Elsewhere
		}
		samples[i] = census.Sample{
			Stratum: s.Stratum, Size: float64(s.Area), Count: int(s.Worms), Mass: s.Mass,
			Adults: whole(s.Adults), Juveniles: whole(s.Juveniles), Cocoons: whole(s.Cocoons),
		}
		if !slices.Contains(strata, s.Stratum) {
			strata = append(strata, s.Stratum)
		}
	}
	frame := census.Frame{Unit: "m2"}
	for _, name := range strata {
		frame.Strata = append(frame.Strata, census.Stratum{Name: name, Size: float64(bin.Surface) / float64(len(strata))})
	}
	r, err := census.Estimate(frame, samples, census.MeanMass{MG: mean.Mg, CV: mean.CV, Basis: mean.Basis})
	if len(strata) > 1 {
		r.Warnings = append(r.Warnings, StrataTakenAsEqual)
	}
	return r, err
}

func whole(n *unit.Count) *int {
	if n == nil {
		return nil
	}
	i := int(*n)
	return &i
}
