package service

import (
	"time"
)

// Precision says how exactly a moment is known.
type Precision string

// The precisions.
const (
	ToTheInstant Precision = "instant"
	ToTheDay     Precision = "day" // noon of that day in the club's zone
)

// Moment is when something happened. Text is what the caller gave, until a
// use-case has settled it in the club's zone.
type Moment struct {
	Text      string
	Time      time.Time // UTC, whole microseconds
	Precision Precision
}

// futureGrace is how far ahead of the clock a moment may lie, for clocks that
// differ.
const futureGrace = 5 * time.Minute

// ParseMoment reads an RFC 3339 time or a date alone, which means noon in zone;
// an empty text means now. Errors: ErrTimeUnreadable, ErrTimeAhead.
func ParseMoment(text string, zone *time.Location, now time.Time) (Moment, error) {
	if text == "" {
		return Moment{Time: now, Precision: ToTheInstant}, nil
	}
	m := Moment{Precision: ToTheInstant}
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		day, dayErr := time.ParseInLocation(time.DateOnly, text, zone)
		if dayErr != nil {
			return Moment{}, ErrTimeUnreadable
		}
		y, mo, d := day.Date()
		t, m.Precision = time.Date(y, mo, d, 12, 0, 0, 0, zone), ToTheDay
		if t.After(now) && t.Sub(now) < 12*time.Hour && now.In(zone).Format(time.DateOnly) == text {
			t = now // today, told in the morning
		}
	}
	m.Time = t.UTC().Truncate(time.Microsecond)
	switch {
	case m.Time.After(now.Add(futureGrace)):
		return Moment{}, ErrTimeAhead
	case m.Time.Year() < 1900:
		return Moment{}, ErrTimeUnreadable
	}
	return m, nil
}

// today is the date in the club's zone.
func (w *work) today() string { return w.now.In(w.zone).Format(time.DateOnly) }

// In returns the moment as the book shows it: a date for a day, RFC 3339
// for an instant.
func (m Moment) In(zone *time.Location) string {
	if m.Precision == ToTheDay {
		return m.Time.In(zone).Format(time.DateOnly)
	}
	return m.Time.Format(time.RFC3339Nano)
}
