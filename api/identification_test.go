package api_test

import (
	"strings"
	"testing"
)

func TestAnIdentificationFlowsWithTheWormsAndFiguresGoByIt(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		move(c.ana, "split", "2026-03-10", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":200,"unit":"g"}`).Want(201)
		first := c.ana.Get("/lots?bin=" + c.tote).Want(200).Text("/items/0/id")
		descends := c.ana.Get("/lots?bin="+c.wedge).Want(200).Is("/items/0/identified_as", nil).Text("/items/0/id")
		id := c.ana.Post("/identifications", `{"lot":"`+first+`","species":"eudrilus-eugeniae","at":"2026-04-01","method":"dna","specimens":12,"identified_by":"University"}`).
			Want(201).Is("/specimens", 12).Is("/precision", "day").ID()
		want := map[string]any{"species": "eudrilus-eugeniae", "told_apart": true, "at": "2026-04-01T11:00:00Z", "identifications": []any{id}}
		c.ana.Get("/lots/"+descends).Want(200).Is("/species", "eisenia-fetida").Is("/identified_as", want)
		c.ana.Get("/lots/"+descends+"/lineage").Want(200).Is("/identified_as", want)
		story := c.ana.With("Accept", "text/plain").Get("/lots/" + descends + "/lineage").Want(200).Body
		if !strings.Contains(strings.ReplaceAll(story, "\n", " "), "and were identified as African nightcrawler on 1 April 2026.") {
			t.Error(story)
		}
		c.ana.Get("/bins/"+c.wedge+"/stock").Want(200).Is("/stock/0/species/id", "eisenia-fetida").Is("/stock/0/identified_as", want)
		// 100 worms by the mean mass of the species that they are
		counted := func(bin string) float64 {
			return move(c.ana, "loss", "2026-04-20", `"cause":"dead",`, `"from_bin":"`+bin+`","quantity":{"value":10,"unit":"{worms}"}`).Want(201).Value("/lines/0/mean_mg").(float64)
		}
		by := counted(c.wedge)
		c.ana.Delete("/identifications/"+id, "*").Want(200)
		c.ana.Get("/lots/"+descends).Want(200).Is("/identified_as", nil)
		if as := counted(c.wedge); as == by {
			t.Errorf("a worm is taken to weigh %v mg, whatever it is", as)
		}
	})
}

func TestStockOfTwoKindsIsNotToldApart(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	first := c.ana.Get("/lots?bin=" + c.tote).Want(200).Text("/items/0/id")
	c.ana.Post("/identifications", `{"lot":"`+first+`","species":"eisenia-andrei","at":"2026-04-01","method":"dna"}`).Want(201)
	move(c.ana, "stocking", "2026-03-01", `"to_bin":"`+c.tote+`",`, `"origin":"`+c.origin+`","quantity":{"value":1,"unit":"kg"}`).Want(201)
	c.ana.Get("/bins/"+c.tote+"/stock").Want(200).Is("/stock/0/identified_as/species", "eisenia-fetida-andrei").Is("/stock/0/identified_as/told_apart", false)
	c.ana.Post("/identifications", `{"lot":"`+first+`","species":"eisenia-hortensis","at":"2026-04-02","method":"dissection"}`).Want(201)
	c.ana.Get("/bins/"+c.tote+"/stock").Want(200).Is("/stock/0/identified_as/species", "mixed")
	lot := c.ana.Get("/bins/" + c.tote + "/stock").Want(200).Text("/stock/0/lot")
	story := c.ana.With("Accept", "text/plain").Get("/lots/" + lot + "/lineage").Want(200).Body
	if !strings.Contains(strings.ReplaceAll(story, "\n", " "), "found to be of several species, last on 2 April 2026: mixed worms.") {
		t.Error(story)
	}
}

func TestAnIdentificationIsChangedAndRefusedWhereItCanNotBe(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	lot := c.ana.Get("/lots?bin=" + c.tote).Want(200).Text("/items/0/id")
	good := `{"lot":"` + lot + `","species":"eisenia-andrei","at":"2026-04-01","method":"dna"}`
	c.ana.Post("/identifications", `{"lot":"`+c.tote+`","species":"gold","method":"guess","specimens":-1}`).
		Problem(422, "invalid", "/method", "/species", "/specimens", "/lot")
	c.ana.Post("/identifications", `{"lot":"`+lot+`","species":"eisenia-andrei","at":"2025-01-01","method":"dna"}`).Problem(422, "invalid", "/at")
	c.ben.Post("/identifications", good).Problem(403, "forbidden")
	id := c.ana.Post("/identifications", good).Want(201).ID()
	c.ana.Patch("/identifications/"+id, "*", `{"lot":"`+c.tote+`"}`).Problem(422, "invalid", "/lot")
	c.ana.Patch("/identifications/"+id, "*", `{"note":"COI","specimens":3}`).Want(200).Is("/note", "COI").Is("/specimens", 3).Is("/at", "2026-04-01")
	c.ana.Get("/identifications?lot="+lot+"&species=eisenia-andrei").Want(200).Is("/items/0/id", id)
	c.ana.Get("/identifications?lot="+c.tote).Want(200).Is("/items", []any{})
	c.ana.Post("/undo", `{}`).Want(200).Is("/kind", "identification").Is("/id", id)
	c.ana.Patch("/identifications/"+id, "*", `{"note":"x"}`).Problem(409, "voided")
	c.ana.Delete("/identifications/"+id, "*").Problem(409, "voided")
}
