package api_test

import (
	"strings"
	"testing"
)

func TestABinsStockShowsWhereItCameFrom(t *testing.T) {
	t.Parallel()
	c := kept(t)
	a := c.ben.Get("/bins/"+c.shed+"/stock").Want(200).Has("Cache-Control", "private, no-cache")
	a.Is("/bin", map[string]string{"id": c.shed, "name": "Shed"}).Is("/book_g", 180)
	a.Is("/stock/0/species", map[string]string{"id": "eisenia-fetida", "name": "tiger worm"})
	a.Is("/stock/0/origins", []any{map[string]any{
		"origin": c.origin, "name": "Green Farm", "kind": "supplier", "share": 1, "culture": map[string]string{"id": c.culture, "name": "Harbour line"},
	}})
	tag := a.Header.Get("ETag")
	if !strings.HasPrefix(tag, `W/"`) {
		t.Errorf("the tag of a derived answer is %s", tag)
	}
	c.ben.With("If-None-Match", tag).Get("/bins/" + c.shed + "/stock").Want(304)
	c.ben.Get("/bins/"+c.batch+"/stock").Problem(404, "bin-not-found")
}

func TestATimelineTellsEverythingInOrderAndWhatCameAlong(t *testing.T) {
	t.Parallel()
	c := kept(t)
	var kinds []string
	path, pages := "/bins/"+c.tote+"/timeline?limit=4", 0
	for path != "" {
		page := c.ben.Get(path).Want(200).Is("/bin/name", "Tote")
		pages++
		for _, item := range page.Value("/items").([]any) {
			e := item.(map[string]any)
			kind := e["kind"].(string)
			record, ok := e[kind].(map[string]any)
			if !ok || record["id"] != e["id"] {
				t.Errorf("the %s isn't shown: %v", kind, e)
			}
			kinds = append(kinds, kind)
		}
		if start := page.Value("/start"); (start != nil) != (pages == 1) {
			t.Errorf("page %d: start %v", pages, start)
		}
		next, more := page.Value("/next_cursor").(string)
		if path = ""; more {
			path = "/bins/" + c.tote + "/timeline?limit=4&cursor=" + next
		}
	}
	want := "movement feeding feeding harvest check feeding movement movement check harvest"
	if got := strings.Join(kinds, " "); got != want {
		t.Errorf("told %s, want %s", got, want)
	}
	a := c.ben.Get("/bins/" + c.wedge + "/timeline").Want(200)
	a.Is("/start/material_g", 2000).Is("/start/from_member", map[string]string{"id": c.anaID, "name": "ana"}).Is("/start/lots/0/mass_g", 200)
	a.Is("/start/lots/0/origins/0/name", "Green Farm").Is("/start/lots/0/origins/0/share", 1)
	c.ben.Get("/bins/"+c.tote+"/timeline?kind=check&order=newest").Want(200).Is("/items/0/check/temperature_c", 20).Is("/start", nil)
	c.ben.Get("/bins/"+c.batch+"/timeline").Problem(404, "bin-not-found")
	c.ben.Get("/bins/"+c.tote+"/timeline?bin=x").Problem(400, "malformed", "?bin")
}

func TestARateComesFromChecksOfLeftovers(t *testing.T) {
	t.Parallel()
	c := kept(t)
	a := c.ben.Get("/bins/" + c.tote + "/rate").Want(200)
	// 12 kg fed on 2 March, 10 % left on 15 April.
	a.Is("/feed_wet/value", 10.8).Is("/feed_wet/unit", "kg").Is("/rate/unit", "kg/kg/d").Is("/rate/level", 0.95).Is("/rate/reason", nil)
	a.Is("/from", "2026-03-01T12:00:00Z").Is("/to", "2026-04-15T11:00:00Z").Is("/density/value", 1.2)
	c.ben.Get("/bins/"+c.tote+"/rate?from=2025-12-01&to=2026-02-01").Want(200).Is("/rate/value", nil).Is("/rate/reason", "no-leftover-record")
	c.ben.Get("/bins/"+c.tote+"/rate?from=2026-04-01&to=2026-03-01").Problem(422, "invalid", "?from")
	c.ben.Get("/bins/"+c.tote+"/rate?to=2026-06-01").Problem(422, "invalid", "?to")
	c.ben.Get("/bins/"+c.tote+"/rate?from=spring").Problem(400, "malformed", "?from")
	c.ben.Get("/bins/"+c.batch+"/rate").Problem(404, "bin-not-found")
}

func TestACensusThatFindsTheBookRightCountsInARate(t *testing.T) {
	t.Parallel()
	c := kept(t)
	census := c.ana.Post("/censuses", `{"bin":"`+c.tote+`","species":"eisenia-fetida","at":"2026-04-10",
		"estimate":{"value":610,"unit":"g"},"low":{"value":500,"unit":"g"},"high":{"value":700,"unit":"g"}}`).Want(201).Is("/posted_g", 0).ID()
	if a := c.ana.Get("/bins/" + c.tote + "/rate").Want(200); !strings.Contains(a.Body, census) {
		t.Errorf("the census isn't among the records: %s", a.Body)
	}
}

func TestAYieldIsTakenBetweenFullHarvests(t *testing.T) {
	t.Parallel()
	c := kept(t)
	a := c.ben.Get("/bins/" + c.tote + "/yield").Want(200)
	// 4 kg of 10 kg of feed, then 5 kg of 12 kg.
	a.Is("/windows/0/yields/wet/value", 0.4).Is("/windows/1/yields/wet/value", 5.0/12).Is("/yields/wet/value", 9.0/22)
	a.Is("/windows/0/sums/bedding_g", 5000).Is("/windows/0/yields/wet_with_bedding/value", 4.0/15)
	a.Is("/yields/dry/basis", "default-moisture").Is("/windows/0/sums/castings_dry/value", 1.4)
	c.ben.Get("/bins/"+c.shed+"/yield").Want(200).Is("/yields/wet/value", nil).Is("/yields/wet/reason", "no-full-harvest").Is("/windows", []any{})
	c.ben.Get("/bins/"+c.batch+"/yield").Problem(404, "bin-not-found")
}

func TestALotIsListedAndShowsItsShares(t *testing.T) {
	t.Parallel()
	c := kept(t)
	move(c.ben, "stocking", "2026-04-25", `"to_bin":"`+c.shed+`",`, `"species":"eisenia-fetida","quantity":{"value":90,"unit":"g"}`).Want(201)
	a := c.ben.Get("/lots?bin="+c.shed).Want(200).Is("/items/0/mass_g", 200).Is("/items/0/ended_at", "2026-04-25T11:00:00Z")
	a.Is("/items/1/mass_g", 270).Is("/items/1/ended_at", nil).Is("/items/1/member", c.benID).Is("/items/1/depth", 3)
	a.Is("/items/1/shares", []any{
		map[string]any{"origin": c.origin, "share": 0.666666666667}, map[string]any{"origin": nil, "share": 0.333333333333},
	})
	lot := a.Text("/items/1/id")
	c.ana.Get("/lots/"+lot).Want(200).Is("/parents/1", map[string]any{"lot": nil, "origin": nil, "mass_g": 90})
	c.ana.Get("/lots?bin="+c.shed+"&order=newest&limit=1").Want(200).Is("/items/0/id", lot)
	c.ana.Get("/lots?species=eisenia-andrei").Want(200).Is("/items", []any{})
	c.ana.Get("/lots/"+c.tote).Problem(404, "lot-not-found")

	l := c.ana.Get("/lots/"+lot+"/lineage").Want(200).Has("Cache-Control", "private, no-cache")
	l.Is("/unknown_share", 0.333333333333).Is("/depth", 3).Is("/effective_sources", 1.79999999999928)
	l.Is("/cultures", []any{map[string]any{"id": c.culture, "name": "Harbour line", "share": 0.666666666667, "copy": false}})
	l.Is("/origins/1/name", "unknown").Is("/origins/1/origin", nil)
	for i, kind := range []string{"stocking", "hand-over", "stocking"} {
		l.Is("/custody/"+string(rune('0'+i))+"/kind", kind)
	}
	l.Is("/custody/1/terms", "sale").Is("/custody/1/from_member/name", "ana").Is("/custody/1/member/name", "ben").Is("/custody/1/at", "2026-03-20")
	l.Is("/custody/1/note", "with a label").Is("/custody/1/parents/0/lot", l.Text("/custody/0/lot"))
	c.ana.Get("/lots/"+c.tote+"/lineage").Problem(404, "lot-not-found")
	text := c.ana.With("Accept", "text/plain").Get("/lots/"+lot+"/lineage").Want(200).Has("Content-Type", "text/plain; charset=utf-8").Body
	if !strings.Contains(text, "ana sold 200 g out of Tote into ben's Shed") {
		t.Errorf("told as:\n%s", text)
	}
}

func TestASeasonIsReportedToEachAsTheyMaySee(t *testing.T) {
	t.Parallel()
	c := kept(t)
	a := c.ana.Get("/reports/seasons/2026-spring").Want(200).Has("Cache-Control", "private, no-cache")
	a.Is("/period/name", "Spring 2026").Is("/period/from", "2026-03-01T00:00:00Z").Is("/period/to", "2026-05-31T23:00:00Z")
	a.Is("/total/sums/feed_g", 12000).Is("/total/sums/castings_g", 5000).Is("/total/bins", 3).Is("/total/yields/wet/value", 5.0/12)
	a.Is("/members/0/name", "ana").Is("/members/0/sums/castings_g", 5000).Is("/members/1/name", "ben").Is("/members/1/yields/wet/reason", "no-full-harvest")
	a.Is("/sites/0/name", "Cellar").Is("/materials/0/name", "Scraps").Is("/stock/0/name", "tiger worm").Is("/stock/0/end_g", 980)
	a.Is("/cultures/0/name", "Harbour line").Is("/cultures/0/bins", 3).Is("/cultures/0/members", 2).Is("/cultures/0/sites", 1)
	a.Is("/cultures/0/copies/0/share", 1).Is("/cultures/0/copies/0/site/name", "Cellar").Is("/cultures/0/copies/0/member/name", "ben")
	a.Is("/before/code", "2025-spring").Is("/changes/4/figure", "fed-wet").Is("/changes/4/before/reason", "no-records-before")
	a.Is("/transfers/0", map[string]any{
		"terms": "sale", "way": "within", "commodity": "eisenia-fetida", "mass_g": 200,
		"money": []any{map[string]any{"currency": "EUR", "minor": 1500}}, "records": a.Value("/transfers/0/records"),
	})
	a.Is("/losses/0/member/name", "ben").Is("/losses/0/dead_g", 20).Is("/money_shown", true).Is("/avoided/unit", "kg")
	b := c.ben.Get("/reports/seasons/current").Want(200).Is("/period/code", "2026-spring").Is("/money_shown", false)
	b.Is("/transfers/0/money", []any{}).Is("/exchanges/0/earned", []any{})
	if strings.Contains(b.Body, "1500,") || strings.Contains(b.Body, `"minor"`) {
		t.Errorf("a keeper sees the sums of money: %s", b.Body)
	}
	c.ana.Get("/reports/seasons/2026-springtime").Problem(422, "period")
	c.ana.Get("/reports/seasons/2026").Want(200).Is("/period/name", "2026")
	c.ana.Get("/reports/seasons/2026-03-01..2026-03-31").Want(200).Is("/total/sums/castings_g", 0)
	c.ana.Get("/reports/seasons/2001").Want(200).Is("/empty", true)
	for _, accept := range []string{"", "*/*", "application/json", "application/json, text/plain"} {
		c.ana.With("Accept", accept).Get("/reports/seasons/current").Want(200).Has("Content-Type", "application/json; charset=utf-8")
	}
	text := c.ana.With("Accept", "text/plain").Get("/reports/seasons/current").Want(200).Has("Content-Type", "text/plain; charset=utf-8").Body
	if !strings.Contains(text, "ana sold 200 g of tiger worm for 15.00 EUR") {
		t.Errorf("told as:\n%s", text)
	}
	if text := c.ben.With("Accept", "text/plain").Get("/reports/seasons/current").Want(200).Body; strings.Contains(text, "EUR") {
		t.Errorf("a keeper is told the sums of money:\n%s", text)
	}
}
