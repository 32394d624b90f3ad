package api_test

import (
	"testing"
)

// filled puts castings into the club's batch and returns another, empty one.
func filled(c *harbour) (fine string) {
	c.ana.Post("/harvests", c.named(`{"bin":"TOTE","at":"2026-04-21","castings":{"value":4,"unit":"kg"},"moisture_pct":50,"batch":"BATCH"}`)).Want(201)
	return c.ana.Post("/batches", `{"product":"screened","mesh_mm":4}`).Want(201).ID()
}

// screened screens a kilogram of the club's batch into another.
func screened(c *harbour) (rework, fine string) {
	fine = filled(c)
	rework = c.ana.Post("/reworks", c.named(`{"kind":"screening","from":[{"batch":"BATCH","quantity":{"value":1,"unit":"kg"}}],"into":[{"batch":"`+fine+`"}]}`)).Want(201).ID()
	return rework, fine
}

func TestALotNumberIsGivenByItselfAndNeverAgain(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	add := func(body string) string { return c.ana.Post("/batches", body).Want(201).ID() }
	first := c.ana.Post("/batches", `{"product":"castings"}`).Want(201).Is("/lot_number", "2026-001").ID()
	add(`{"product":"castings","lot_number":"2026-007"}`)
	last := c.ana.Post("/batches", `{"product":"castings"}`).Want(201).Is("/lot_number", "2026-008").ID()
	c.ana.Delete("/batches/"+last, "*").Want(204)
	c.ana.Post("/batches", `{"product":"castings","lot_number":"2026-008"}`).Problem(409, "lot-number-taken")
	c.ana.Post("/batches", `{"product":"castings"}`).Want(201).Is("/lot_number", "2026-009")
	c.ana.Patch("/batches/"+first, "*", `{"lot_number":"Spring"}`).Want(200)
	c.ana.Post("/batches", `{"product":"castings","lot_number":"2026-001"}`).Problem(409, "lot-number-taken")
	c.ana.Patch("/batches/"+first, "*", `{"lot_number":"2026-001"}`).Want(200)
	c.ana.Patch("/batches/"+first, "*", `{"lot_number":null}`).Problem(422, "invalid", "/lot_number")
}

func TestWhatABatchHoldsWetFollowsItsLatestMoisture(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	filled(c) // 4 kg at 50 %
	path := c.named("/batches/BATCH/balance")
	c.ana.Get(path).Want(200).Is("/store/end/wet_g", 4000).Is("/store/end/dry_g", 2000).Is("/moisture_pct", 50).Is("/store/assumed", false)
	c.ana.Post("/batch-steps", c.named(`{"batch":"BATCH","kind":"drying","at":"2026-04-22","moisture_pct":20}`)).Want(201)
	c.ana.Get(path).Want(200).Is("/store/end/wet_g", 2500).Is("/store/end/dry_g", 2000).Is("/store/water_g", -1500).Is("/moisture_pct", 20)
	c.ana.Post("/movements", c.named(`{"kind":"hand-over","at":"2026-04-23","from_batch":"BATCH","party":"Rosa","terms":"gift","lines":[{"quantity":{"value":1,"unit":"kg"}}]}`)).
		Want(201).Is("/lines/0/mass_g", 800)
	weighed := c.ana.Post("/batch-steps", c.named(`{"batch":"BATCH","kind":"drying","at":"2026-04-24","mass":{"value":1.6,"unit":"kg"}}`)).Want(201)
	c.ana.Get(path).Want(200).Is("/store/given/dry_g", 800).Is("/store/given/wet_g", 1000).Is("/store/end/wet_g", 1600).Is("/moisture_pct", 25)
	c.ana.Delete("/batch-steps/"+weighed.ID(), "*").Want(200)
	c.ana.Get(path).Want(200).Is("/store/end/wet_g", 1500).Is("/moisture_pct", 20)
	c.ana.Post("/movements", c.named(`{"kind":"loss","cause":"spoiled","at":"2026-04-25","from_batch":"BATCH","lines":[{"quantity":{"value":100,"unit":"%"}}]}`)).Want(201)
	c.ana.Get(path).Want(200).Is("/store/spoiled/dry_g", 1200).Is("/store/end/wet_g", 0).Is("/moisture_pct", nil)
	c.ana.Post("/movements", c.named(`{"kind":"loss","cause":"dead","from_batch":"BATCH","lines":[{"quantity":{"value":1,"unit":"g"}}]}`)).Problem(422, "invalid", "/cause")
	c.ana.Post("/movements", c.named(`{"kind":"loss","cause":"spoiled","lines":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}`)).Problem(422, "invalid", "/cause")
}

func TestBagsTreatmentsAndAnalysesAreKeptWithTheirBatch(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	filled(c)
	post := func(body string) string {
		return c.ana.Post("/batch-steps", c.named(`{"batch":"BATCH","at":"2026-04-22",`+body+`}`)).Want(201).ID()
	}
	bags := post(`"kind":"bagging","bags":12,"mass":{"value":250,"unit":"g"}`)
	post(`"kind":"treatment","what":"steamed","temperature":{"value":70,"unit":"Cel"},"hours":1`)
	post(`"kind":"analysis","parameter":"E. coli","sign":"below","value":10,"unit":"CFU/g","method":"ISO 16649-2","laboratory":"Quay Lab","expires":"2027-04-22"`)
	c.ana.Patch("/batch-steps/"+bags, "*", `{"bags_left":7}`).Want(200).Is("/bags", 12)
	c.ana.Patch("/batch-steps/"+bags, "*", `{"bags_left":13}`).Problem(422, "invalid", "/bags_left")
	c.ana.Patch("/batch-steps/"+bags, "*", `{"kind":"drying"}`).Problem(422, "invalid", "/kind")
	c.ana.Get(c.named("/batches/BATCH/balance")).Want(200).Is("/bags/0/filled", 12).Is("/bags/0/left", 7).Is("/bags/0/bag_g", 250).
		Is("/treatments/0/what", "steamed").Is("/analyses/0/expires", "2027-04-22").Is("/analyses/0/value", 10).Is("/analyses/0/sign", "below")
	c.ana.Get(c.named("/batch-steps?batch=BATCH&kind=analysis")).Want(200).Is("/items/0/parameter", "E. coli")
	for body, pointer := range map[string]string{
		`"kind":"drying"`:                                                     "/moisture_pct",
		`"kind":"bagging","bags":2`:                                           "/mass",
		`"kind":"bagging","mass":{"value":1,"unit":"kg"}`:                     "/bags",
		`"kind":"treatment"`:                                                  "/what",
		`"kind":"drying","moisture_pct":20,"hours":1`:                         "/temperature",
		`"kind":"analysis","parameter":"pH"`:                                  "/value",
		`"kind":"analysis","parameter":"pH","value":7,"expires":"soon"`:       "/expires",
		`"kind":"analysis","parameter":"pH","value":7,"expires":"2026-04-01"`: "/expires",
		`"kind":"drying","moisture_pct":20,"laboratory":"Quay Lab"`:           "/laboratory",
	} {
		c.ana.Post("/batch-steps", c.named(`{"batch":"BATCH","at":"2026-04-22",`+body+`}`)).Problem(422, "invalid", pointer)
	}
}

func TestAScreeningPartsABatchAndABlendingJoinsThem(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	fine := filled(c) // 2 kg dry in the batch
	batch := func() string { return c.ana.Post("/batches", `{"product":"screened"}`).Want(201).ID() }
	coarse, blend := batch(), batch()
	into := `"into":[{"batch":"` + fine + `","quantity":{"value":2,"unit":"kg"},"moisture_pct":40},{"batch":"` + coarse + `","quantity":{"value":1,"unit":"kg"}}]`
	screening := c.ana.Post("/reworks", c.named(`{"kind":"screening","at":"2026-04-22","from":[{"batch":"BATCH"}],`+into+`}`)).Want(201).
		Is("/from/0/dry_g", 2000).Is("/from/0/wet_g", 4000).Is("/into/0/dry_g", 1200).Is("/into/1/dry_g", 500).Is("/lost_dry_g", 300).ID()
	c.ana.Get("/movements/"+screening).Want(200).Is("/kind", "rework")
	c.ana.Post("/harvests", c.named(`{"bin":"TOTE","at":"2026-04-23","castings":{"value":1,"unit":"kg"},"moisture_pct":50,"batch":"BATCH"}`)).Want(201)
	c.ana.Post("/reworks", c.named(`{"kind":"blending","at":"2026-04-24","from":[{"batch":"`+fine+`"},{"batch":"BATCH"}],"into":[{"batch":"`+blend+`"}]}`)).Want(201).
		Is("/into/0/dry_g", 1700).Is("/into/0/wet_g", 3000).Is("/lost_dry_g", 0)
	made := c.ana.Get("/batches/"+blend+"/composition").Want(200).Is("/dry_g", 1700).Is("/gone", false).Is("/direct_g", 0).
		Is("/harvests/0/dry_g", 1200).Is("/harvests/0/bin/name", "Tote").Is("/harvests/0/at", "2026-04-21").Is("/harvests/1/dry_g", 500).
		Is("/batches/0/id", fine).Is("/batches/0/dry_g", 1200).Is("/batches/1/dry_g", 500)
	if share, ok := made.Value("/harvests/0/share").(float64); !ok || share < 0.705 || share > 0.706 {
		t.Errorf("share %v", share)
	}
	c.ana.Get(c.named("/batches/BATCH/composition")).Want(200).Is("/gone", true).Is("/dry_g", 500).Is("/direct_g", 500)
	c.ana.Get("/reports/materials-balance?season=2026-04").Want(200).Is("/lost_dry_g", 300).Is("/store/harvested/dry_g", 2500).
		Is("/store/end/dry_g", 2200).Is("/store/reworked_in/dry_g", 3400).Is("/store/reworked_out/dry_g", 3700)
	c.ana.Post("/movements/"+screening+"/reversal", `{"reason":"wrong"}`).Problem(409, "more-than-book")
}

func TestAReworkIsRefusedWhereItDoesNotAddUpAndReversedWhole(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	fine := filled(c)
	ask := func(body string) string { return c.named(`{"at":"2026-04-22",` + body + `}`) }
	for body, pointer := range map[string]string{
		`"kind":"screening","from":[{"batch":"` + fine + `"}],"into":[{"batch":"BATCH"}]`:                                    "/from/0/quantity",
		`"kind":"screening","from":[{"batch":"BATCH"}],"into":[{"batch":"BATCH"}]`:                                           "/into/0/batch",
		`"kind":"screening","from":[{"batch":"BATCH"}],"into":[{"batch":"` + fine + `","quantity":{"value":5,"unit":"kg"}}]`: "/into",
		`"kind":"blending","from":[{"batch":"BATCH"}],"into":[{"batch":"` + fine + `"}]`:                                     "/from",
		`"kind":"screening","from":[{"batch":"BATCH","moisture_pct":100}],"into":[{"batch":"` + fine + `"}]`:                 "/from/0/moisture_pct",
		`"kind":"screening","from":[{"batch":"BATCH"}],"into":[{"batch":"` + fine + `","quantity":{"value":5,"unit":"L"}}]`:  "/into/0/quantity/unit",
		`"kind":"screening","from":[{"batch":"BATCH"}],"into":[{"batch":"` + c.tote + `"}]`:                                  "/into/0/batch",
		`"kind":"blending","from":[{"batch":"BATCH"},{"batch":"` + fine + `"}],"into":[]`:                                    "/into",
	} {
		c.ana.Post("/reworks", ask(body)).Problem(422, "invalid", pointer)
	}
	c.ana.Post("/reworks", ask(`"kind":"screening","from":[{"batch":"BATCH","quantity":{"value":5,"unit":"kg"}}],"into":[{"batch":"`+fine+`"}]`)).Problem(409, "more-than-book")
	late := c.named(`{"kind":"use","at":"2026-04-25","from_batch":"BATCH","lines":[{"quantity":{"value":3,"unit":"kg"}}]}`)
	c.ana.Post("/movements", late).Want(201)
	part := ask(`"kind":"screening","from":[{"batch":"BATCH","quantity":{"value":2,"unit":"kg"}}],"into":[{"batch":"` + fine + `"}]`)
	c.ana.Post("/reworks", part).Problem(409, "more-than-book")
	one := c.ana.Post("/reworks", ask(`"kind":"screening","from":[{"batch":"BATCH","quantity":{"value":1,"unit":"kg"}}],"into":[{"batch":"`+fine+`"}]`)).Want(201).ID()
	c.ana.Post("/movements/"+one+"/reversal", `{"reason":"wrong batch"}`).Want(201)
	c.ana.Get("/batches/"+fine+"/composition").Want(200).Is("/harvests", []any{})
	c.ana.Get(c.named("/batches/BATCH/balance")).Want(200).Is("/store/end/dry_g", 500)
	c.ana.Post("/undo", `{}`).Want(200)
}
