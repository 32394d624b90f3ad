package service

import (
	"fmt"
	"slices"

	"lumbricary.example/service/unit"
)

// Squeeze is moisture judged by hand.
type Squeeze string

// What a fistful of bedding does when squeezed.
const (
	SqueezeDry    Squeeze = "dry"
	SqueezeDrops  Squeeze = "drops"
	SqueezeStream Squeeze = "stream"
)

// WormsAt is where the worms are.
type WormsAt string

// The places where worms are seen.
const (
	WormsInFeed     WormsAt = "feed"
	WormsThroughout WormsAt = "throughout"
	WormsAtWalls    WormsAt = "walls"
	WormsAtLid      WormsAt = "lid"
	WormsAtBottom   WormsAt = "bottom"
)

// Check is what a keeper saw. Nil and empty mean not looked at.
type Check struct {
	ID          CheckID
	Bin         BinID
	At          Moment
	Temperature *unit.Celsius
	Moisture    *unit.Percent // a meter's figure
	Squeeze     Squeeze
	PH          *float64
	Ammonia     *bool         // smelt
	LeftoverAll *unit.Percent // of the dry matter of all feedings not yet gone
	Leftovers   []Leftover    // of single feedings; goes before LeftoverAll
	WormsAt     WormsAt
	Pests       []string
	Beaded      *bool // worms like strings of pearls: protein poisoning
	Escape      *bool
	Leachate    *unit.Volume // drained
	Cover       string
	Note        string
	Recorded    Recorded
	Voided      Voiding
	Version     int64
}

func (c Check) void() bool { return !c.Voided.At.IsZero() }

// Leftover is how much of a feeding is still to be seen.
type Leftover struct {
	Feeding FeedingID
	Percent unit.Percent // of its dry matter
}

const (
	maxLeftovers = 100
	maxPests     = 20
)

// addCheck records a check. Errors: ErrInvalid, ErrForbidden.
func (w *work) addCheck(c Check) (Check, error) {
	var faults Faults
	c.ID = CheckID(w.id(string(c.ID), &faults))
	if err := w.settleOnBin(&faults, c.Bin, &c.At); err != nil {
		return Check{}, err
	}
	w.checkCheck(&faults, c, nil)
	if err := faults.Err(); err != nil {
		return Check{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Check{}, err
	}
	c.Recorded, c.Version = rec, 1
	if err := w.Checks.Insert(c); err != nil {
		return Check{}, err
	}
	return c, w.Events.Insert(BinEvent{c.Bin, c.At.Time, rec.Seq, CheckEvent, string(c.ID)})
}

// checkCheck notes what is wrong with a check. What is left of a feeding that
// was voided can't be told, but may have been.
func (w *work) checkCheck(faults *Faults, c Check, before []Leftover) {
	c.validate(faults)
	for i, l := range c.Leftovers {
		pointer := fmt.Sprintf("/leftovers/%d", i)
		checkRange(faults, pointer+"/left_pct", &l.Percent, 0, 100)
		f, err := w.Feedings.Get(l.Feeding)
		told := slices.ContainsFunc(before, func(b Leftover) bool { return b.Feeding == l.Feeding })
		switch {
		case err == nil && f.Bin != c.Bin:
			err = ErrFeedingNotFound.With("that feeding went into another bin")
		case err == nil && f.void() && !told:
			err = ErrVoided
		}
		checkRef(faults, pointer+"/feeding", err)
	}
}

// changeCheck changes a check but for its bin. Errors: ErrForbidden, ErrInvalid,
// ErrVoided, ErrStale.
func (w *work) changeCheck(old, c Check) (Check, error) {
	c.Recorded, c.Voided, c.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/bin", c.Bin, old.Bin)
	if err := w.settleAgain(&faults, old.Bin, &c.At, old.At); err != nil {
		return Check{}, err
	}
	if old.void() {
		return Check{}, ErrVoided
	}
	w.checkCheck(&faults, c, old.Leftovers)
	if err := faults.Err(); err != nil {
		return Check{}, err
	}
	event := BinEvent{old.Bin, old.At.Time, old.Recorded.Seq, CheckEvent, string(old.ID)}
	if err := w.moveEvent(event, c.At.Time); err != nil {
		return Check{}, err
	}
	return put(w.Checks, old, c)
}

// voidCheck takes a check back. Errors: ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidCheck(c Check) (Check, error) {
	if _, err := w.binFor(c.Bin, c.At); err != nil {
		return Check{}, err
	}
	if c.void() {
		return Check{}, ErrVoided
	}
	old := c
	c.Voided = Voiding{w.now, w.author()}
	return put(w.Checks, old, c)
}

func (c Check) validate(faults *Faults) {
	checkRange(faults, "/temperature", c.Temperature, -40, 90)
	checkRange(faults, "/moisture_pct", c.Moisture, 0, 100)
	checkRange(faults, "/ph", c.PH, 0, 14)
	checkRange(faults, "/leftover_pct", c.LeftoverAll, 0, 100)
	checkRange(faults, "/leachate_l", c.Leachate, 0, 10_000)
	checkWord(faults, "/squeeze", c.Squeeze, "", SqueezeDry, SqueezeDrops, SqueezeStream)
	checkWord(faults, "/worms_at", c.WormsAt, "", WormsInFeed, WormsThroughout, WormsAtWalls, WormsAtLid, WormsAtBottom)
	checkNote(faults, "/cover", c.Cover)
	checkNote(faults, "/note", c.Note)
	if len(c.Leftovers) > maxLeftovers {
		faults.Add("/leftovers", "range", "at most %d feedings", maxLeftovers)
	}
	if len(c.Pests) > maxPests {
		faults.Add("/pests", "range", "at most %d pests", maxPests)
	}
	for i, p := range c.Pests {
		checkName(faults, fmt.Sprintf("/pests/%d", i), p)
	}
}
