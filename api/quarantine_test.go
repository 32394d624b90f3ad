package api_test

import (
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

// out are the ways in which something leaves the bin Tote on a day.
func (c *harbour) out(at string) map[string]*apitest.Answer {
	grams := `"from_bin":"` + c.tote + `","quantity":{"value":1,"unit":"g"}`
	return map[string]*apitest.Answer{
		"split":     move(c.ana, "split", at, `"to_bin":"`+c.wedge+`",`, grams),
		"combine":   move(c.ana, "combine", at, `"to_bin":"`+c.wedge+`",`, grams),
		"hand-over": move(c.ana, "hand-over", at, `"to_bin":"`+c.shed+`","terms":"gift",`, grams),
		"castings":  c.ana.Post("/harvests", c.named(`{"bin":"TOTE","at":"`+at+`","castings":{"value":1,"unit":"kg"},"batch":"BATCH"}`)),
		"worms":     c.ana.Post("/harvests", c.named(`{"bin":"TOTE","at":"`+at+`","worms_to":"WEDGE","worms":[{"quantity":{"value":1,"unit":"g"}}]}`)),
	}
}

func TestNothingLeavesABinWhileItIsInQuarantine(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		id := c.ana.Post("/quarantines", c.named(`{"bin":"TOTE","at":"2026-03-01","until":"2026-03-22","reason":"mites"}`)).Want(201).
			Is("/until", "2026-03-22").Is("/released", nil).ID()
		for name, a := range c.out("2026-03-10") {
			if a.Problem(409, "in-quarantine"); !strings.Contains(a.Text("/detail"), "since 2026-03-01, planned until 2026-03-22") {
				t.Errorf("%s: %s", name, a.Body)
			}
		}
		c.ana.Get("/bins/"+c.tote).Want(200).Is("/quarantine/id", id).Is("/quarantine/since", "2026-03-01").Is("/quarantine/until", "2026-03-22")
		c.ana.Get("/bins").Want(200).Is("/items/1/quarantine", nil)
		// what goes on
		move(c.ana, "loss", "2026-03-10", `"cause":"dead",`, `"from_bin":"`+c.tote+`","quantity":{"value":1,"unit":"g"}`).Want(201)
		move(c.ana, "stocking", "2026-03-11", `"to_bin":"`+c.tote+`",`, `"origin":"`+c.origin+`","quantity":{"value":10,"unit":"g"}`).Want(201)
		c.ana.Post("/checks", c.named(`{"bin":"TOTE","at":"2026-03-12"}`)).Want(201)
		// before it, told later
		for name, a := range c.out("2026-02-28") {
			if a.Status != 201 {
				t.Errorf("before it, %s: %s", name, a.Body)
			}
		}
		c.ana.Post("/quarantines/"+id+"/release", `{"at":"2026-03-20","outcome":"sound","note":"none seen"}`).Want(200).
			Is("/released", "2026-03-20").Is("/released_by", c.anaID).Is("/outcome", "sound").Is("/released_note", "none seen")
		c.ana.Post("/quarantines/"+id+"/release", `{"outcome":"sound"}`).Problem(409, "quarantine-released")
		for name, a := range c.out("2026-03-20") {
			if a.Status != 201 {
				t.Errorf("from its release on, %s: %s", name, a.Body)
			}
		}
		c.ana.Get("/bins/"+c.tote).Want(200).Is("/quarantine", nil)
		for name, a := range c.out("2026-03-19") {
			if a.Problem(409, "in-quarantine"); !strings.Contains(a.Text("/detail"), "from 2026-03-01 until 2026-03-20") {
				t.Errorf("within it, told later, %s: %s", name, a.Body)
			}
		}
		c.ana.Get("/bins/"+c.tote+"/timeline?kind=quarantine").Want(200).Is("/items/0/quarantine/id", id).Is("/items/0/at", "2026-03-01T12:00:00Z")
	})
}

func TestAQuarantineIsChangedVoidedAndRefusedWhereItCanNotBe(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	add := func(body string) *apitest.Answer { return c.ana.Post("/quarantines", c.named(body)) }
	add(`{"bin":"TOTE","at":"2025-01-01"}`).Problem(422, "invalid", "/at")
	add(`{"bin":"TOTE","at":"2026-03-01","until":"2026-02-01"}`).Problem(422, "invalid", "/until")
	add(`{"bin":"TOTE","at":"2026-03-01","until":"soon"}`).Problem(422, "invalid", "/until")
	add(`{"bin":"TOTE","at":"2026-03-01","outcome":"sound"}`).Problem(422, "invalid", "/outcome")
	add(`{"bin":"TOTE","at":"2026-03-01","released":"2026-02-01","outcome":"sound"}`).Problem(422, "invalid", "/released")
	add(`{"bin":"TOTE","at":"2026-03-01","released":"2026-03-02"}`).Problem(422, "invalid", "/outcome")
	c.ben.Post("/quarantines", c.named(`{"bin":"TOTE"}`)).Problem(403, "forbidden")
	id := add(`{"bin":"TOTE","at":"2026-03-01"}`).Want(201).ID()
	add(`{"bin":"TOTE","at":"2026-02-01"}`).Problem(409, "quarantine-overlaps")
	add(`{"bin":"TOTE","at":"2026-04-01"}`).Problem(409, "quarantine-overlaps")
	add(`{"bin":"TOTE","at":"2026-02-01","released":"2026-03-01","outcome":"treated"}`).Want(201)
	c.ana.Post("/quarantines/"+id+"/release", `{"at":"2026-02-01","outcome":"gone"}`).Problem(422, "invalid", "/at", "/outcome")
	c.ana.Patch("/quarantines/"+id, "*", `{"bin":"`+c.wedge+`"}`).Problem(422, "invalid", "/bin")
	c.ana.Patch("/quarantines/"+id, "*", `{"at":"2026-02-20"}`).Problem(409, "quarantine-overlaps")
	c.ana.Patch("/quarantines/"+id, "*", `{"at":"2026-03-05","until":"2026-03-30"}`).Want(200).Is("/at", "2026-03-05")
	c.ana.Get("/bins/"+c.tote+"/timeline?kind=quarantine&order=newest").Want(200).Is("/items/0/at", "2026-03-05T12:00:00Z")
	c.ana.Patch("/quarantines/"+id, "*", `{"released":"2026-03-06","outcome":"treated"}`).Want(200).Is("/released_by", c.anaID)
	c.ana.Patch("/quarantines/"+id, "*", `{"released":null,"outcome":null}`).Want(200).Is("/released_by", nil)
	c.ana.Delete("/quarantines/"+id, "*").Want(200).Is("/voided_by", c.anaID)
	c.ana.Patch("/quarantines/"+id, "*", `{"note":"x"}`).Problem(409, "voided")
	c.ana.Post("/quarantines/"+id+"/release", `{"outcome":"sound"}`).Problem(409, "voided")
	for name, a := range c.out("2026-04-01") {
		if a.Status != 201 {
			t.Errorf("voided, %s: %s", name, a.Body)
		}
	}
	c.ana.Get("/quarantines?bin="+c.tote).Want(200).Is("/items/0/released", "2026-03-01")
	c.ana.Get("/quarantines?voided=true&order=newest").Want(200).Is("/items/0/id", id)
}

func TestAnArrivalInAnEmptyBinIsIsolatedWhereTheClubWantsThat(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	arrive := func(bin, at string) {
		move(c.ana, "stocking", at, `"to_bin":"`+bin+`",`, `"origin":"`+c.origin+`","quantity":{"value":10,"unit":"g"}`).Want(201)
	}
	c.ana.Patch("", "*", `{"quarantine_days":367}`).Problem(422, "invalid", "/quarantine_days")
	c.ana.Patch("", "*", `{"quarantine_days":21}`).Want(200).Is("/quarantine_days", 21)
	arrive(c.tote, "2026-04-20")
	c.ana.Get("/bins/"+c.tote).Want(200).Is("/quarantine/since", "2026-04-20").Is("/quarantine/until", "2026-05-11")
	arrive(c.tote, "2026-04-25")  // it is in one
	arrive(c.wedge, "2026-04-01") // its days are over
	arrive(c.wedge, "2026-04-30") // no empty bin
	c.ana.Get("/bins/"+c.wedge).Want(200).Is("/quarantine", nil)
	c.ana.Post("/quarantines", `{"bin":"`+c.wedge+`","at":"2026-04-30"}`).Want(201).Is("/until", "2026-05-21")
	c.ana.Post("/undo", `{}`).Want(200).Is("/kind", "quarantine")
	c.ana.Get("/bins/"+c.wedge).Want(200).Is("/quarantine", nil)
}

func TestTheReleaseOfAQuarantineHasItsLineInTheTimeline(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		id := c.ana.Post("/quarantines", c.named(`{"bin":"WEDGE","at":"2026-03-01"}`)).Want(201).ID()
		lines := func() (out []string) {
			for _, e := range c.ana.Get("/bins/" + c.wedge + "/timeline").Want(200).Value("/items").([]any) {
				e := e.(map[string]any)
				out = append(out, e["at"].(string)[:10]+" "+e["kind"].(string)+" "+e["quarantine"].(map[string]any)["id"].(string))
			}
			return out
		}
		want := func(told ...string) {
			t.Helper()
			if got := lines(); !slices.Equal(got, told) {
				t.Errorf("told %q, want %q", got, told)
			}
		}
		want("2026-03-01 quarantine " + id)
		c.ana.Post("/quarantines/"+id+"/release", `{"at":"2026-03-20","outcome":"sound"}`).Want(200)
		want("2026-03-01 quarantine "+id, "2026-03-20 release "+id)
		c.ana.Get("/bins/"+c.wedge+"/timeline?kind=release").Want(200).Is("/items/0/quarantine/outcome", "sound")
		c.ana.Patch("/quarantines/"+id, "*", `{"released":"2026-03-25"}`).Want(200)
		want("2026-03-01 quarantine "+id, "2026-03-25 release "+id)
		c.ana.Patch("/quarantines/"+id, "*", `{"released":null,"outcome":null,"released_note":null}`).Want(200)
		want("2026-03-01 quarantine " + id)
		c.ana.Patch("/quarantines/"+id, "*", `{"released":"2026-03-01","outcome":"treated"}`).Want(200)
		want("2026-03-01 quarantine " + id) // in one moment: one line
	})
}
