package api_test

import (
	"fmt"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// day is a check of a bin on a day of 2026.
func day(bin, date string) string { return fmt.Sprintf(`{"bin":%q,"at":%q,"ph":7}`, bin, date) }

func TestManyRecordsAreMadeInTheOrderOfTheirTimes(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	worms := func(line, value, unit string) string {
		return fmt.Sprintf(`"lines":[{%s,"quantity":{"value":%s,"unit":%q}}]`, line, value, unit)
	}
	body := fmt.Sprintf(`{
		"checks":[%s],
		"feedings":[{"bin":%q,"at":"2026-01-05","items":[{"material":%q,"quantity":{"value":1,"unit":"kg"}}]}],
		"censuses":[{"bin":%q,"at":"2026-02-01","species":"eisenia-fetida","estimate":{"value":600,"unit":"g"},"low":{"value":550,"unit":"g"},"high":{"value":650,"unit":"g"}}],
		"harvests":[{"bin":%q,"at":"2026-02-10","castings":{"value":1,"unit":"kg"},"batch":%q}],
		"movements":[
			{"kind":"split","at":"2026-02-20","to_bin":%q,%s},
			{"kind":"stocking","at":"2026-01-01","to_bin":%q,%s}]}`,
		day(c.tote, "2026-01-06"), c.tote, c.scraps, c.tote, c.tote, c.batch,
		c.wedge, worms(`"from_bin":"`+c.tote+`"`, "50", "%"), c.tote, worms(`"origin":"`+c.origin+`"`, "1", "kg"))
	a := c.ana.Post("/records", body).Want(201).Is("/movements/0/kind", "split").Is("/movements/1/kind", "stocking").Is("/censuses/0/posted_g", -400)
	a.Is("/movements/0/postings/0/amount_mg", -300_000)
	c.ana.Get("/bins/"+c.wedge+"/stock").Want(200).Is("/stock/0/book_g", 300)
	if lots := c.ana.Get("/lots").Want(200).Value("/items").([]any); len(lots) != 2 {
		t.Errorf("%d lots", len(lots))
	}
}

func TestOneFaultAmongManyRecordsMakesNone(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		club := apitest.On(t, store).SignUp("ana").Found("harbour")
		site := club.Post("/sites", cellar).Want(201).ID()
		bin := club.Post("/bins", `{"name":"Tote","kind":"tote","site":"`+site+`","started":"2026-01-01"}`).Want(201).ID()
		item := `{"material":"` + site + `","quantity":{"value":1,"unit":"kg"}}`
		club.Post("/records", fmt.Sprintf(`{"checks":[%s,{"bin":%q,"leachate":{"value":-1,"unit":"L"}},%s],"feedings":[{"bin":%q,"items":[%s]}],
			"movements":[{"kind":"loss","cause":"dead","lines":[{"from_bin":%q,"species":"eisenia-fetida","quantity":{"value":1,"unit":"kg"}}]}]}`,
			day(bin, "2026-02-01"), bin, day(bin, "2026-06-01"), bin, item, bin)).
			Problem(422, "invalid", "/checks/1/leachate", "/checks/2/at", "/feedings/0/items/0/material", "/movements/0")
		same := `{"id":"0197aaaa-0000-7000-8000-00000000000f","bin":"` + bin + `"}`
		club.Post("/records", `{"checks":[`+day(bin, "2026-02-01")+`,`+same+`,`+same+`]}`).Problem(422, "invalid", "/checks/2")
		club.Get("/checks").Want(200).Is("/items", []any{})
		club.Post("/records", `{"checks":[`+day(bin, "2026-02-01")+`]}`).Want(201)
	})
}

func TestManyRecordsAreAThousandAtMost(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	rows := strings.Repeat(day(c.tote, "2026-02-01")+",", 1000)
	c.ana.Post("/records", `{"checks":[`+rows+day(c.tote, "2026-02-01")+`]}`).Problem(422, "invalid", "")
	c.ana.Post("/records", `{}`).Problem(422, "invalid", "")
	c.ana.Post("/records", `{"checks":[{"bin":7}]}`).Problem(400, "malformed", "/checks/0/bin")
	with := c.ana.With("Idempotency-Key", "k-1")
	first := with.Post("/records", `{"checks":[`+strings.TrimSuffix(rows, ",")+`]}`).Want(201)
	if again := with.Post("/records", `{"checks":[`+strings.TrimSuffix(rows, ",")+`]}`).Want(201).Has("Idempotency-Replayed", "true"); again.Body != first.Body {
		t.Error("a replay differs")
	}
}

func TestEachOfManyRecordsNeedsItsRight(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ben.Post("/records", `{"checks":[`+day(c.shed, "2026-02-01")+`,`+day(c.tote, "2026-02-01")+`]}`).Problem(422, "invalid", "/checks/1")
	c.ben.Post("/records", `{"checks":[`+day(c.shed, "2026-02-01")+`]}`).Want(201)
	c.ana.Join("rui", "reader").Post("/records", `{"checks":[`+day(c.shed, "2026-02-01")+`]}`).Problem(422, "invalid", "/checks/0")
}

func TestReceiptsReworksAndStepsOfBatchesAreMadeWithTheOthers(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		fine := c.ana.Post("/batches", `{"product":"screened","mesh_mm":4}`).Want(201).ID()
		got := "0197aaaa-0000-7000-8000-00000000001f"
		a := c.ana.Post("/records", c.named(`{
			"batch_steps":[{"batch":"`+fine+`","kind":"bagging","at":"2026-03-05","bags":2,"mass":{"value":100,"unit":"g"}},{"batch":"BATCH","kind":"drying","at":"2026-03-02","moisture_pct":40}],
			"reworks":[{"kind":"screening","at":"2026-03-03","from":[{"batch":"BATCH"}],"into":[{"batch":"`+fine+`","quantity":{"value":300,"unit":"g"}}]}],
			"harvests":[{"bin":"TOTE","at":"2026-03-01","castings":{"value":1,"unit":"kg"},"batch":"BATCH","moisture_pct":60}],
			"feedings":[{"bin":"TOTE","at":"2026-02-01","items":[{"material":"SCRAPS","quantity":{"value":1,"unit":"kg"},"receipt":"`+got+`"}]}],
			"receipts":[{"id":"`+got+`","material":"SCRAPS","at":"2026-03-04","net":{"value":5,"unit":"kg"},"rejected":{"value":1,"unit":"kg"}}]}`)).Want(201)
		a.Is("/receipts/0/id", got).Is("/receipts/0/net_g", 5000).Is("/feedings/0/items/0/receipt", got).Is("/batch_steps/0/kind", "bagging").Is("/reworks/0/into/0/batch", fine)
		a.Is("/movements", []any{}).Is("/reworks/0/lost_dry_g", 220) // of 400 g; 300 g at 40 % came out
		c.ana.Post("/records", c.named(`{"reworks":[{"kind":"grinding","from":[],"into":[]}],"batch_steps":[{"batch":"TOTE","kind":"bagging","bags":2}],"receipts":[{"material":"TOTE","net":{"value":5,"unit":"kg"}}]}`)).
			Want(422)
	})
}
