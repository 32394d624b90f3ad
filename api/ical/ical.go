// Package ical writes calendars of whole days as RFC 5545 has them.
package ical

import (
	"strings"
	"time"
	"unicode/utf8"
)

// Calendar is a calendar of days.
type Calendar struct {
	Name    string
	Product string // who made it, as -//Lumbricary//EN
	Events  []Event
}

// Event is something on a whole day.
type Event struct {
	UID     string // the same whenever the calendar is read
	Day     string // as 2026-05-01
	Stamp   string // the day from which it is as it is
	Summary string
	Detail  string
	Kind    string
}

// refresh is how often a reader looks again.
const refresh = "PT12H"

// Encode returns the calendar's text: lines end in CR LF and have 75 octets at
// most (RFC 5545, section 3.1). A calendar has one component at least (section
// 3.4): one without events has a time zone.
func (c Calendar) Encode() []byte {
	var b lines
	b.line("BEGIN", "VCALENDAR")
	b.line("VERSION", "2.0")
	b.line("PRODID", text(c.Product))
	b.line("CALSCALE", "GREGORIAN")
	b.line("METHOD", "PUBLISH")
	b.line("NAME", text(c.Name)) // RFC 7986
	b.line("X-WR-CALNAME", text(c.Name))
	b.line("REFRESH-INTERVAL;VALUE=DURATION", refresh)
	b.line("X-PUBLISHED-TTL", refresh)
	for _, e := range c.Events {
		b.event(e)
	}
	if len(c.Events) == 0 {
		b.zone()
	}
	b.line("END", "VCALENDAR")
	return []byte(b.String())
}

// lines is content lines in the making.
type lines struct{ strings.Builder }

func (b *lines) event(e Event) {
	b.line("BEGIN", "VEVENT")
	b.line("UID", text(e.UID))
	b.line("DTSTAMP", compact(e.Stamp, 0)+"T000000Z")
	b.line("DTSTART;VALUE=DATE", compact(e.Day, 0))
	b.line("DTEND;VALUE=DATE", compact(e.Day, 1))
	b.line("SUMMARY", text(e.Summary))
	b.line("DESCRIPTION", text(e.Detail))
	b.line("CATEGORIES", text(e.Kind))
	b.line("TRANSP", "TRANSPARENT")
	b.line("END", "VEVENT")
}

func (b *lines) zone() {
	for _, l := range [][2]string{
		{"BEGIN", "VTIMEZONE"},
		{"TZID", "Etc/UTC"},
		{"BEGIN", "STANDARD"},
		{"DTSTART", "19700101T000000"},
		{"TZOFFSETFROM", "+0000"},
		{"TZOFFSETTO", "+0000"},
		{"END", "STANDARD"},
		{"END", "VTIMEZONE"},
	} {
		b.line(l[0], l[1])
	}
}

// octets is how long a line may be, without its end.
const octets = 75

// line writes a content line, folded between characters.
func (b *lines) line(name, value string) {
	room := octets
	for _, r := range name + ":" + value {
		if n := utf8.RuneLen(r); n > room {
			_, _ = b.WriteString("\r\n ")
			room = octets - 1
		}
		_, _ = b.WriteRune(r)
		room -= utf8.RuneLen(r)
	}
	_, _ = b.WriteString("\r\n")
}

// text is a value of type TEXT (section 3.3.11): control characters other than
// line ends and tabs may not be in it and are left out.
func text(s string) string {
	var b strings.Builder
	for _, r := range strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n") {
		switch {
		case r == '\n' || r == '\r':
			b.WriteString(`\n`)
		case strings.ContainsRune(`\;,`, r):
			b.WriteRune('\\')
			_, _ = b.WriteRune(r)
		case r != '\t' && (r < ' ' || r == 0x7f):
		default:
			_, _ = b.WriteRune(r)
		}
	}
	return b.String()
}

// compact is the day so many days after another, without hyphens.
func compact(day string, days int) string {
	d, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return strings.ReplaceAll(day, "-", "")
	}
	return d.AddDate(0, 0, days).Format("20060102")
}
