package api_test

import (
	"fmt"
	"strings"
	"testing"
)

func TestAVoidedRecordStaysAndCountsForNothing(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	feed := func(kg int) string {
		return c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":"2026-04-20","items":[{"material":%q,"quantity":{"value":%d,"unit":"kg"}}]}`, c.tote, c.scraps, kg)).Want(201).ID()
	}
	kept, wrong := feed(1), feed(100)
	season := func() string { return c.ana.Get("/reports/seasons/2026-spring").Want(200).Body }
	both := season()
	check := c.ana.Post("/checks", fmt.Sprintf(`{"bin":%q,"at":"2026-04-25","leftovers":[{"feeding":%q,"left_pct":5},{"feeding":%q,"left_pct":0}]}`, c.tote, kept, wrong)).Want(201).ID()
	path := "/feedings/" + wrong
	a := c.ana.Delete(path, etag(t, c.ana, path)).Want(200).Is("/id", wrong).Is("/voided_by", c.anaID).Is("/voided_at", "2026-05-01T08:00:00Z")
	if got := c.ana.Get(path).Want(200); got.Body != a.Body || got.Header.Get("ETag") != a.Header.Get("ETag") {
		t.Errorf("voided as %s, shown as %s", a.Body, got.Body)
	}
	list := c.ana.Get("/feedings?bin="+c.tote).Want(200).Is("/items/0/id", kept).Value("/items").([]any)
	all := c.ana.Get("/feedings?voided=true").Want(200).Value("/items").([]any)
	none := c.ana.Get("/feedings?voided=false").Want(200).Value("/items").([]any)
	if len(list) != 1 || len(all) != 2 || len(none) != 1 {
		t.Errorf("%d, %d with voided, %d without", len(list), len(all), len(none))
	}
	c.ana.Get("/feedings?voided=maybe").Problem(400, "malformed", "?voided")
	c.ana.Get("/sites?voided=true").Problem(400, "malformed", "?voided")
	if season() == both {
		t.Error("the season counts it")
	}
	timeline := c.ana.Get("/bins/" + c.tote + "/timeline").Want(200).Body
	if !strings.Contains(timeline, wrong) || !strings.Contains(timeline, `"voided_at":"2026-05-01T08:00:00Z"`) {
		t.Errorf("the timeline doesn't show it as voided: %s", timeline)
	}
	c.ana.Delete(path, "*").Problem(409, "voided")
	c.ana.Patch(path, "*", `{"note":"x"}`).Problem(409, "voided")
	c.ana.Post("/checks", fmt.Sprintf(`{"bin":%q,"leftovers":[{"feeding":%q,"left_pct":5}]}`, c.tote, wrong)).Problem(422, "invalid", "/leftovers/0/feeding")
	c.ana.Patch("/checks/"+check, "*", `{"note":"still fine"}`).Want(200)
	c.ana.Delete("/checks/"+check, "*").Want(200).Is("/voided_by", c.anaID)
	c.ana.Get("/checks").Want(200).Is("/items", []any{})
}

func TestAnExportLeavesVoidedRecordsOutAndComesBackIn(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	feed := func() string {
		return c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":"2026-04-20","items":[{"material":%q,"quantity":{"value":1,"unit":"kg"}}]}`, c.tote, c.scraps)).Want(201).ID()
	}
	kept, wrong := feed(), feed()
	c.ana.Post("/checks", fmt.Sprintf(`{"bin":%q,"at":"2026-04-25","leftovers":[{"feeding":%q,"left_pct":5},{"feeding":%q,"left_pct":0}]}`, c.tote, kept, wrong)).Want(201)
	c.ana.Delete("/feedings/"+wrong, "*").Want(200)
	book := c.ana.Get("/exports/book.json").Want(200).Body
	if strings.Contains(book, wrong) || !strings.Contains(book, kept) {
		t.Error(book)
	}
	hill := c.SignUp("eve").Found("hill")
	hill.Post("/imports", book).Want(201)
	if again := hill.Get("/exports/book.json").Want(200).Body; strings.Count(again, kept) != strings.Count(book, kept) {
		t.Errorf("went in as %s, came out as %s", book, again)
	}
}

func TestAFeedingKeepsItsMassWhenItsMaterialChanges(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	id := c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":"2026-04-20","items":[{"material":%q,"quantity":{"value":2,"unit":"L"}}]}`, c.tote, c.scraps)).Want(201).Is("/items/0/wet_g", 1000).ID()
	path := "/feedings/" + id
	c.ana.Patch("/materials/"+c.scraps, "*", `{"density_g_per_l":800}`).Want(200)
	c.ana.Patch(path, "*", `{"note":"rinds"}`).Want(200).Is("/items/0/wet_g", 1000)
	c.ana.Patch(path, "*", fmt.Sprintf(`{"items":[{"material":%q,"quantity":{"value":3,"unit":"L"}}]}`, c.scraps)).Want(200).Is("/items/0/wet_g", 2400)
	c.ana.Patch(path, "*", `{"items":[]}`).Problem(422, "invalid", "/items")
	c.ana.Patch(path, "*", `{"bin":"`+c.wedge+`"}`).Problem(422, "invalid", "/bin")
	c.ana.Patch(path, "*", `{"recorded":null}`).Problem(422, "invalid", "/recorded")
}

func TestARecordMovesInItsTimelineWithItsMoment(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	first := c.ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-04-20"}`).Want(201).ID()
	second := c.ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-04-21"}`).Want(201).ID()
	timeline := "/bins/" + c.tote + "/timeline"
	c.ana.Get(timeline).Want(200).Is("/items/0/id", first).Is("/items/1/id", second)
	c.ana.Patch("/checks/"+first, "*", `{"at":"2026-04-22T10:00:00+02:00"}`).Want(200).Is("/at", "2026-04-22T08:00:00Z").Is("/precision", "instant")
	c.ana.Get(timeline).Want(200).Is("/items/0/id", second).Is("/items/1/id", first).Is("/items/1/at", "2026-04-22T08:00:00Z")
	c.ana.Patch("/checks/"+first, "*", `{"at":"2026-05-02"}`).Problem(422, "invalid", "/at")
	c.ana.Patch("/checks/"+first, "*", `{"at":"2025-01-01"}`).Problem(422, "invalid", "/at")
	c.ana.Patch("/checks/"+first, "*", `{"at":null}`).Problem(422, "invalid", "/at")
}

func TestACheckKeepsItsFiguresUnlessTheyArePatched(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	a := c.ana.Post("/checks", `{"bin":"`+c.tote+`","temperature":{"value":68,"unit":"[degF]"},"leachate":{"value":2,"unit":"L"}}`).Want(201)
	path := "/checks/" + a.ID()
	c.ana.Patch(path, a.Header.Get("ETag"), `{"ph":7}`).Want(200).Is("/temperature_c", 20).Is("/leachate_l", 2).Is("/ph", 7)
	c.ana.Patch(path, "*", `{"temperature":{"value":77,"unit":"[degF]"},"leachate":null}`).Want(200).Is("/temperature_c", 25).Is("/leachate_l", nil)
	c.ana.Patch(path, "*", `{"leachate":{"value":-1,"unit":"L"}}`).Problem(422, "invalid", "/leachate")
	c.ana.Patch(path, "*", `{"temperature_c":3}`).Problem(422, "invalid", "/temperature_c")
}
