package season

import (
	"fmt"
	"strconv"
	"time"
)

// seasons returns the names of the four meteorological seasons in the order of
// a year that starts in the December before.
func (c Calendar) seasons() [4]string {
	if c.Southern {
		return [4]string{"summer", "autumn", "winter", "spring"}
	}
	return [4]string{"winter", "spring", "summer", "autumn"}
}

func (c Calendar) zone() *time.Location {
	if c.Zone == nil {
		return time.UTC
	}
	return c.Zone
}

// season returns the i-th season of the year, 0 being December to February.
func (c Calendar) season(year, i int) Period {
	name := c.seasons()[i]
	shown := fmt.Sprintf("%s %d", title(name), year)
	if i == 0 {
		shown = fmt.Sprintf("%s %d/%02d", title(name), year-1, year%100)
	}
	return c.span(fmt.Sprintf("%04d-%s", year, name), shown, day(year, time.Month(3*i), 1), day(year, time.Month(3*i+3), 1))
}

func title(name string) string { return string(name[0]-'a'+'A') + name[1:] }

func (c Calendar) quarter(year, n int) Period {
	first := time.Month(3*n - 2)
	return c.span(fmt.Sprintf("%04d-Q%d", year, n), fmt.Sprintf("Q%d %d", n, year), day(year, first, 1), day(year, first+3, 1))
}

func (c Calendar) year(year int) Period {
	return c.span(fmt.Sprintf("%04d", year), strconv.Itoa(year), day(year, time.January, 1), day(year+1, time.January, 1))
}

func (c Calendar) month(year int, m time.Month) Period {
	return c.span(fmt.Sprintf("%04d-%02d", year, m), fmt.Sprintf("%s %d", m, year), day(year, m, 1), day(year, m+1, 1))
}

// week returns the ISO 8601 week n of the year: it starts on a Monday, and
// week 1 holds 4 January.
func (c Calendar) week(year, n int) Period {
	jan4 := day(year, time.January, 4)
	monday := jan4.AddDate(0, 0, 7*(n-1)-(int(jan4.Weekday())+6)%7)
	return c.span(fmt.Sprintf("%04d-W%02d", year, n), fmt.Sprintf("Week %d, %d", n, year), monday, monday.AddDate(0, 0, 7))
}

// weeks returns how many ISO weeks the year has; 28 December is in the last.
func weeks(year int) int {
	_, n := day(year, time.December, 28).ISOWeek()
	return n
}

// dates returns the period from the first day to the last, both inclusive.
func (c Calendar) dates(first, last time.Time) Period {
	code := first.Format(time.DateOnly) + ".." + last.Format(time.DateOnly)
	shown := first.Format("2 January 2006") + " to " + last.Format("2 January 2006")
	return c.span(code, shown, first, last.AddDate(0, 0, 1))
}

// span makes a period of two calendar days, given as midnights UTC, the second
// exclusive.
func (c Calendar) span(code, name string, from, to time.Time) Period {
	return Period{Code: code, Name: name, From: startOf(from, c.zone()), To: startOf(to, c.zone())}
}

// day returns a calendar day as its midnight UTC.
func day(year int, m time.Month, d int) time.Time {
	return time.Date(year, m, d, 0, 0, 0, 0, time.UTC)
}

// startOf returns the instant at which the calendar day d begins in zone. Where
// the clock skips midnight, that is the end of the gap; where the clock runs
// through midnight twice, the time after which the date stays; and a day that
// the zone left out altogether is empty.
func startOf(d time.Time, zone *time.Location) time.Time {
	t := time.Date(d.Year(), d.Month(), d.Day(), 12, 0, 0, 0, zone)
	for {
		since, _ := t.ZoneBounds()
		_, offset := t.Zone()
		midnight := d.Add(-time.Duration(offset) * time.Second).In(zone)
		if since.IsZero() || midnight.After(since) {
			return midnight
		}
		t = since.Add(-1)
		y, m, last := t.Date()
		if day(y, m, last).Before(d) {
			return since
		}
	}
}
