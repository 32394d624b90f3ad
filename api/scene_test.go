package api_test

import (
	"fmt"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// harbour is a club with two keepers: a steward with the bins Tote and Wedge, a
// keeper with the bin Shed; a feed, a bedding, a culture, an origin and a batch.
type harbour struct {
	*apitest.Program
	ana, ben                apitest.Club
	tote, wedge, shed       string
	scraps, leaves          string
	origin, culture, batch  string
	anaID, benID, theCellar string
}

func newHarbour(t *testing.T) *harbour {
	t.Helper()
	return harbourOf(apitest.New(t))
}

// harbourOf founds the harbour in a program.
func harbourOf(p *apitest.Program) *harbour {
	c := &harbour{Program: p}
	c.ana = c.SignUp("ana").Found("harbour")
	c.ben = c.ana.Join("ben", "keeper")
	c.anaID, c.benID = c.ana.MemberID(), c.ben.MemberID()
	c.theCellar = c.ana.Post("/sites", `{"name":"Cellar"}`).Want(201).ID()
	bin := func(name, kind, keeper string) string {
		return c.ana.Post("/bins", map[string]any{
			"name": name, "kind": kind, "site": c.theCellar, "keeper": keeper, "surface_m2": 0.5, "started": "2025-12-01",
		}).Want(201).ID()
	}
	c.tote, c.wedge, c.shed = bin("Tote", "tote", c.anaID), bin("Wedge", "wedge", c.anaID), bin("Shed", "bag", c.benID)
	c.scraps = c.ana.Post("/materials", `{"name":"Scraps","kind":"feed","moisture_pct":80,"density_g_per_l":500}`).Want(201).ID()
	c.leaves = c.ana.Post("/materials", `{"name":"Leaves","kind":"bedding","moisture_pct":40}`).Want(201).ID()
	c.culture = c.ana.Post("/cultures", `{"name":"Harbour line","species":"eisenia-fetida"}`).Want(201).ID()
	c.origin = c.ana.Post("/origins", map[string]string{
		"name": "Green Farm", "kind": "supplier", "species": "eisenia-fetida", "culture": c.culture,
	}).Want(201).ID()
	c.batch = c.ana.Post("/batches", `{"lot_number":"2026-A","product":"castings"}`).Want(201).ID()
	return c
}

// move records a movement with one line.
func move(club apitest.Club, kind, at, more, line string) *apitest.Answer {
	return club.Post("/movements", fmt.Sprintf(`{"kind":%q,"at":%q,%s"lines":[{%s}]}`, kind, at, more, line))
}

// stocked is a harbour with 1 kg of worms in the bin Tote.
func stocked(t *testing.T) *harbour {
	t.Helper()
	return newHarbour(t).stocked()
}

// eachStocked runs fn on a stocked harbour in a database of each kind.
func eachStocked(t *testing.T, fn func(*testing.T, *harbour)) {
	t.Helper()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		fn(t, harbourOf(apitest.On(t, store)).stocked())
	})
}

func (c *harbour) stocked() *harbour {
	move(c.ana, "stocking", "2025-12-02", `"to_bin":"`+c.tote+`",`,
		`"origin":"`+c.origin+`","quantity":{"value":1,"unit":"kg"}`).Want(201)
	return c
}

// kept is a stocked harbour after a season's work, on 1 May 2026.
func kept(t *testing.T) *harbour {
	t.Helper()
	c := stocked(t)
	feed := func(bin, at, material, value string) {
		c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":%q,"items":[{"material":%q,"quantity":{"value":%s,"unit":"kg"}}]}`, bin, at, material, value)).Want(201)
	}
	harvest := func(at, full string, kg float64) {
		c.ana.Post("/harvests", fmt.Sprintf(`{"bin":%q,"at":%q,"full":%s,"castings":{"value":%v,"unit":"kg"},"batch":%q}`, c.tote, at, full, kg, c.batch)).Want(201)
	}
	feed(c.tote, "2025-12-03", c.leaves, "5")
	feed(c.tote, "2025-12-10", c.scraps, "10")
	harvest("2026-02-20", "true", 4)
	c.ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-03-01","leftover_pct":0}`).Want(201)
	feed(c.tote, "2026-03-02", c.scraps, "12")
	move(c.ana, "split", "2026-03-10", `"to_bin":"`+c.wedge+`","material":{"value":2,"unit":"kg"},`,
		`"from_bin":"`+c.tote+`","quantity":{"value":200,"unit":"g"}`).Want(201)
	move(c.ana, "hand-over", "2026-03-20", `"to_bin":"`+c.shed+`","terms":"sale","price_minor":1500,"currency":"EUR","note":"with a label",`,
		`"from_bin":"`+c.tote+`","quantity":{"value":25,"unit":"%"}`).Want(201)
	move(c.ben, "loss", "2026-04-01", `"cause":"dead",`, `"from_bin":"`+c.shed+`","quantity":{"value":20,"unit":"g"}`).Want(201)
	c.ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-04-15","leftover_pct":10,"temperature":{"value":68,"unit":"[degF]"}}`).Want(201)
	harvest("2026-04-20", "true", 5)
	return c
}
