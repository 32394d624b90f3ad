package season_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"lumbricary.example/service/season"
)

func zone(t interface{ Fatal(...any) }, name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

var north, south = season.Calendar{}, season.Calendar{Southern: true}

func TestTheSeasonOfADateFollowsTheHemisphere(t *testing.T) {
	t.Parallel()
	// Meteorological seasons of three whole months. Status: seen.
	for _, c := range []struct {
		date string
		cal  season.Calendar
		want string
	}{
		{"2026-02-28", north, "2026-winter"},
		{"2026-02-28", south, "2026-summer"},
		{"2026-03-01", north, "2026-spring"},
		{"2026-03-01", south, "2026-autumn"},
		{"2024-02-29", north, "2024-winter"},
		{"2026-12-01", north, "2027-winter"},
		{"2025-12-31", south, "2026-summer"},
		{"2026-06-01", south, "2026-winter"},
		{"2026-11-30", north, "2026-autumn"},
		{"2026-11-30", south, "2026-spring"},
	} {
		at, _ := time.Parse(time.DateOnly, c.date)
		if got := season.At(at, c.cal); got.Code != c.want || !got.Contains(at) {
			t.Errorf("%s, southern %v: %+v, want %s", c.date, c.cal.Southern, got, c.want)
		}
	}
}

func TestAWeekIsTheISOWeekOfItsDays(t *testing.T) {
	t.Parallel()
	// ISO 8601, first and last days of years. Status: computed.
	for date, want := range map[string]string{
		"2018-12-31": "2019-W01",
		"2020-12-31": "2020-W53",
		"2021-01-04": "2021-W01",
		"2022-01-02": "2021-W52",
		"2024-12-29": "2024-W52",
		"2026-12-31": "2026-W53",
		"2027-01-04": "2027-W01",
	} {
		at, _ := time.Parse(time.DateOnly, date)
		p, err := season.Parse(want, north)
		if err != nil || !p.Contains(at) || p.To.Sub(p.From) != 7*24*time.Hour || p.From.Weekday() != time.Monday {
			t.Errorf("%s is not a week that holds %s: %+v, %v", want, date, p, err)
		}
	}
}

func TestEveryFormOfAPeriodIsRead(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code     string
		cal      season.Calendar
		as       string
		name     string
		from, to string // to is exclusive
	}{
		{"2026-winter", north, "2026-winter", "Winter 2025/26", "2025-12-01", "2026-03-01"},
		{"2026-summer", south, "2026-summer", "Summer 2025/26", "2025-12-01", "2026-03-01"},
		{"2000-winter", north, "2000-winter", "Winter 1999/00", "1999-12-01", "2000-03-01"},
		{"2026-winter", south, "2026-winter", "Winter 2026", "2026-06-01", "2026-09-01"},
		{"2026-autumn", north, "2026-autumn", "Autumn 2026", "2026-09-01", "2026-12-01"},
		{" 2026-Fall ", north, "2026-autumn", "Autumn 2026", "2026-09-01", "2026-12-01"},
		{"2026-Q1", north, "2026-Q1", "Q1 2026", "2026-01-01", "2026-04-01"},
		{"2026-q4", south, "2026-Q4", "Q4 2026", "2026-10-01", "2027-01-01"},
		{"2026", north, "2026", "2026", "2026-01-01", "2027-01-01"},
		{"2026-07", north, "2026-07", "July 2026", "2026-07-01", "2026-08-01"},
		{"2026-12", north, "2026-12", "December 2026", "2026-12-01", "2027-01-01"},
		{"2026-W14", north, "2026-W14", "Week 14, 2026", "2026-03-30", "2026-04-06"},
		{"2027-w01", north, "2027-W01", "Week 1, 2027", "2027-01-04", "2027-01-11"},
		{"2024-W01", north, "2024-W01", "Week 1, 2024", "2024-01-01", "2024-01-08"},
		{"2026-03-01..2026-05-31", north, "2026-03-01..2026-05-31", "1 March 2026 to 31 May 2026", "2026-03-01", "2026-06-01"},
		{"2024-02-29..2024-02-29", north, "2024-02-29..2024-02-29", "29 February 2024 to 29 February 2024", "2024-02-29", "2024-03-01"},
	} {
		p, err := season.Parse(c.code, c.cal)
		if err != nil {
			t.Errorf("%s: %v", c.code, err)
		}
		got := fmt.Sprintf("%s|%s|%s|%s", p.Code, p.Name, p.From.Format(time.RFC3339), p.To.Format(time.RFC3339))
		want := fmt.Sprintf("%s|%s|%sT00:00:00Z|%sT00:00:00Z", c.as, c.name, c.from, c.to)
		if got != want {
			t.Errorf("%s:\n got %s\nwant %s", c.code, got, want)
		}
	}
}

func TestACodeThatIsNoPeriodSaysWhyAndHowToWriteOne(t *testing.T) {
	t.Parallel()
	for code, reason := range map[string]string{
		"":                         "no year of four digits",
		"autumn":                   "no year of four digits",
		"26-autumn":                "no year of four digits",
		"2026-":                    "neither",
		"2026-monsoon":             "neither",
		"2026-13":                  "neither",
		"2026-7":                   "neither",
		"2026-Q":                   "neither",
		"2026-Q01":                 "neither",
		"2026-W1":                  "neither",
		"2026-W+1":                 "neither",
		"2026-Q0":                  "Q1 to Q4",
		"2026-Q5":                  "Q1 to Q4",
		"2026-W00":                 "W01 to W53",
		"2025-W53":                 "W01 to W52",
		"2026-03-01":               "neither",
		"2026-03-01..":             "not two dates",
		"2026-02-29..2026-03-01":   "not two dates",
		"2026-03-01..2026-02-28":   "before the first",
		"2026-03-01...2026-05-31":  "not two dates",
		"2026-03-01..2026-05-31..": "not two dates",
	} {
		_, err := season.Parse(code, north)
		bad, ok := errors.AsType[*season.CodeError](err)
		if !ok || bad.Code != code || !strings.Contains(bad.Reason, reason) {
			t.Errorf("%q: %v, want %q", code, err, reason)
			continue
		}
		for _, form := range []string{"2026-autumn", "2026-Q3", "2026-07", "2026-W14", "2026-03-01..2026-05-31"} {
			if !strings.Contains(err.Error(), form) {
				t.Errorf("%q: %v does not show %s", code, err, form)
			}
		}
	}
}

func TestAYearBeforeIsTheSameSeason(t *testing.T) {
	t.Parallel()
	for code, want := range map[string]string{
		"2026-winter":            "2025-winter",
		"2026-autumn":            "2025-autumn",
		"2026-Q3":                "2025-Q3",
		"2026":                   "2025",
		"2026-07":                "2025-07",
		"2026-W14":               "2025-W14",
		"2026-W53":               "2025-W52",
		"2020-W53":               "2019-W52",
		"2021-W52":               "2020-W52",
		"2026-03-01..2026-05-31": "2025-03-01..2025-05-31",
		"2024-02-01..2024-02-29": "2023-02-01..2023-02-28",
		"2024-02-29..2024-02-29": "2023-02-28..2023-02-28",
		"2025-02-28..2025-03-01": "2024-02-28..2024-03-01",
	} {
		for _, cal := range []season.Calendar{north, {Zone: zone(t, "America/Santiago"), Southern: true}} {
			p, err := season.Parse(code, cal)
			if err != nil {
				t.Fatal(err)
			}
			b, err := season.Parse(want, cal)
			if got := p.YearBefore(cal); err != nil || got != b {
				t.Errorf("%s: a year before is %+v, want %+v (%v)", code, got, b, err)
			}
		}
	}
}

func TestAPeriodWithACodeOfItsOwnGoesBackByItsDates(t *testing.T) {
	t.Parallel()
	p, _ := season.Parse("2024-02-29..2024-03-31", north)
	want := p.YearBefore(north)
	for _, code := range []string{"spring fair", "2024-fair", ""} {
		p.Code = code
		if got := p.YearBefore(north); got != want {
			t.Errorf("%q: %+v, want %+v", code, got, want)
		}
	}
}

func TestADayBeginsWhereTheClocksOfTheClubSayIt(t *testing.T) {
	t.Parallel()
	// IANA time zone database. Status: computed.
	for _, c := range []struct{ zone, day, want, why string }{
		{"Europe/London", "2026-03-29", "2026-03-29T00:00:00Z", "the clock goes forward later that night"},
		{"Europe/London", "2026-03-30", "2026-03-29T23:00:00Z", "summer time"},
		{"Europe/London", "2026-10-26", "2026-10-26T00:00:00Z", "the clock went back"},
		{"America/New_York", "2026-11-01", "2026-11-01T04:00:00Z", "the clock goes back later that night"},
		{"Pacific/Auckland", "2026-12-01", "2026-11-30T11:00:00Z", "far east"},
		{"America/Sao_Paulo", "2018-11-04", "2018-11-04T03:00:00Z", "midnight skipped: the day begins at 01:00"},
		{"America/Sao_Paulo", "2018-02-18", "2018-02-18T03:00:00Z", "midnight put off: 23:00 comes twice"},
		{"America/Havana", "2024-11-03", "2024-11-03T04:00:00Z", "midnight comes twice on the same date"},
		{"America/Havana", "2024-03-10", "2024-03-10T05:00:00Z", "midnight skipped"},
		{"America/St_Johns", "2009-11-01", "2009-11-01T03:30:00Z", "one minute past midnight back to the day before"},
		{"Pacific/Apia", "2011-12-30", "2011-12-30T10:00:00Z", "a day that never was begins with the next"},
		{"Pacific/Apia", "2011-12-31", "2011-12-30T10:00:00Z", "the day after it"},
		{"", "2026-03-01", "2026-03-01T00:00:00Z", "no zone is UTC"},
	} {
		p, err := season.Parse(c.day+".."+c.day, season.Calendar{Zone: zone(t, c.zone)})
		if got := p.From.UTC().Format(time.RFC3339); err != nil || got != c.want {
			t.Errorf("%s %s (%s): %s, want %s", c.zone, c.day, c.why, got, c.want)
		}
	}
}

var zones = []string{
	"UTC", "Europe/London", "America/New_York", "America/Sao_Paulo", "America/Havana", "Africa/Cairo",
	"Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia", "Pacific/Kiritimati", "America/Santiago",
}

func anyCalendar(t *rapid.T) season.Calendar {
	return season.Calendar{Zone: zone(t, rapid.SampledFrom(zones).Draw(t, "zone")), Southern: rapid.Bool().Draw(t, "southern")}
}

func TestTheSeasonsOfAZoneFollowEachOtherWithoutGap(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		cal := anyCalendar(t)
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0)
		p := season.At(at, cal)
		if !p.Contains(at) {
			t.Fatalf("%+v does not hold %v", p, at)
		}
		if next := season.At(p.To, cal); !next.From.Equal(p.To) {
			t.Fatalf("%+v is followed by %+v", p, next)
		}
		if again, err := season.Parse(p.Code, cal); err != nil || again != p {
			t.Fatalf("%s reads as %+v, %v", p.Code, again, err)
		}
		if b := p.YearBefore(cal); season.At(b.From, cal) != b || b.Code[4:] != p.Code[4:] {
			t.Fatalf("a year before %+v: %+v", p, b)
		}
	})
}

func TestTheMonthsOfASeasonAreItsLocalMonths(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		cal := anyCalendar(t)
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0)
		month := season.LocalMonth(at, cal.Zone)
		p, err := season.Parse(month, cal)
		if err != nil || !p.Contains(at) || p.Code != month {
			t.Fatalf("%v is in %s: %+v, %v", at, month, p, err)
		}
		if s := season.At(at, cal); p.From.Before(s.From) || p.To.After(s.To) {
			t.Fatalf("%+v reaches out of %+v", p, s)
		}
	})
}

func TestASeasonIsTheSumOfItsMonths(t *testing.T) {
	t.Parallel()
	for code, want := range map[string]string{
		"2026-winter":            "2025-12 2026-01 2026-02",
		"2026-Q4":                "2026-10 2026-11 2026-12",
		"2026-07":                "2026-07",
		"2026-11-01..2026-12-31": "2026-11 2026-12",
		"2026-11-02..2026-12-31": "",
		"2026-11-01..2026-12-30": "",
		"2026-W14":               "",
	} {
		for _, name := range []string{"UTC", "America/Sao_Paulo", "Pacific/Apia"} {
			cal := season.Calendar{Zone: zone(t, name)}
			p, err := season.Parse(code, cal)
			if got := strings.Join(p.Months(cal), " "); err != nil || got != want {
				t.Errorf("%s in %s: %q, want %q (%v)", code, name, got, want, err)
			}
		}
	}
}

func FuzzAPeriodIsReadOrRefusedAndItsCodeReadsBack(f *testing.F) {
	for _, seed := range []string{"2026-autumn", "2026-fall", "2026-Q3", "2026", "2026-W53", "2026-07", "2026-03-01..2026-05-31", "0000", "9999-W52", "x"} {
		f.Add(seed, false)
	}
	f.Fuzz(func(t *testing.T, code string, southern bool) {
		cal := season.Calendar{Southern: southern}
		p, err := season.Parse(code, cal)
		if err != nil {
			if _, ok := errors.AsType[*season.CodeError](err); !ok {
				t.Fatalf("%q: %v is no CodeError", code, err)
			}
			return
		}
		if !p.From.Before(p.To) {
			t.Fatalf("%q is empty: %+v", code, p)
		}
		if again, err := season.Parse(p.Code, cal); err != nil || again != p {
			t.Fatalf("%q reads back as %+v, %v", p.Code, again, err)
		}
		if b := p.YearBefore(cal); !b.From.Before(p.From) {
			t.Fatalf("a year before %+v: %+v", p, b)
		}
	})
}
