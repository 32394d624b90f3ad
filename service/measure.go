package service

import (
	"time"

	"lumbricary.example/service/unit"
)

// Measure is a vessel that a club measures its feed with, as a bucket.
type Measure struct {
	ID        MeasureID
	Name      string
	Volume    unit.Measure // that it holds when full, as typed; no unit: not known
	Tare      unit.Measure // what it weighs when empty, as typed; no unit: not known
	Note      string
	CreatedAt time.Time
	Version   int64
}

// addMeasure adds a measure. Errors: ErrForbidden, ErrInvalid,
// ErrMeasureNameTaken.
func (w *work) addMeasure(m Measure) (Measure, error) {
	if err := w.may(AddMaterial); err != nil {
		return Measure{}, err
	}
	var faults Faults
	m.ID = MeasureID(w.id(string(m.ID), &faults))
	m.check(&faults)
	if err := faults.Err(); err != nil {
		return Measure{}, err
	}
	m.CreatedAt, m.Version = w.now, 1
	return m, w.Measures.Insert(m)
}

// check notes what is wrong with a measure.
func (m Measure) check(faults *Faults) {
	checkName(faults, "/name", m.Name)
	checkNote(faults, "/note", m.Note)
	if m.Volume.Unit == "" && m.Tare.Unit == "" {
		faults.Add("/volume", "required", "give what it holds, or in tare what it weighs empty, or both")
	}
	if m.Volume.Unit != "" {
		l, err := m.Volume.Volume()
		if err == nil && (l <= 0 || l > maxVessel) {
			err = &unit.RangeError{Got: m.Volume, Reason: "a measure holds more than nothing and at most 10000 L"}
		}
		faults.Check("/volume", quantityCode(err), err)
	}
	if m.Tare.Unit != "" {
		_, err := m.Tare.Mass()
		faults.Check("/tare", quantityCode(err), err)
	}
}

// maxVessel is the most that a measure holds.
const maxVessel unit.Volume = 10_000

// changeMeasure changes a measure; what was fed with it before keeps the mass
// that it was booked with. Errors: ErrForbidden, ErrInvalid,
// ErrMeasureNameTaken, ErrStale.
func (w *work) changeMeasure(old, m Measure) (Measure, error) {
	if err := w.may(AddMaterial); err != nil {
		return Measure{}, err
	}
	var faults Faults
	if m.check(&faults); len(faults) > 0 {
		return Measure{}, faults.Err()
	}
	m.CreatedAt, m.Version = old.CreatedAt, old.Version
	return put(w.Measures, old, m)
}

// dropMeasure removes a measure that nothing was fed with. Errors: ErrForbidden,
// ErrInUse, ErrStale.
func (w *work) dropMeasure(m Measure) (Measure, error) {
	if err := w.may(AddMaterial); err != nil {
		return Measure{}, err
	}
	return m, w.Measures.Delete(m)
}

// filled returns the volume of so many of the measure, filled to the brim.
// Errors: unit.RangeError.
func (m Measure) filled(count float64) (unit.Measure, error) {
	if m.Volume.Unit == "" {
		return unit.Measure{}, &unit.RangeError{Got: unit.Measure{Value: count, Unit: m.Name}, Reason: "nobody knows what that measure holds; give a mass, or add volume to the measure"}
	}
	return unit.Measure{Value: count * m.Volume.Value, Unit: m.Volume.Unit}, nil
}

// net returns what is in the measure when both together weigh gross. Errors:
// unit.DimensionError, unit.RangeError.
func (m Measure) net(gross unit.Measure) (unit.Mass, error) {
	both, err := gross.Mass()
	if err != nil {
		return 0, err
	}
	if m.Tare.Unit == "" {
		return 0, &unit.RangeError{Got: gross, Reason: "nobody knows what that measure weighs empty; give the mass without it, or add tare to the measure"}
	}
	tare, err := m.Tare.Mass()
	if err == nil && both <= tare {
		err = &unit.RangeError{Got: gross, Reason: "the measure alone weighs " + m.Tare.String() + "; give what both weigh together"}
	}
	return both - tare, err
}
