package service

import "reflect"

// Settings are those settings of a club that travel with its book: the rules that
// its answers and its promises rest on. The time zone and the currency are of the
// records themselves, and a club has them before it imports any; name, handle and
// web pages are the club's, not the book's.
type Settings struct {
	Hemisphere     Hemisphere // empty, as nil: as the club has it
	Units          UnitSystem
	SeasonBy       SeasonRule
	RetentionYears *int64
	PromiseDays    *int64
	QuarantineDays *int64
	CopyPct        *int64
}

// settings reads what travels of the club's settings.
func (x *exporting) settings() error {
	c := x.Club
	number := func(n int) *int64 { v := int64(n); return &v }
	x.book.Settings = Table[Settings]{{Value: Settings{
		c.Hemisphere, c.Units, c.SeasonBy, number(c.RetentionYears), number(c.PromiseDays), number(c.QuarantineDays), number(c.CopyPct),
	}}}
	return nil
}

// on is a club with these settings.
func (s Settings) on(c Club) Club {
	setWord(&c.Hemisphere, s.Hemisphere)
	setWord(&c.Units, s.Units)
	setWord(&c.SeasonBy, s.SeasonBy)
	setNumber(&c.RetentionYears, s.RetentionYears)
	setNumber(&c.PromiseDays, s.PromiseDays)
	setNumber(&c.QuarantineDays, s.QuarantineDays)
	setNumber(&c.CopyPct, s.CopyPct)
	return c
}

func setWord[W ~string](to *W, w W) {
	if w != "" {
		*to = w
	}
}

func setNumber(to *int, n *int64) {
	if n != nil {
		*to = int(*n)
	}
}

// addSettings gives the club the settings that the book came with.
func (im *importing) addSettings(b Book) error {
	set := 0
	for i, r := range b.Settings {
		if i > 0 {
			im.note(r.spot(), FieldError{Code: "range", Detail: "a club has one row of settings"})
			continue
		}
		if !im.ready(r.spot(), r.Faults) {
			continue
		}
		c := r.Value.on(im.Club)
		if reflect.DeepEqual(c, im.Club) {
			continue
		}
		out, err := im.changeClub(c)
		if err != nil {
			if err := im.fault(r.spot(), err); err != nil {
				return err
			}
			continue
		}
		im.Club, set = out, set+1
		im.report.Warnings = append(im.report.Warnings, FieldError{
			Pointer: r.spot().point(FieldError{}).Pointer, Code: "settings-changed", Detail: "the club's settings become those of the book",
		})
	}
	im.report.Counts = append(im.report.Counts, TableCount{"settings", set})
	return nil
}
