package ical_test

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"lumbricary.example/api/ical"

	strict "github.com/emersion/go-ical"
	"pgregory.net/rapid"
)

// decoded is the calendar as a parser that isn't ours reads it.
func decoded(t interface{ Fatalf(string, ...any) }, text []byte) *strict.Calendar {
	c, err := strict.NewDecoder(bytes.NewReader(text)).Decode()
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if err := strict.NewEncoder(new(bytes.Buffer)).Encode(c); err != nil { // which checks what a component has to have
		t.Fatalf("%v in\n%s", err, text)
	}
	return c
}

func TestACalendarIsAsRFC5545HasIt(t *testing.T) {
	t.Parallel()
	got := ical.Calendar{Name: "Harbour: due", Product: "-//Lumbricary//EN", Events: []ical.Event{
		{UID: "check.1@harbour", Day: "2026-02-28", Stamp: "2026-02-01", Summary: "Check Tote", Detail: "27 days; late", Kind: "check"},
	}}.Encode()
	want := strings.ReplaceAll(`BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//Lumbricary//EN
CALSCALE:GREGORIAN
METHOD:PUBLISH
NAME:Harbour: due
X-WR-CALNAME:Harbour: due
REFRESH-INTERVAL;VALUE=DURATION:PT12H
X-PUBLISHED-TTL:PT12H
BEGIN:VEVENT
UID:check.1@harbour
DTSTAMP:20260201T000000Z
DTSTART;VALUE=DATE:20260228
DTEND;VALUE=DATE:20260301
SUMMARY:Check Tote
DESCRIPTION:27 days\; late
CATEGORIES:check
TRANSP:TRANSPARENT
END:VEVENT
END:VCALENDAR
`, "\n", "\r\n")
	if string(got) != want {
		t.Errorf("%s", got)
	}
}

func TestACalendarWithoutEventsHasAComponent(t *testing.T) {
	t.Parallel()
	c := decoded(t, ical.Calendar{Name: "n", Product: "p"}.Encode())
	if len(c.Children) != 1 || len(c.Events()) != 0 {
		t.Errorf("%+v", c.Children)
	}
}

func TestAnyTextComesBackFromLinesOf75OctetsThatEndInCRLF(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		summary := rapid.String().Draw(t, "summary")
		text := ical.Calendar{Name: "n", Product: "p", Events: []ical.Event{
			{UID: "u", Day: "2026-05-01", Stamp: "2026-05-01", Summary: summary, Detail: strings.Repeat(summary, 9), Kind: "k"},
		}}.Encode()
		for line := range strings.SplitSeq(strings.TrimSuffix(string(text), "\r\n"), "\r\n") {
			if len(line) > 75 || !utf8.ValidString(line) || strings.ContainsAny(line, "\r\n") {
				t.Fatalf("%q has %d octets", line, len(line))
			}
		}
		if !bytes.HasSuffix(text, []byte("END:VCALENDAR\r\n")) {
			t.Fatalf("%q", text)
		}
		got, err := decoded(t, text).Events()[0].Props.Text("SUMMARY")
		if want := kept(summary); err != nil || got != want {
			t.Fatalf("%q comes back as %q, not %q: %v", summary, got, want, err)
		}
	})
}

// kept is what of a text a calendar can hold: no control characters but line
// ends and tabs.
func kept(s string) string {
	s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}
