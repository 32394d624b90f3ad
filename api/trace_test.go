package api_test

import (
	"strings"
	"testing"
)

func TestALotIsTracedUpAndDownInPages(t *testing.T) {
	t.Parallel()
	c := kept(t)
	move(c.ben, "stocking", "2026-04-25", `"to_bin":"`+c.shed+`",`, `"species":"eisenia-fetida","quantity":{"value":90,"unit":"g"}`).Want(201)
	last := c.ana.Get("/lots?order=newest&limit=1&bin=" + c.shed).Want(200).Text("/items/0/id")
	up := c.ana.Get("/lots/"+last+"/upstream?limit=1").Want(200).Is("/items/0/depth", 1).Is("/items/0/bin", c.shed).Is("/items/0/member", c.benID)
	up.Is("/items/0/mass_g", 200).Is("/items/0/ended_at", "2026-04-25T11:00:00Z")
	next := c.ana.Get("/lots/" + last + "/upstream?limit=1&cursor=" + up.Text("/next_cursor")).Want(200)
	next.Is("/items/0/depth", 2).Is("/items/0/bin", c.tote).Is("/next_cursor", nil)
	first := next.Text("/items/0/lot")
	c.ana.Get("/lots/"+first+"/upstream").Want(200).Is("/items", []any{})

	down := c.ben.Get("/lots/"+first+"/downstream?limit=2").Want(200).Is("/items/0/depth", 1).Is("/items/0/share", 1)
	down.Is("/items/0/stands_g", 200).Is("/items/0/descend_g", 200)
	down.Is("/items/1/lot", up.Text("/items/0/lot")).Is("/items/1/share", 1).Is("/items/1/stands_g", 0).Is("/items/1/descend_g", 0)
	end := c.ben.Get("/lots/"+first+"/downstream?limit=2&cursor="+down.Text("/next_cursor")).Want(200).Is("/items/0/lot", last).Is("/next_cursor", nil)
	end.Is("/items/0/depth", 2).Is("/items/0/share", 0.666666666667).Is("/items/0/stands_g", 270).Is("/items/0/descend_g", 180)

	c.ben.Get("/lots/"+first+"/upstream?cursor="+down.Text("/next_cursor")).Problem(400, "cursor")
	c.ben.Get("/lots/"+first+"/downstream?order=newest").Problem(400, "malformed", "?order")
	for _, way := range []string{"/upstream", "/downstream"} {
		c.ana.Get("/lots/"+c.tote+way).Problem(404, "lot-not-found")
	}
}

func TestALongCustodyIsToldByItsLastStepsAndTheRestIsUpstream(t *testing.T) {
	t.Parallel()
	c := kept(t)
	row := `{"movements":[` + strings.Repeat(`{"kind":"stocking","at":"2026-04-25","to_bin":"`+c.shed+
		`","lines":[{"species":"eisenia-fetida","quantity":{"value":1,"unit":"g"}}]},`, 199)
	c.ben.Post("/records", strings.TrimSuffix(row, ",")+"]}").Want(201)
	last := c.ana.Get("/bins/" + c.shed + "/stock").Want(200).Text("/stock/0/lot")
	var l struct{ Custody []any }
	c.ana.Get("/lots/"+last+"/lineage").Want(200).Is("/custody_cut", true).Is("/custody/199/lot", last).Into(&l)
	if len(l.Custody) != 200 {
		t.Errorf("%d steps", len(l.Custody))
	}
	text := c.ana.With("Accept", "text/plain").Get("/lots/" + last + "/lineage").Want(200).Body
	if !strings.Contains(text, "Earlier steps are left out: these are the last 200.") || !strings.Contains(text, "from before") {
		t.Errorf("told as:\n%s", text)
	}
}
