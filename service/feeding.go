package service

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Recorded says who wrote a record and when, and on whose behalf.
type Recorded struct {
	Seq int64 // database-wide order of recording; may have gaps
	At  time.Time
	By  MemberID
}

// Voiding says who took a record back that posts nothing, and when. The record
// stays, and counts for nothing.
type Voiding struct {
	At time.Time // zero: it stands
	By MemberID
}

// Placement is how feed was put in.
type Placement string

// The placements.
const (
	Pocket        Placement = "pocket"
	Trench        Placement = "trench"
	Scattered     Placement = "scattered"
	Wrapped       Placement = "wrapped"
	OnSurface     Placement = "surface"
	PlacedSomehow Placement = ""
)

// Preparation is what was done to feed before.
type Preparation string

// The preparations.
const (
	Fresh           Preparation = "fresh"
	Frozen          Preparation = "frozen"
	PreComposted    Preparation = "pre-composted"
	Ground          Preparation = "ground"
	PreparedSomehow Preparation = ""
)

// Feeding is materials put into a bin at one time.
type Feeding struct {
	ID          FeedingID
	Bin         BinID
	At          Moment
	Items       []FeedingItem
	Placement   Placement
	Preparation Preparation
	Note        string
	Recorded    Recorded
	Voided      Voiding
	Version     int64
}

func (f Feeding) void() bool { return !f.Voided.At.IsZero() }

// FeedingItem is one material of a feeding.
type FeedingItem struct {
	Material MaterialID
	Typed    unit.Measure // a mass, or a volume of a material whose density is known; with a measure: what both weigh together
	Measure  MeasureID    // in which it was weighed or measured; may be empty
	Count    *float64     // how many of the measure, filled; Typed is empty then
	Receipt  ReceiptID    // it came in with; empty: not told
	Wet      unit.Mass
	Moisture *unit.Percent // measured; nil: the material's
	Weighed  bool          // false: from a volume and the material's density
}

const maxFeedingItems = 20

// addFeeding records a feeding. Errors: ErrInvalid, ErrForbidden,
// ErrBinRetired.
func (w *work) addFeeding(f Feeding) (Feeding, error) {
	var faults Faults
	f.ID = FeedingID(w.id(string(f.ID), &faults))
	if err := w.settleOnBin(&faults, f.Bin, &f.At); err != nil {
		return Feeding{}, err
	}
	w.checkFeeding(&faults, &f, nil)
	if err := faults.Err(); err != nil {
		return Feeding{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Feeding{}, err
	}
	f.Recorded, f.Version = rec, 1
	if err := w.Feedings.Insert(f); err != nil {
		return Feeding{}, err
	}
	return f, w.Events.Insert(BinEvent{f.Bin, f.At.Time, rec.Seq, FeedingEvent, string(f.ID)})
}

// checkFeeding notes what is wrong with a feeding, and weighs its items; those
// that were weighed before stay as they were booked.
func (w *work) checkFeeding(faults *Faults, f *Feeding, before []FeedingItem) {
	checkWord(faults, "/placement", f.Placement, PlacedSomehow, Pocket, Trench, Scattered, Wrapped, OnSurface)
	checkWord(faults, "/preparation", f.Preparation, PreparedSomehow, Fresh, Frozen, PreComposted, Ground)
	checkNote(faults, "/note", f.Note)
	if n := len(f.Items); n == 0 || n > maxFeedingItems {
		faults.Add("/items", "range", "a feeding has 1 to %d materials", maxFeedingItems)
	}
	f.Items = slices.Clone(f.Items)
	for i := range f.Items {
		it := &f.Items[i]
		w.checkReceiptOf(faults, fmt.Sprintf("/items/%d/receipt", i), *it)
		same := slices.IndexFunc(before, it.sameAs)
		if same < 0 {
			w.weigh(faults, fmt.Sprintf("/items/%d", i), it)
			continue
		}
		it.Wet, it.Weighed = before[same].Wet, before[same].Weighed
		checkRange(faults, fmt.Sprintf("/items/%d/moisture_pct", i), it.Moisture, 0, 99.9)
	}
}

// sameAs reports whether the same was typed of two items.
func (it FeedingItem) sameAs(other FeedingItem) bool {
	counted := it.Count == other.Count || it.Count != nil && other.Count != nil && *it.Count == *other.Count
	return counted && it.Material == other.Material && it.Typed == other.Typed && it.Measure == other.Measure
}

// changeFeeding changes a feeding but for its bin. Errors: ErrForbidden,
// ErrInvalid, ErrVoided, ErrStale.
func (w *work) changeFeeding(old, f Feeding) (Feeding, error) {
	f.Recorded, f.Voided, f.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/bin", f.Bin, old.Bin)
	if err := w.settleAgain(&faults, old.Bin, &f.At, old.At); err != nil {
		return Feeding{}, err
	}
	if old.void() {
		return Feeding{}, ErrVoided
	}
	w.checkFeeding(&faults, &f, old.Items)
	if err := faults.Err(); err != nil {
		return Feeding{}, err
	}
	event := BinEvent{old.Bin, old.At.Time, old.Recorded.Seq, FeedingEvent, string(old.ID)}
	if err := w.moveEvent(event, f.At.Time); err != nil {
		return Feeding{}, err
	}
	return put(w.Feedings, old, f)
}

// voidFeeding takes a feeding back. Errors: ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidFeeding(f Feeding) (Feeding, error) {
	if _, err := w.binFor(f.Bin, f.At); err != nil {
		return Feeding{}, err
	}
	if f.void() {
		return Feeding{}, ErrVoided
	}
	old := f
	f.Voided = Voiding{w.now, w.author()}
	return put(w.Feedings, old, f)
}

// settleOnBin settles the moment of a record and checks its bin. What the
// caller must not know or do ends the request; a moment out of bounds is a
// fault among others. Errors: ErrForbidden.
func (w *work) settleOnBin(faults *Faults, bin BinID, at *Moment) error {
	w.settle(faults, "/at", at)
	return w.settleOnBinAt(faults, bin, at)
}

// settleOnBinAt is the part of settleOnBin that looks at the bin. Errors:
// ErrForbidden.
func (w *work) settleOnBinAt(faults *Faults, bin BinID, at *Moment) error {
	_, err := w.binFor(bin, *at)
	switch {
	case errors.Is(err, ErrBinNotFound):
		checkRef(faults, "/bin", err)
	case errors.Is(err, ErrBeforeStart), errors.Is(err, ErrBinRetired):
		if !at.Time.IsZero() {
			checkRef(faults, "/at", err)
		}
	default:
		return err
	}
	return nil
}

// weigh turns what was typed for one material into its wet mass.
func (w *work) weigh(faults *Faults, pointer string, it *FeedingItem) {
	m, err := w.Materials.Get(it.Material)
	if err != nil {
		checkRef(faults, pointer+"/material", err)
		return
	}
	checkRange(faults, pointer+"/moisture_pct", it.Moisture, 0, 99.9)
	member := "/quantity"
	if it.Count != nil {
		member = "/count"
	}
	switch {
	case it.Count == nil && it.Typed.Unit == "":
		faults.Add(pointer+member, "required", "say how much it was: a quantity, or a count of a measure")
		return
	case it.Count != nil && it.Typed.Unit != "":
		faults.Add(pointer+member, "shape", "give a quantity or a count, not both")
		return
	case it.Measure != "":
		v, err := w.Measures.Get(it.Measure)
		if err != nil {
			checkRef(faults, pointer+"/measure", err)
			return
		}
		it.Wet, it.Weighed, err = m.wetIn(v, *it)
		faults.Check(pointer+member, quantityCode(err), err)
		return
	case it.Count != nil:
		faults.Add(pointer+"/measure", "required", "a count is of a measure; say which")
		return
	}
	it.Wet, it.Weighed, err = m.wet(it.Typed)
	faults.Check(pointer+member, quantityCode(err), err)
}

// How many of a measure one item may be.
const (
	minCount = 0.001
	maxCount = 1000
)

// wetIn returns the wet mass of an item that was measured: so many of the measure
// filled, as a volume; or what it weighs, less the measure. Errors:
// unit.DimensionError, unit.RangeError.
func (m Material) wetIn(v Measure, it FeedingItem) (wet unit.Mass, weighed bool, err error) {
	if it.Count == nil {
		wet, err = v.net(it.Typed)
		return wet, true, err
	}
	if n := *it.Count; math.IsNaN(n) || n < minCount || n > maxCount {
		return 0, false, &unit.RangeError{Got: unit.Measure{Value: n, Unit: v.Name}, Reason: fmt.Sprintf("use a number from %v to %d", minCount, maxCount)}
	}
	q, err := v.filled(*it.Count)
	if err != nil {
		return 0, false, err
	}
	return m.wet(q)
}

// wet returns the wet mass of a quantity of the material, which weighs something:
// a mass as it is, a volume times the bulk density. Errors: unit.DimensionError,
// unit.RangeError.
func (m Material) wet(q unit.Measure) (wet unit.Mass, weighed bool, err error) {
	if wet, weighed, err = m.asTyped(q); err == nil && wet == 0 {
		err = &unit.RangeError{Got: q, Reason: "a feeding weighs something"}
	}
	return wet, weighed, err
}

// asTyped is wet, also of nothing. Errors: those of wet.
func (m Material) asTyped(q unit.Measure) (wet unit.Mass, weighed bool, err error) {
	if unit.DimensionOf(q.Unit) == unit.DimVolume {
		if m.DensityGPerL == nil {
			return 0, false, &unit.RangeError{Got: q, Reason: "the material has no bulk density; give a mass, or add density_g_per_l to the material"}
		}
		l, err := q.Volume()
		if err != nil {
			return 0, false, err
		}
		wet, err = unit.MassOfGrams(float64(l)*(*m.DensityGPerL), q)
		return wet, false, err
	}
	if unit.DimensionOf(q.Unit) != unit.DimMass {
		return 0, false, &unit.DimensionError{Got: q.Unit, Want: []unit.Dimension{unit.DimMass, unit.DimVolume}}
	}
	wet, err = q.Mass()
	return wet, true, err
}

// quantityCode names what is wrong with a quantity.
func quantityCode(err error) string {
	if _, ok := errors.AsType[*unit.DimensionError](err); ok {
		return "unit"
	}
	return "range"
}
