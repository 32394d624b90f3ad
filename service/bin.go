package service

import (
	"fmt"
	"time"

	"lumbricary.example/service/unit"
)

// BinKind is the build of a bin.
type BinKind string

// The kinds of bin.
const (
	Tote        BinKind = "tote"
	Bag         BinKind = "bag"
	TrayStack   BinKind = "tray-stack"
	Wedge       BinKind = "wedge"
	Windrow     BinKind = "windrow"
	FlowThrough BinKind = "flow-through"
	OtherBin    BinKind = "other"
)

// Bin is a container, bag or bed of worms.
type Bin struct {
	ID         BinID
	Name       string
	Kind       BinKind
	Site       SiteID
	Keeper     MemberID   // answers for it
	StandIns   []MemberID // may write it too
	Surface    unit.Area  // 0: not told
	DepthCM    float64    // 0: not told
	Started    Moment
	Retired    Moment // zero: in use
	RetiredWhy string
	Note       string
	Quarantine *Quarantine // that it is in; nil: in none. Shown, not kept
	CreatedAt  time.Time
	Version    int64
}

// Owners returns the members who may write the bin's records.
func (b Bin) Owners() []MemberID { return append([]MemberID{b.Keeper}, b.StandIns...) }

// addBin adds a bin; without a keeper the member keeps it, without a start it
// starts now. Errors: ErrForbidden, ErrInvalid, ErrBinNameTaken.
func (w *work) addBin(b Bin) (Bin, error) {
	if b.Keeper == "" {
		b.Keeper = w.who.ID
	}
	if err := w.may(AddBin, b.Keeper); err != nil {
		return Bin{}, err
	}
	var faults Faults
	b.ID = BinID(w.id(string(b.ID), &faults))
	w.checkBin(&faults, b)
	w.settle(&faults, "/started", &b.Started)
	if b.Retired.Text != "" {
		w.settle(&faults, "/retired", &b.Retired)
		if b.Retired.Time.Before(b.Started.Time) {
			faults.Add("/retired", "range", "a bin retires after it was started")
		}
	}
	if err := faults.Err(); err != nil {
		return Bin{}, err
	}
	b.CreatedAt, b.Version = w.now, 1
	return b, w.Bins.Insert(b)
}

func (w *work) checkBin(faults *Faults, b Bin) {
	checkName(faults, "/name", b.Name)
	checkWord(faults, "/kind", b.Kind, Tote, Bag, TrayStack, Wedge, Windrow, FlowThrough, OtherBin)
	checkNote(faults, "/note", b.Note)
	checkNote(faults, "/retired_why", b.RetiredWhy)
	checkRange(faults, "/surface_m2", &b.Surface, 0, 100_000)
	checkRange(faults, "/depth_cm", &b.DepthCM, 0, 1000)
	_, err := w.Sites.Get(b.Site)
	checkRef(faults, "/site", err)
	w.checkMember(faults, "/keeper", b.Keeper)
	for i, m := range b.StandIns {
		w.checkMember(faults, fmt.Sprintf("/stand_ins/%d", i), m)
	}
}

// settle reads a moment in the club's zone and notes a fault if it can't be.
func (w *work) settle(faults *Faults, pointer string, m *Moment) {
	settled, err := ParseMoment(m.Text, w.zone, w.now)
	if err != nil {
		checkRef(faults, pointer, err)
		return
	}
	*m = settled
}

// binFor finds the bin that a record is about, and checks that the member may
// write it and that it was in use at that moment. The moment must be settled.
// Errors: ErrBinNotFound, ErrForbidden, ErrBeforeStart, ErrBinRetired.
func (w *work) binFor(id BinID, at Moment) (Bin, error) {
	b, err := w.Bins.Get(id)
	if err != nil {
		return Bin{}, err
	}
	if err := w.may(RecordOnBin, b.Owners()...); err != nil {
		return Bin{}, err
	}
	return b, b.inUse(at)
}

// inUse checks that the bin stood at that moment; a record of a day may be of
// the day on which the bin started or retired. Errors: ErrBeforeStart,
// ErrBinRetired.
func (b Bin) inUse(at Moment) error {
	slack := func(m Moment) time.Duration {
		if at.Precision == ToTheDay || m.Precision == ToTheDay {
			return 24 * time.Hour
		}
		return 0
	}
	if at.Time.Before(b.Started.Time.Add(-slack(b.Started))) {
		return ErrBeforeStart
	}
	if !b.Retired.Time.IsZero() && at.Time.After(b.Retired.Time.Add(slack(b.Retired))) {
		return ErrBinRetired
	}
	return nil
}
