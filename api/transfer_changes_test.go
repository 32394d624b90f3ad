package api_test

import "lumbricary.example/api/apitest"

const (
	someOffer = `{"what":"hush hush","species":"eisenia-fetida","bin":"TOTE","note":"hush hush","price":{"total_minor":100,"currency":"EUR"}}`
	someSwap  = `{"terms":"swap","note":"hush hush","legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]},` +
		`{"goods":[{"species":"eisenia-fetida","from_bin":"SHED","quantity":{"value":1,"unit":"g"}}]}]}`
	someSale = `{"terms":"sale","party":"hush hush","note":"hush hush","contact":{"text":"hush@example.org","purpose":"hush hush","until":"2030-01-01"},` +
		`"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`
	someLoan = `{"terms":"loan","due":"2026-09-01","done":true,"at":"2026-04-20","legs":[{"receiver":"BEN","to_bin":"SHED","goods":[{"from_bin":"TOTE","quantity":{"value":2,"unit":"g"}}]}]}`
	asked    = `{"terms":"gift","legs":[{"giver":"ANA","receiver":"BEN","goods":[{"species":"eisenia-fetida","quantity":{"value":1,"unit":"g"}}]}],"proposer":"BEN"}`
)

// transferChanges are the calls that change offers and transfers, as changes has
// them. What posts also leaves an entry of each movement.
func transferChanges() map[string]change {
	hush := `{"note":"hush hush"}`
	return map[string]change{
		"POST /offers": one("/offers", someOffer),
		"PATCH /offers/{}": {1, func(c *harbour) func() *apitest.Answer {
			return patchOf("/offers", c.named(someOffer), `{"what":"hush"}`)(c)
		}},
		"DELETE /offers/{}":             removes("/offers", someOffer),
		"POST /transfers":               one("/transfers", someSale),
		"POST /transfers/{}/accept":     after("/transfers", asked, "/accept", `{"goods":[{"from_bin":"TOTE"}],"note":"hush hush"}`),
		"POST /transfers/{}/decline":    after("/transfers", asked, "/decline", hush),
		"POST /transfers/{}/cancel":     after("/transfers", someSale, "/cancel", hush),
		"POST /transfers/{}/dispatch":   {2, steps(someSale, "/dispatch", hush)},
		"POST /transfers/{}/receive":    {2, steps(someSale, "/dispatch", `{}`, "/receive", hush)},
		"POST /transfers/{}/settle":     {3, steps(someSale, "/dispatch", `{}`, "/receive", `{}`, "/settle", `{"reason":"hush hush","came":[{"missing":{"value":1,"unit":"mg"}}]}`)},
		"POST /transfers/{}/fail":       {1, steps(someSwap, "/accept", `{}`, "/fail", `{"leg":"LEG1"}`)},
		"POST /transfers/{}/replace":    {1, steps(someSwap, "/accept", `{}`, "/fail", `{"leg":"LEG1"}`, "/replace", `{"leg":"LEG1","goods":[{"from_bin":"SHED","quantity":{"value":2,"unit":"g"}}]}`)},
		"POST /transfers/{}/waive":      {1, steps(someSwap, "/accept", `{}`, "/dispatch", `{"leg":"LEG0"}`, "/receive", `{"to_bin":"SHED"}`, "/fail", `{"leg":"LEG1"}`, "/waive", hush)},
		"POST /transfers/{}/repayments": {3, steps(someLoan, "/repayments", `{"done":true,"to_bin":"TOTE","goods":[{"from_bin":"SHED","quantity":{"value":1,"unit":"g"}}]}`)},
		"POST /transfers/{}/forgive":    {1, steps(someLoan, "/forgive", hush)},
		"POST /transfers/{}/claims":     {1, steps(someLoan, "/claims", `{"note":"hush hush","goods":[{"species":"eisenia-fetida","quantity":{"value":1,"unit":"g"}}]}`)},
		"DELETE /transfers/{}/contact": {1, func(c *harbour) func() *apitest.Answer {
			id := c.ana.Post("/transfers", c.named(someSale)).Want(201).ID()
			return func() *apitest.Answer { return c.ana.Delete("/transfers/"+id+"/contact", "*") }
		}},
	}
}

// steps proposes a transfer and takes steps on it, each a path and a body, of
// which the last is the change.
func steps(proposal string, taken ...string) func(c *harbour) func() *apitest.Answer {
	return func(c *harbour) func() *apitest.Answer {
		move(c.ana, "hand-over", "2026-04-19", `"to_bin":"`+c.shed+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":5,"unit":"g"}`).Want(201)
		t := c.transfer(c.ana.Post("/transfers", c.named(proposal)))
		for len(taken) > 2 {
			t.step(c.ana, taken[0], c.named(taken[1]))
			taken = taken[2:]
		}
		return func() *apitest.Answer { return t.try(c.ana, taken[0], c.named(taken[1])) }
	}
}
