package service

import (
	"context"
	"time"
)

// QuarantineOutcome is how a quarantine ended.
type QuarantineOutcome string

// The outcomes.
const (
	Sound     QuarantineOutcome = "sound"    // nothing was found
	Treated   QuarantineOutcome = "treated"  // something was found and dealt with
	Disposed  QuarantineOutcome = "disposed" // the bin was given up
	NoOutcome QuarantineOutcome = ""         // it is open
)

// Quarantine is the time that an arrival spends in a bin of its own. While it
// lasts nothing leaves the bin: worms, castings or material.
type Quarantine struct {
	ID           QuarantineID
	Bin          BinID
	At           Moment // it began
	Until        Day    // planned; empty: not told
	Reason       string
	Released     Moment // zero: it is open
	ReleasedBy   MemberID
	Outcome      QuarantineOutcome
	ReleasedNote string
	Note         string
	Recorded     Recorded
	Voided       Voiding
	Version      int64
}

// maxQuarantineDays is how long a club plans a quarantine by its settings.
const maxQuarantineDays = 366

func (q Quarantine) void() bool { return !q.Voided.At.IsZero() }

func (q Quarantine) isOpen() bool { return q.Released.Time.IsZero() && !q.void() }

// holds reports whether the quarantine lasts at that moment: from its beginning
// up to its release.
func (q Quarantine) holds(at time.Time) bool {
	return !q.void() && !at.Before(q.At.Time) && (q.Released.Time.IsZero() || at.Before(q.Released.Time))
}

// overlaps reports whether two quarantines of a bin share a moment.
func (q Quarantine) overlaps(other Quarantine) bool {
	begins := func(a, b Quarantine) bool { return a.At.Time.Equal(b.At.Time) || b.holds(a.At.Time) }
	return begins(q, other) || begins(other, q)
}

// addQuarantine records a quarantine; one that is told afterwards may come with
// its release. What left the bin before it was recorded stays as it is. Errors:
// ErrInvalid, ErrForbidden, ErrQuarantined.
func (w *work) addQuarantine(q Quarantine) (Quarantine, error) {
	var faults Faults
	q.ID = QuarantineID(w.id(string(q.ID), &faults))
	if err := w.settleOnBin(&faults, q.Bin, &q.At); err != nil {
		return Quarantine{}, err
	}
	if q.Until == "" && w.Club.QuarantineDays > 0 && q.Released.Text == "" && !w.quiet {
		q.Until = w.plannedFrom(q.At)
	}
	w.checkQuarantine(&faults, &q, Quarantine{})
	if err := faults.Err(); err != nil {
		return Quarantine{}, err
	}
	if err := w.alone(q); err != nil {
		return Quarantine{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Quarantine{}, err
	}
	q.Recorded, q.Version = rec, 1
	if err := w.Quarantines.Insert(q); err != nil {
		return Quarantine{}, err
	}
	w.isolated = nil
	return q, w.Events.Insert(q.events()...)
}

// events are the lines of a quarantine in the timeline of its bin: that it began,
// and that it was released. One that ended in the moment in which it began has one
// line, as the two would stand in one place.
func (q Quarantine) events() []BinEvent {
	out := []BinEvent{{q.Bin, q.At.Time, q.Recorded.Seq, QuarantineEvent, string(q.ID)}}
	if q.Released.Time.After(q.At.Time) {
		out = append(out, BinEvent{q.Bin, q.Released.Time, q.Recorded.Seq, ReleaseEvent, string(q.ID)})
	}
	return out
}

// plannedFrom is the day up to which the club plans a quarantine.
func (w *work) plannedFrom(at Moment) Day {
	return Day(at.Time.In(w.zone).AddDate(0, 0, w.Club.QuarantineDays).Format(time.DateOnly))
}

// checkQuarantine notes what is wrong with a quarantine, and settles its
// release.
func (w *work) checkQuarantine(faults *Faults, q *Quarantine, old Quarantine) {
	checkNote(faults, "/reason", q.Reason)
	checkNote(faults, "/note", q.Note)
	checkNote(faults, "/released_note", q.ReleasedNote)
	if q.Until != "" {
		day, err := w.day(q.Until)
		checkRef(faults, "/until", err)
		if err == nil && day.AddDate(0, 0, 1).Before(q.At.Time) {
			faults.Add("/until", "range", "a quarantine ends after it began")
		}
	}
	if q.Released.Text == "" {
		q.Released, q.ReleasedBy = Moment{}, ""
		checkWord(faults, "/outcome", q.Outcome, NoOutcome)
		return
	}
	w.resettle(faults, "/released", &q.Released, old.Released)
	if q.Released.Time.Before(q.At.Time) {
		faults.Add("/released", "range", "a quarantine is released after it began")
	}
	checkWord(faults, "/outcome", q.Outcome, Sound, Treated, Disposed)
	switch {
	case q.Released == old.Released:
		q.ReleasedBy = old.ReleasedBy
	case q.ReleasedBy == "":
		q.ReleasedBy = w.author()
	default:
		w.checkMember(faults, "/released_by", q.ReleasedBy)
	}
}

// alone sees that no other quarantine of the bin lasts at the same time. Errors:
// ErrQuarantined.
func (w *work) alone(q Quarantine) error {
	others, err := w.quarantinesOf(q.Bin)
	for _, other := range others {
		if other.ID != q.ID && other.overlaps(q) {
			return ErrQuarantined
		}
	}
	return err
}

// changeQuarantine changes a quarantine but for its bin; without released it is
// open again. Errors: ErrForbidden, ErrInvalid, ErrVoided, ErrQuarantined,
// ErrStale.
func (w *work) changeQuarantine(old, q Quarantine) (Quarantine, error) {
	q.Recorded, q.Voided, q.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/bin", q.Bin, old.Bin)
	if err := w.settleAgain(&faults, old.Bin, &q.At, old.At); err != nil {
		return Quarantine{}, err
	}
	if old.void() {
		return Quarantine{}, ErrVoided
	}
	w.checkQuarantine(&faults, &q, old)
	if err := faults.Err(); err != nil {
		return Quarantine{}, err
	}
	if err := w.alone(q); err != nil {
		return Quarantine{}, err
	}
	if err := w.retell(old.events(), q.events()); err != nil {
		return Quarantine{}, err
	}
	w.isolated = nil
	return put(w.Quarantines, old, q)
}

// voidQuarantine takes a quarantine back: there never was one. Errors:
// ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidQuarantine(q Quarantine) (Quarantine, error) {
	if _, err := w.binFor(q.Bin, q.At); err != nil {
		return Quarantine{}, err
	}
	if q.void() {
		return Quarantine{}, ErrVoided
	}
	old := q
	q.Voided = Voiding{w.now, w.author()}
	w.isolated = nil
	return put(w.Quarantines, old, q)
}

// Release is how a quarantine ends.
type Release struct {
	At      Moment
	Outcome QuarantineOutcome
	Note    string
}

// Release ends a quarantine, with its outcome. Errors: ErrClubNotFound,
// ErrQuarantineNotFound, ErrForbidden, ErrInvalid, ErrVoided, ErrReleased.
func (s *Service) Release(ctx context.Context, a Actor, id QuarantineID, end Release) (Quarantine, error) {
	return write(ctx, s.Desk, a, func(w *work) (Quarantine, error) {
		q, err := w.Quarantines.Get(id)
		if err != nil {
			return q, err
		}
		return w.endQuarantine(q, end)
	})
}

// endQuarantine is Release in the member's own transaction.
func (w *work) endQuarantine(q Quarantine, end Release) (Quarantine, error) {
	old := q
	if end.At.Text == "" {
		end.At.Text = w.now.Format(time.RFC3339Nano)
	}
	q.Released, q.Outcome, q.ReleasedNote = Moment{Text: end.At.Text}, end.Outcome, end.Note
	if !old.Released.Time.IsZero() {
		return Quarantine{}, ErrReleased
	}
	q.At.Text = q.At.In(w.zone)
	return w.changeQuarantine(old, q)
}
