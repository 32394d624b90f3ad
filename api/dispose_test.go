package api_test

import (
	"testing"

	"lumbricary.example/api/apitest"
)

func TestABinIsGivenUpInOneCall(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		hortensis := c.ana.Post("/origins", `{"name":"Dale","kind":"supplier","species":"eisenia-hortensis"}`).Want(201).ID()
		move(c.ana, "stocking", "2026-01-05", `"to_bin":"`+c.tote+`",`, `"origin":"`+hortensis+`","quantity":{"value":333.333,"unit":"g"}`).Want(201)
		c.ana.Post("/quarantines", c.named(`{"bin":"TOTE","at":"2026-01-05"}`)).Want(201)
		c.ana.Patch("/bins/"+c.tote, "*", `{"retired":"2026-04-01"}`).Problem(409, "bin-stocked", "/retired")
		a := c.ana.Post("/bins/"+c.tote+"/dispose", `{"at":"2026-04-01","cause":"lost-bin","why":"flooded"}`).Want(200)
		a.Is("/loss/kind", "loss").Is("/loss/cause", "lost-bin").Is("/loss/lines/0/mass_g", 1000).Is("/loss/lines/1/mass_g", 333.333)
		a.Is("/quarantine/outcome", "disposed").Is("/quarantine/released", "2026-04-01")
		a.Is("/bin/retired", "2026-04-01").Is("/bin/retired_why", "flooded").Is("/bin/quarantine", nil)
		c.ana.Get("/bins/"+c.tote+"/stock").Want(200).Is("/book_g", 0)
		c.ana.Post("/bins/"+c.tote+"/dispose", `{"cause":"dead","why":"again"}`).Problem(409, "bin-retired")
		// and back again
		loss := a.Text("/loss/id")
		c.ana.Post("/movements/"+loss+"/reversal", `{"reason":"it floated"}`).Problem(409, "bin-retired")
		c.ana.Patch("/bins/"+c.tote, "*", `{"retired":null}`).Want(200)
		c.ana.Post("/movements/"+loss+"/reversal", `{"reason":"it floated"}`).Want(201)
		c.ana.Get("/bins/"+c.tote+"/stock").Want(200).Is("/book_g", 1333.333)
	})
}

func TestAnEmptyBinIsGivenUpWithoutALossAndARefusalChangesNothing(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	c.ana.Post("/bins/"+c.wedge+"/dispose", `{"cause":"write-off","why":"cracked"}`).Want(200).Is("/loss", nil).Is("/quarantine", nil).Is("/bin/retired", "2026-05-01T08:00:00Z")
	c.ana.Post("/bins/"+c.tote+"/dispose", `{"cause":"escaped","why":""}`).Problem(422, "invalid", "/cause", "/why")
	c.ana.Post("/checks", c.named(`{"bin":"TOTE","at":"2026-04-20"}`)).Want(201)
	c.ana.Post("/bins/"+c.tote+"/dispose", `{"at":"2026-04-01","cause":"dead","why":"dried out"}`).Problem(422, "invalid", "/at")
	c.ana.Get("/bins/"+c.tote+"/stock").Want(200).Is("/book_g", 1000)
	c.ben.Post("/bins/"+c.tote+"/dispose", `{"cause":"dead","why":"dried out"}`).Problem(403, "forbidden")
}

func TestABinInQuarantineDoesNotRetire(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	id := c.ana.Post("/quarantines", c.named(`{"bin":"TOTE","at":"2026-03-01"}`)).Want(201).ID()
	c.ana.Patch("/bins/"+c.tote, "*", `{"retired":"2026-04-01"}`).Problem(409, "quarantine-open", "/retired")
	c.ana.Post("/quarantines/"+id+"/release", `{"at":"2026-03-20","outcome":"sound"}`).Want(200)
	c.ana.Patch("/bins/"+c.tote, "*", `{"retired":"2026-04-01"}`).Want(200)
}

func TestWhatABinPromisedIsNamedAndEndsWithItWhereNothingWasSent(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		propose := func(by apitest.Club, body string) string {
			return by.Post("/transfers", c.named(body)).Want(201).ID()
		}
		worms := `"goods":[{"from_bin":"TOTE","quantity":{"value":10,"unit":"g"}}]`
		mine := propose(c.ana, `{"terms":"gift","legs":[{"receiver":"BEN",`+worms+`}]}`)
		asked := propose(c.ben, `{"terms":"loan","due":"2027-05-01","legs":[{"giver":"ANA","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`)
		sent := propose(c.ana, `{"terms":"sale","party":"Rosa","legs":[{`+worms+`}]}`)
		c.ana.Post("/transfers/"+sent+"/dispatch", `{}`).Want(200)

		dispose := "/bins/" + c.tote + "/dispose"
		left := c.ana.Post(dispose, `{"cause":"dead","why":"dried out"}`).Problem(409, "in-transfer", "/at", "/at")
		left.Is("/errors/0/record", mine).Is("/errors/0/detail", "a gift that is proposed names the bin").Is("/errors/1/record", sent)
		left = c.ana.Post(dispose, `{"cause":"dead","why":"dried out","cancel_transfers":true}`).Problem(409, "in-transfer", "/at")
		left.Is("/errors/0/record", sent).Is("/errors/0/detail", "a sale that is dispatched names the bin")
		c.ana.Get("/transfers/"+mine).Want(200).Is("/state", "proposed") // a refusal changes nothing

		c.ana.Post("/transfers/"+sent+"/receive", `{}`).Want(200)
		a := c.ana.Post(dispose, `{"cause":"dead","why":"dried out","cancel_transfers":true}`).Want(200)
		a.Is("/transfers", []any{mine, asked}).Is("/loss/lines/0/mass_g", 990)
		c.ana.Get("/transfers/"+mine).Want(200).Is("/state", "cancelled").Is("/steps/1/note", "dried out")
		c.ana.Get("/transfers/"+asked).Want(200).Is("/state", "declined")
	})
}
