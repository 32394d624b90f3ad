package api_test

import (
	"strings"
	"testing"
)

func TestTwoLotsTellWhatTheyHaveInCommon(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		_, heap := mixed(c) // in Tote: a half of Green Farm, a half of Quay Heap
		lot := func(bin string) string {
			return c.ana.Get("/lots?bin=" + bin + "&order=newest&limit=1").Want(200).Text("/items/0/id")
		}
		both := lot(c.tote)
		move(c.ana, "split", "2026-01-10", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":300,"unit":"g"}`).Want(201)
		move(c.ana, "stocking", "2026-02-01", `"to_bin":"`+c.wedge+`",`, `"species":"eisenia-fetida","quantity":{"value":200,"unit":"g"}`).Want(201)
		move(c.ana, "stocking", "2026-02-02", `"to_bin":"`+c.shed+`",`, `"origin":"`+heap+`","quantity":{"value":100,"unit":"g"}`).Want(201)
		wedge, shed := lot(c.wedge), lot(c.shed) // in Wedge: 30 % of each, and 40 % unknown

		a := c.ana.Get("/lots/"+both+"/overlap/"+wedge).Want(200).Is("/overlap", 0.6).Is("/unknown", 0).Is("/lot/bin/name", "Tote").Is("/other/id", wedge)
		a.Is("/origins/0/share", 0.5).Is("/origins/0/other_share", 0.3).Is("/origins/0/common", 0.3).Is("/origins/0/culture/name", "Harbour line")
		a.Is("/ancestors/0/lot", both).Is("/ancestors/0/at", "2025-12-20").Is("/ancestors/0/kind", "stocking").Is("/ancestors/0/member/name", "ana")
		a.Is("/ancestors/0/arrivals", 0).Is("/ancestors/0/other_arrivals", 2).Is("/ancestors_cut", false)
		c.ana.Get("/lots/"+wedge+"/overlap/"+both).Want(200).Is("/overlap", 0.6).Is("/ancestors/0/arrivals", 2)
		c.ana.Get("/lots/"+wedge+"/overlap/"+wedge).Want(200).Is("/overlap", 1).Is("/unknown", 0.4).Is("/origins/2/origin", nil).Is("/ancestors/0/lot", wedge)
		c.ana.Get("/lots/"+shed+"/overlap/"+wedge).Want(200).Is("/overlap", 0.3).Is("/ancestors", []any{})
		text := c.ana.With("Accept", "text/plain").Get("/lots/" + both + "/overlap/" + wedge).Want(200).Body
		for _, want := range []string{"They have 60 % of their origins in common.", "Quay Heap    50 %    30 %    30 %", "0 arrivals to the first and 2", "no genetics"} {
			if !strings.Contains(strings.Join(strings.Fields(text), " "), strings.Join(strings.Fields(want), " ")) {
				t.Errorf("%q isn't in:\n%s", want, text)
			}
		}
		c.ana.Get("/lots/"+both+"/overlap/"+c.tote).Problem(404, "lot-not-found")
		c.ana.Get("/lots/"+c.tote+"/overlap/"+both).Problem(404, "lot-not-found")
	})
}

func TestLotsOfTwoSpeciesAndWithdrawnOnesAreNotCompared(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	move(c.ana, "stocking", "2026-01-02", `"to_bin":"`+c.wedge+`",`, `"species":"eisenia-fetida","quantity":{"value":1,"unit":"kg"}`).Want(201)
	wrong := move(c.ana, "stocking", "2026-01-02", `"to_bin":"`+c.shed+`",`, `"species":"eisenia-andrei","quantity":{"value":1,"unit":"kg"}`).Want(201).ID()
	lot := func(bin string) string { return c.ana.Get("/lots?bin=" + bin).Want(200).Text("/items/0/id") }
	fetida, andrei := lot(c.wedge), lot(c.shed)
	c.ana.Get("/lots/"+fetida+"/overlap/"+andrei).Want(200).Is("/overlap", 0).Is("/origins", []any{}).Is("/ancestors", []any{})
	c.ana.Post("/movements/"+wrong+"/reversal", `{"reason":"the other shed"}`).Want(201)
	c.ana.Get("/lots/"+fetida+"/overlap/"+andrei).Want(200).Is("/overlap", nil)
	if text := c.ana.With("Accept", "text/plain").Get("/lots/" + andrei + "/overlap/" + fetida).Want(200).Body; !strings.Contains(text, "One of them is withdrawn") {
		t.Errorf("told as:\n%s", text)
	}
}
