package service

import (
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// Turnout is how many took part: the households whose scraps the club has on
// that day, the hours that volunteers gave up to then and that no other turnout
// counts, or both.
type Turnout struct {
	ID         TurnoutID
	At         Moment
	Households *float64 // a whole number; nil: not told
	Hours      *float64 // nil: not told
	Recorded   Recorded
	Voided     Voiding
	Version    int64
}

// What a turnout tells at most.
const (
	maxHouseholds     = 1_000_000
	maxVolunteerHours = 100_000
)

func (t Turnout) void() bool { return !t.Voided.At.IsZero() }

// addTurnout records a turnout. Errors: ErrForbidden, ErrInvalid.
func (w *work) addTurnout(t Turnout) (Turnout, error) {
	if err := w.may(RecordTurnout, w.who.ID); err != nil {
		return Turnout{}, err
	}
	var faults Faults
	t.ID = TurnoutID(w.id(string(t.ID), &faults))
	w.settle(&faults, "/at", &t.At)
	t.check(&faults)
	if err := faults.Err(); err != nil {
		return Turnout{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Turnout{}, err
	}
	t.Recorded, t.Version = rec, 1
	return t, w.Turnouts.Insert(t)
}

// changeTurnout changes a turnout. Errors: ErrForbidden, ErrInvalid, ErrVoided,
// ErrStale.
func (w *work) changeTurnout(old, t Turnout) (Turnout, error) {
	if err := w.may(RecordTurnout, old.Recorded.By); err != nil {
		return Turnout{}, err
	}
	if old.void() {
		return Turnout{}, ErrVoided
	}
	t.Recorded, t.Voided, t.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	w.resettle(&faults, "/at", &t.At, old.At)
	t.check(&faults)
	if err := faults.Err(); err != nil {
		return Turnout{}, err
	}
	return put(w.Turnouts, old, t)
}

// voidTurnout takes a turnout back. Errors: ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidTurnout(t Turnout) (Turnout, error) {
	if err := w.may(RecordTurnout, t.Recorded.By); err != nil {
		return Turnout{}, err
	}
	if t.void() {
		return Turnout{}, ErrVoided
	}
	old := t
	t.Voided = Voiding{w.now, w.author()}
	return put(w.Turnouts, old, t)
}

// check notes what is wrong with a turnout.
func (t Turnout) check(faults *Faults) {
	if t.Households == nil && t.Hours == nil {
		faults.Add("/households", "required", "give households, or volunteer_hours, or both")
	}
	if n := t.Households; n != nil && (*n < 0 || *n > maxHouseholds || *n != float64(int64(*n))) {
		faults.Add("/households", "range", "a whole number up to 1000000")
	}
	if h := t.Hours; h != nil && (*h < 0 || *h > maxHours) {
		faults.Add("/volunteer_hours", "range", "hours up to 100000")
	}
}

// turnout returns the households of a period, by the latest turnout that tells
// them, and the sum of its hours; none ("not-recorded") where no turnout does.
func (w *work) turnout(p season.Period) (households, hours unit.Figure, err error) {
	households, hours = unit.None("{households}", "not-recorded"), unit.None("h", "not-recorded")
	all, err := w.Turnouts.List(Query{From: p.From, To: p.To})
	sum := 0.0
	for _, t := range all {
		if t.Households != nil {
			households = unit.Of(*t.Households, "{households}", "latest")
		}
		if t.Hours != nil {
			sum += *t.Hours
			hours = unit.Of(sum, "h", "recorded")
		}
	}
	return households, hours, err
}
