package api_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"

	"github.com/emersion/go-ical"
)

// dues are the kinds and days of what is due.
func dues(a *apitest.Answer) string {
	var out []string
	for _, item := range a.Want(200).Value("/items").([]any) {
		i := item.(map[string]any)
		out = append(out, i["kind"].(string)+" "+i["due"].(string)+" "+i["title"].(string))
	}
	return strings.Join(out, "\n")
}

func wants(t *testing.T, got string, want ...string) {
	t.Helper()
	if got != strings.Join(want, "\n") {
		t.Errorf("due is\n%s\nnot\n%s", got, strings.Join(want, "\n"))
	}
}

func TestTheDueListSaysWhatAKeeperShouldLookAtAndWhy(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		c.ana.Patch("", "*", `{"due":{"backup_bins":0,"backup_sites":0}}`).Want(200).Is("/due/first_check_days", 10).Is("/due/backup_bins", 0)
		wants(t, dues(c.ana.Get("/due")), "first-check 2025-12-11 First check of Tote")
		c.ana.Get("/due").Is("/items/0/figure/value", 151).Is("/items/0/limit/value", 10).Is("/items/0/basis", "a custom without a source; the club's to change").
			Is("/items/0/overdue_days", 141).Is("/as_of", "2026-05-01").Is("/until", "2026-05-08").Is("/items/0/members", []string{c.anaID})
		c.ana.Post("/checks", c.named(`{"bin":"TOTE","at":"2026-04-28","temperature":{"value":31,"unit":"Cel"},"moisture_pct":55}`)).Want(201)
		wants(t, dues(c.ana.Get("/due")), "too-dry 2026-04-28 Tote is too dry", "too-hot 2026-04-28 Tote is too hot")
		c.ana.Get("/due?units=us").Want(200).Is("/items/1/figure/unit", "[degF]").Is("/items/1/limit/value", 86)
		c.ana.Patch("", "*", `{"due":{"hot_c":0,"dry_pct":50,"check_every_days":8,"harvest_every_days":100}}`).Want(200)
		wants(t, dues(c.ana.Get("/due")), "harvest 2026-03-11 Harvest Tote", "check 2026-05-06 Check Tote")
		wants(t, dues(c.ana.Get("/due?days=0")), "harvest 2026-03-11 Harvest Tote")
		wants(t, dues(c.ben.Get("/due")))
		wants(t, dues(c.ben.Get("/bins/"+c.tote+"/due")), "harvest 2026-03-11 Harvest Tote", "check 2026-05-06 Check Tote")
		c.ben.Get("/due?whose=club").Problem(403, "forbidden")
		c.ben.Get("/bins/"+c.batch+"/due").Problem(404, "bin-not-found")
		for _, query := range []string{"days=-1", "days=367", "days=x", "whose=theirs"} {
			c.ana.Get("/due?"+query).Problem(400, "malformed", "?"+strings.Split(query, "=")[0])
		}
		c.ana.Patch("", "*", `{"due":{"hot_c":61,"first_check_days":-1,"backup_bins":11}}`).Problem(422, "invalid", "/due/backup_bins", "/due/first_check_days", "/due/hot_c")
	})
}

func TestTheDueListOfAClubTakesInTransfersQuarantinesCulturesAndAnalyses(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		c.ana.Patch("", "*", `{"due":{"first_check_days":0,"check_every_days":0,"promise_warn_days":14}}`).Want(200)
		c.ana.Post("/quarantines", c.named(`{"bin":"SHED","at":"2026-04-20","until":"2026-05-04","reason":"mites"}`)).Want(201)
		c.ana.Post("/transfers", c.named(`{"terms":"gift","legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":100,"unit":"g"}}]}]}`)).Want(201)
		c.ana.Post("/harvests", c.named(`{"bin":"TOTE","castings":{"value":1,"unit":"kg"},"batch":"BATCH"}`)).Want(201)
		c.ana.Post("/batch-steps", c.named(`{"batch":"BATCH","kind":"analysis","at":"2026-04-01","parameter":"E. coli","value":10,"expires":"2026-05-05"}`)).Want(201)
		backup := "backup 2026-05-01 Harbour line has no backup"
		step := "transfer-step 2026-05-01 A transfer waits for an answer"
		release := "quarantine 2026-05-04 Release Shed from quarantine"
		analysis := "analysis-expires 2026-05-05 Analysis of 2026-A expires: E. coli"
		promise := "promise-expires 2026-05-15 A promise expires: 100 g of tiger worm"
		wants(t, dues(c.ana.Get("/due?whose=club&days=14")), backup, step, release, analysis, promise)
		wants(t, dues(c.ana.Get("/due?days=14")), backup, analysis, promise)
		wants(t, dues(c.ben.Get("/due?days=14")), step, release, promise)
		text := `What is due up to 2026-05-05
harbour, 2026-05-01

2026-05-01, TODAY
- Harbour line has no backup: it lives in 1 bin; at least 2 bins (a custom
  without a source; the club's to change)
- A transfer waits for an answer: 0 days since the step before (what the two
  sides agreed on)

2026-05-04
- Release Shed from quarantine: 11 days since it began; planned for 14 days (the
  day that was planned when the quarantine began)

2026-05-05
- Analysis of 2026-A expires: E. coli: the sample was taken on 2026-04-01 (the
  day on the analysis)
`
		if a := c.ana.With("Accept", "text/plain").Get("/due?whose=club&days=4").Want(200); a.Body != text {
			t.Errorf("%s", a.Body)
		}
	})
}

// events are the days and summaries of a calendar, read by a parser that isn't
// ours.
func events(t *testing.T, a *apitest.Answer) string {
	t.Helper()
	c, err := ical.NewDecoder(bytes.NewReader([]byte(a.Want(200).Body))).Decode()
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range c.Events() {
		summary, err := e.Props.Text(ical.PropSummary)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e.Props.Get(ical.PropDateTimeStart).Value+" "+summary)
	}
	return strings.Join(out, "\n")
}

func TestACalendarIsReadByItsLinkAloneUntilItEnds(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		made := c.ana.Post("/calendars", `{"name":"Phone","whose":"club"}`).Want(201).Has("Cache-Control", "no-store").Is("/whose", "club")
		link := strings.TrimPrefix(made.Text("/link"), "https://worms.example")
		c.ana.Get("/calendars/"+made.ID()).Want(200).Is("/link", nil).Is("/member", c.anaID)
		first := c.Get(link).Want(200).Has("Content-Type", "text/calendar; charset=utf-8").Has("Cache-Control", "private, no-cache").Has("Access-Control-Allow-Origin", "")
		wants(t, events(t, first), "20260501 First check of Tote", "20260501 Harbour line has no backup")
		if strings.Contains(first.Body, "ana") || !strings.Contains(first.Body, "due since 2025-12-11") {
			t.Errorf("%s", first.Body)
		}
		c.With("If-None-Match", first.Header.Get("ETag")).Get(link).Want(304)
		c.Get(strings.TrimSuffix(link, ".ics")).Want(200)

		hers := c.ben.Post("/calendars", `{"name":"Ben's"}`).Want(201).Is("/whose", "mine")
		bens := strings.TrimPrefix(hers.Text("/link"), "https://worms.example")
		wants(t, events(t, c.Get(bens)))
		c.ben.Post("/calendars", `{"name":"n","whose":"club"}`).Problem(403, "forbidden")
		c.ben.Post("/calendars", `{"name":"","whose":"mine"}`).Problem(422, "invalid", "/name")
		c.ben.Post("/calendars", `{"name":"n","whose":"all"}`).Problem(422, "invalid", "/whose")
		c.ben.Get("/calendars").Want(200).Is("/items/0/id", hers.ID()).Is("/next_cursor", nil)
		c.ben.Get("/calendars/"+made.ID()).Problem(404, "calendar-not-found")
		c.ben.Delete("/calendars/"+made.ID(), "*").Problem(404, "calendar-not-found")

		c.SignUp("eve").Found("hill")
		for name, path := range map[string]string{
			"another club": strings.Replace(link, "/harbour/", "/hill/", 1), "no club": strings.Replace(link, "/harbour/", "/nowhere/", 1),
			"mistyped": "/v1/calendars/harbour/lbc_rubbish.ics", "nothing": "/v1/calendars/harbour/.ics",
		} {
			if a := c.Get(path).Problem(404, "calendar-not-found"); a == nil {
				t.Error(name)
			}
		}
		c.ana.Delete("/calendars/"+made.ID(), "*").Want(200).Is("/revoked_at", "2026-05-01T08:00:00Z")
		c.Get(link).Problem(404, "calendar-not-found")
		c.ana.Post("/members/"+c.benID+"/removal", c.named(`{"to":"ANA"}`)).Want(200)
		c.Get(bens).Problem(404, "calendar-not-found")
		c.ana.Get("/calendars/"+hers.ID()).Want(200).Is("/revoked_at", "2026-05-01T08:00:00Z")
	})
}

func TestAWholeClubsCalendarEndsWithTheStewardship(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ana.Post("/members/"+c.benID+"/role", `{"role":"steward"}`).Want(200)
	link := strings.TrimPrefix(c.ben.Post("/calendars", `{"name":"n","whose":"club"}`).Want(201).Text("/link"), "https://worms.example")
	c.Get(link).Want(200)
	c.ana.Post("/members/"+c.benID+"/role", `{"role":"keeper"}`).Want(200)
	c.Get(link).Problem(404, "calendar-not-found")
}

func TestAnErasedMembersCalendarEndsAndKeepsNoName(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	made := c.ben.Post("/calendars", `{"name":"ben at home"}`).Want(201)
	c.ana.Post("/members/"+c.benID+"/erasure", c.named(`{"to":"ANA","confirm":"ben"}`)).Want(200)
	c.ana.Get("/calendars/"+made.ID()).Want(200).Is("/name", "former member 1").Is("/revoked_at", "2026-05-01T08:00:00Z")
	c.Get(strings.TrimPrefix(made.Text("/link"), "https://worms.example")).Problem(404, "calendar-not-found")
}

func TestACalendarEndsWithItsMembersAccount(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	link := strings.TrimPrefix(c.ben.Post("/calendars", `{"name":"n"}`).Want(201).Text("/link"), "https://worms.example")
	c.Get(link).Want(200)
	c.ben.Absolute().Post("/v1/me/erasure", `{"passphrase":"`+apitest.Passphrase+`"}`).Want(200)
	c.Get(link).Problem(404, "calendar-not-found")
}

func TestACalendarStaysTheSameFromReadToReadAndMovesWhatIsOverdue(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	link := strings.TrimPrefix(c.ana.Post("/calendars", `{"name":"n"}`).Want(201).Text("/link"), "https://worms.example")
	first := c.Get(link).Want(200).Body
	c.Clock.Move(time.Hour)
	if again := c.Get(link).Want(200).Body; again != first {
		t.Errorf("an hour later:\n%s\nbefore:\n%s", again, first)
	}
	c.Clock.Move(24 * time.Hour)
	if next := c.Get(link).Want(200).Body; !strings.Contains(next, "DTSTART;VALUE=DATE:20260502") || !strings.Contains(next, "DTSTAMP:20251201T000000Z") {
		t.Errorf("a day later:\n%s", next)
	}
}
