// Package season names the periods that a club reports on and recounts, from
// the raw records, what happened in one: what was fed and harvested, what the
// worms made of it, where stock and castings went, and which records are
// missing. It does no I/O and reads no clock.
//
// Masses are whole milligrams and are only added, so every total equals the
// sum of its rows exactly. Ratios are ratios of sums, never means of ratios.
package season

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Calendar is how a club counts its days and names its seasons.
type Calendar struct {
	Zone     *time.Location // nil counts as UTC
	Southern bool           // seasons of the southern hemisphere
}

// Period is a span of whole days in a club's zone, From inclusive and To
// exclusive.
type Period struct {
	Code, Name string
	From, To   time.Time
}

// Contains says whether t lies inside p.
func (p Period) Contains(t time.Time) bool { return !t.Before(p.From) && t.Before(p.To) }

// forms lists what Parse reads, for its error.
const forms = "2026-autumn, 2026-Q3, 2026, 2026-07, 2026-W14, 2026-03-01..2026-05-31"

// CodeError reports a period code that can't be read.
type CodeError struct {
	Code   string // as given
	Reason string // what is wrong with it
}

// Error says what is wrong and lists the forms that can be read.
func (e *CodeError) Error() string {
	return fmt.Sprintf("period %q: %s; write it as one of %s", e.Code, e.Reason, forms)
}

// Parse reads a period code: a meteorological season ("2026-autumn", and
// "2026-fall" for the same), a calendar quarter ("2026-Q3"), a year ("2026"), a
// month ("2026-07"), an ISO 8601 week ("2026-W14") or own dates, both inclusive
// ("2026-03-01..2026-05-31"). The season that holds December belongs to the
// year of its January: northern 2026-winter and southern 2026-summer are
// December 2025 to February 2026. Errors: CodeError.
func Parse(code string, cal Calendar) (Period, error) {
	low := strings.ToLower(strings.TrimSpace(code))
	if from, to, ok := strings.Cut(low, ".."); ok {
		return parseDates(code, from, to, cal)
	}
	head, tail, ok := strings.Cut(low, "-")
	y, err := time.Parse("2006", head)
	switch {
	case err != nil:
		return Period{}, &CodeError{code, "no year of four digits"}
	case !ok:
		return cal.year(y.Year()), nil
	}
	return parsePart(code, y.Year(), tail, cal)
}

// parsePart reads what follows the year in code. Errors: CodeError.
func parsePart(code string, year int, part string, cal Calendar) (Period, error) {
	if part == "fall" {
		part = "autumn"
	}
	for i, name := range cal.seasons() {
		if name == part {
			return cal.season(year, i), nil
		}
	}
	if m, err := time.Parse("01", part); err == nil {
		return cal.month(year, m.Month()), nil
	}
	if n, ok := number(part, "q", 1); ok {
		if n < 1 || n > 4 {
			return Period{}, &CodeError{code, "a year has the quarters Q1 to Q4"}
		}
		return cal.quarter(year, n), nil
	}
	if n, ok := number(part, "w", 2); ok {
		if n < 1 || n > weeks(year) {
			return Period{}, &CodeError{code, fmt.Sprintf("%04d has the weeks W01 to W%d", year, weeks(year))}
		}
		return cal.week(year, n), nil
	}
	return Period{}, &CodeError{code, "neither a season, a quarter, a month nor a week"}
}

// number reads a letter and exactly so many digits.
func number(s, letter string, digits int) (int, bool) {
	d, ok := strings.CutPrefix(s, letter)
	n, err := strconv.ParseUint(d, 10, 16)
	return int(n), ok && err == nil && len(d) == digits
}

// parseDates reads a first and a last day. Errors: CodeError.
func parseDates(code, first, last string, cal Calendar) (Period, error) {
	from, err1 := time.Parse(time.DateOnly, first)
	to, err2 := time.Parse(time.DateOnly, last)
	switch {
	case err1 != nil || err2 != nil:
		return Period{}, &CodeError{code, "not two dates"}
	case to.Before(from):
		return Period{}, &CodeError{code, "the last day is before the first"}
	}
	return cal.dates(from, to), nil
}

// At returns the meteorological season that holds t.
func At(t time.Time, cal Calendar) Period {
	y, m, _ := t.In(cal.zone()).Date()
	return cal.season(y+int(m)/12, int(m)%12/3)
}

// QuarterAt returns the calendar quarter that holds t.
func QuarterAt(t time.Time, cal Calendar) Period {
	y, m, _ := t.In(cal.zone()).Date()
	return cal.quarter(y, (int(m)+2)/3)
}

// MonthAt returns the month that holds t.
func MonthAt(t time.Time, cal Calendar) Period {
	y, m, _ := t.In(cal.zone()).Date()
	month := cal.month(y, m)
	if t.Before(month.From) { // the clock went back over midnight
		y, m, _ = day(y, m, 1).AddDate(0, 0, -1).Date()
		month = cal.month(y, m)
	}
	return month
}

// LocalMonth returns the month of t in zone, as "2026-07".
func LocalMonth(t time.Time, zone *time.Location) string {
	return MonthAt(t, Calendar{Zone: zone}).Code
}

// Months lists the local months that p is made of, as LocalMonth names them, so
// that totals kept by month can be added; nil when p isn't made of whole months.
func (p Period) Months(cal Calendar) []string {
	var out []string
	for at := p.From; at.Before(p.To); {
		y, m, _ := at.In(cal.zone()).Date()
		month := cal.month(y, m)
		if !month.From.Equal(at) || month.To.After(p.To) {
			return nil
		}
		out = append(out, month.Code)
		at = month.To
	}
	return out
}

// YearBefore returns the same season, quarter, year, month or week a year
// before. Week 53 becomes week 52, since no two years in a row have 53. Own
// dates go to the same days of the calendar year before, 29 February to the
// 28th.
func (p Period) YearBefore(cal Calendar) Period {
	head, tail, _ := strings.Cut(p.Code, "-")
	y, err := strconv.Atoi(head)
	if err == nil && !strings.Contains(tail, "..") {
		if tail == "W53" {
			tail = "W52"
		}
		if b, err := Parse(strings.Trim(fmt.Sprintf("%04d-%s", y-1, tail), "-"), cal); err == nil {
			return b
		}
	}
	z := cal.zone()
	return cal.dates(yearBefore(p.From.In(z)), yearBefore(p.To.Add(-1).In(z)))
}

// yearBefore returns the date of t a calendar year before, clamped to the end
// of its month.
func yearBefore(t time.Time) time.Time {
	y, m, d := t.Date()
	if m == time.February && d == 29 {
		d = 28
	}
	return time.Date(y-1, m, d, 0, 0, 0, 0, time.UTC)
}
