package service

import (
	"context"
	"time"
)

// CalendarPrefix starts the secret part of every calendar's link, so that one
// that got lost is known for what it is.
const CalendarPrefix = "lbc_"

// Calendar is a private link by which a calendar program reads a due list: the
// member's, or the whole club's for a steward. Only the hash of the link is kept.
// It ends when it is revoked and with the membership; that of the whole club also
// when its member is steward no more.
type Calendar struct {
	ID        CalendarID
	Name      string
	Member    MemberID // whose it is, and as whom it reads
	Whole     bool     // of the whole club
	Hash      string
	CreatedAt time.Time
	RevokedAt time.Time // zero: it is good
	Version   int64
}

// Calendars are the use-cases on calendars: looking at them comes with the shelf.
type Calendars struct {
	Shelf[Calendar, CalendarID]
	gate Gate
}

// Link makes a link, whose secret part is shown once. Errors: ErrClubNotFound,
// ErrForbidden, ErrInvalid.
func (s Calendars) Link(ctx context.Context, a Actor, name string, whole bool) (Calendar, string, error) {
	code, hash, err := s.gate.NewCode()
	if err != nil {
		return Calendar{}, "", err
	}
	c, err := write(ctx, s.desk, a, func(w *work) (Calendar, error) {
		return w.addCalendar(Calendar{Name: name, Whole: whole, Hash: hash})
	})
	return c, CalendarPrefix + code, err
}

func (w *work) addCalendar(c Calendar) (Calendar, error) {
	if err := w.may(LinkCalendar, w.who.ID); err != nil {
		return Calendar{}, err
	}
	if c.Whole {
		if err := w.may(ReviewDue); err != nil {
			return Calendar{}, err
		}
	}
	var faults Faults
	if checkName(&faults, "/name", c.Name); len(faults) > 0 {
		return Calendar{}, faults.Err()
	}
	c.ID, c.Member, c.CreatedAt, c.Version = CalendarID(w.desk.NewID()), w.who.ID, w.now, 1
	return c, w.Calendars.Insert(c)
}

// calendarDays is how far ahead a calendar looks.
const calendarDays = 60

// Read returns the due list that a link shows. Errors: ErrCalendarNotFound for a
// link that isn't one, is of another club or has ended, and for a club that isn't
// there.
func (s Calendars) Read(ctx context.Context, club, shown string) (DueList, error) {
	hash := s.gate.HashCode(shown[min(len(CalendarPrefix), len(shown)):])
	if hash == "" {
		return DueList{}, ErrCalendarNotFound
	}
	list, err := read(ctx, s.desk, Actor{Club: club, Link: hash}, func(w *work) (DueList, error) {
		c, err := w.Calendars.ByHash(hash)
		if err != nil {
			return DueList{}, err
		}
		return w.dueList(DueAsk{Whole: c.Whole, Days: calendarDays})
	})
	if kind := KindOf(err); kind == NotFound || kind == Forbidden {
		return DueList{}, ErrCalendarNotFound
	}
	return list, err
}

// callerOfLink is the member as whom a link reads, who may do no more by it than
// read. Errors: ErrCalendarNotFound.
func callerOfLink(tx Tx, hash string) (caller, error) {
	c, err := tx.Calendars.ByHash(hash)
	if err != nil {
		return caller{}, err
	}
	if !c.RevokedAt.IsZero() {
		return caller{}, ErrCalendarNotFound
	}
	m, err := tx.Members.Get(c.Member)
	if err == nil && m.left() {
		err = ErrCalendarNotFound
	}
	return caller{m, &APIKey{Scopes: []Scope{ScopeRead}}}, err
}

// dropCalendar ends a link at once; it stays on the list. Ending it again changes
// nothing. Errors: ErrForbidden, ErrStale.
func (w *work) dropCalendar(c Calendar) (Calendar, error) {
	if err := w.may(EndCalendar, c.Member); err != nil {
		return Calendar{}, err
	}
	old := c
	if c.RevokedAt.IsZero() {
		c.RevokedAt = w.now
	}
	return put(w.Calendars, old, c)
}

// calendarsSeen are the calendars that the member may see: stewards all, others
// their own.
type calendarsSeen struct{ *work }

// Get returns one. Errors: ErrForbidden by a key, ErrCalendarNotFound.
func (s calendarsSeen) Get(id CalendarID) (Calendar, error) {
	if err := s.may(EndCalendar, s.who.ID); err != nil {
		return Calendar{}, err
	}
	c, err := s.Calendars.Get(id)
	if err == nil && !s.who.May(EndCalendar, c.Member) {
		return Calendar{}, ErrCalendarNotFound
	}
	return c, err
}

// List returns a page in the order of q. Errors: ErrForbidden by a key.
func (s calendarsSeen) List(q Query) ([]Calendar, error) {
	if err := s.may(EndCalendar, s.who.ID); err != nil {
		return nil, err
	}
	if !s.who.May(EndCalendar) {
		q.Member = s.who.ID
	}
	return s.Calendars.List(q)
}

// endCalendars ends the links of a member who goes.
func (w *work) endCalendars(of MemberID) error {
	return w.eachCalendar(of, func(c Calendar) Calendar { return c })
}

// blankCalendars ends the member's links, and blanks what they were called.
func (w *work) blankCalendars(of MemberID, name string) error {
	return w.eachCalendar(of, func(c Calendar) Calendar {
		c.Name = name
		return c
	})
}

// eachCalendar changes the links of a member and ends them.
func (w *work) eachCalendar(of MemberID, change func(Calendar) Calendar) error {
	all, err := w.Calendars.List(Query{Member: of})
	if err != nil {
		return err
	}
	for _, old := range all {
		c := change(old)
		if c.RevokedAt.IsZero() {
			c.RevokedAt = w.now
		}
		if _, err := put(w.Calendars, old, c); err != nil {
			return err
		}
	}
	return nil
}
