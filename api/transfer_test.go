package api_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// transfer is a transfer of a scenario.
type transfer struct {
	*apitest.Answer
	id   string
	legs []string
}

// transfer reads what was answered to a proposal that was recorded.
func (c *harbour) transfer(a *apitest.Answer) *transfer {
	a.Want(201)
	t := &transfer{Answer: a, id: a.ID()}
	t.read()
	return t
}

func (t *transfer) read() {
	t.legs = nil
	for i := range t.Value("/legs").([]any) {
		t.legs = append(t.legs, t.Text(fmt.Sprintf("/legs/%d/id", i)))
	}
}

// step takes a step that is taken.
func (t *transfer) step(by apitest.Club, path, body string) *transfer {
	t.Answer = t.try(by, path, body).Want(200)
	t.read()
	return t
}

// try takes a step; LEG0 and LEG1 are the legs' ids.
func (t *transfer) try(by apitest.Club, path, body string) *apitest.Answer {
	for i, id := range t.legs {
		body = strings.ReplaceAll(body, fmt.Sprint("LEG", i), id)
	}
	return by.Post("/transfers/"+t.id+path, body)
}

// now reads it again.
func (t *transfer) now(by apitest.Club) *transfer {
	t.Answer = by.Get("/transfers/" + t.id).Want(200)
	return t
}

// stock wants the bin to hold so many grams.
func (c *harbour) stock(bin string, grams float64) {
	c.ana.Get("/bins/"+bin+"/stock").Want(200).Is("/book_g", grams)
}

// onBoth tells a story in a stocked harbour on each database.
func onBoth(t *testing.T, story func(t *testing.T, c *harbour)) {
	t.Helper()
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) { story(t, harbourOf(apitest.On(t, s)).stocked()) })
}

// swapping is a harbour where Ana has 1 kg and Ben 500 g of worms.
func swapping(t *testing.T) *harbour {
	t.Helper()
	return stocked(t).bensToo()
}

func (c *harbour) bensToo() *harbour {
	move(c.ben, "stocking", "2026-04-01", `"to_bin":"`+c.shed+`",`, `"origin":"`+c.origin+`","quantity":{"value":500,"unit":"g"}`).Want(201)
	return c
}

func TestASwapOfWhichOneLegArrivesShort(t *testing.T) { onBoth(t, aSwapOfWhichOneLegArrivesShort) }

func aSwapOfWhichOneLegArrivesShort(t *testing.T, c *harbour) {
	t.Helper()
	c.bensToo()
	s := c.transfer(c.ana.Post("/transfers", c.named(`{"terms":"swap","note":"before the holidays","legs":[
		{"receiver":"BEN","to_bin":"SHED","goods":[{"from_bin":"TOTE","quantity":{"value":300,"unit":"g"}}]},
		{"to_bin":"WEDGE","goods":[{"species":"eisenia-fetida","quantity":{"value":200,"unit":"g"}}]}]}`)))
	s.Has("Location", "/v1/clubs/harbour/transfers/"+s.id)
	s.Is("/state", "proposed").Is("/proposer", c.anaID).Is("/legs/0/state", "promised").Is("/legs/0/giver", c.anaID).Is("/legs/0/receiver", c.benID)
	s.Is("/legs/1/giver", c.benID).Is("/legs/1/receiver", c.anaID).Is("/legs/1/goods/0/agreed_g", 200).Is("/legs/1/goods/0/sent_g", nil)
	s.Is("/expires_at", "2026-05-15T08:00:00Z").Is("/outstanding", []any{}).Is("/note", "before the holidays").Is("/price", nil).Is("/contact", nil)
	s.try(c.ben, "/accept", `{}`).Problem(422, "invalid", "/goods/0/from_bin")
	s.try(c.ben, "/dispatch", `{"leg":"LEG0"}`).Problem(403, "forbidden")
	s.step(c.ben, "/accept", c.named(`{"goods":[{"from_bin":"SHED"}]}`))
	s.Is("/state", "accepted").Is("/legs/0/state", "reserved").Is("/legs/1/state", "reserved").Is("/legs/1/goods/0/from_bin", c.shed)
	c.Clock.Move(10 * time.Minute)
	s.step(c.ana, "/dispatch", `{"leg":"LEG0"}`).Is("/state", "dispatched").Is("/legs/0/sent_at", "2026-05-01T08:10:00Z").Is("/legs/0/goods/0/sent_g", 300)
	c.stock(c.tote, 700)
	s.step(c.ben, "/receive", `{"came":[{"received":{"value":240,"unit":"g"},"dead":{"value":20,"unit":"g"},"weight_lost":{"value":10,"unit":"g"}}]}`)
	s.Is("/legs/0/state", "arrived").Is("/legs/0/goods/0/received_g", 240).Is("/legs/0/goods/0/dead_g", 20).
		Is("/legs/0/goods/0/weight_lost_g", 10).Is("/legs/0/goods/0/missing_g", 30).Is("/legs/0/goods/0/returned_g", 0)
	c.stock(c.shed, 740)
	s.Is("/state", "dispatched") // Ben's leg waits
	s.step(c.ben, "/dispatch", `{"at":"2026-05-01T08:10:00Z"}`)
	s.step(c.ana, "/receive", `{}`).Is("/state", "received").Is("/legs/1/goods/0/received_g", 200)
	c.stock(c.shed, 540)
	c.stock(c.wedge, 200)
	arrival := c.ana.Get("/movements/" + s.Text("/legs/0/arrival")).Want(200)
	arrival.Is("/kind", "arrival").Is("/transfer", s.id).Is("/leg", s.legs[0]).Is("/lines/0/dead_g", 20).Is("/lines/0/missing_g", 30)
	for i, want := range map[int]string{0: "transit -300000", 1: "bin 240000", 2: "mortality 20000", 3: "weight-change 10000", 4: "adjustment 30000"} {
		at := fmt.Sprintf("/postings/%d", i)
		if got := fmt.Sprint(arrival.Value(at+"/account/kind"), " ", int64(arrival.Value(at+"/amount_mg").(float64))); got != want {
			t.Errorf("posting %d is %s, want %s", i, got, want)
		}
	}
	c.ana.Post("/movements/"+s.Text("/legs/0/arrival")+"/reversal", `{"reason":"x"}`).Problem(409, "of-transfer")
	s.try(c.ben, "/settle", `{"leg":"LEG0","came":[{"received":{"value":400,"unit":"g"},"weight_lost":{"value":1,"unit":"g"}}],"reason":"weighed again"}`).
		Problem(422, "invalid", "/came/0")
	s.try(c.ben, "/settle", `{"leg":"LEG0","came":[{}],"reason":""}`).Problem(422, "invalid", "/reason")
	s.step(c.ben, "/settle", `{"leg":"LEG0","came":[{"received":{"value":270,"unit":"g"},"dead":{"value":20,"unit":"g"},"weight_lost":{"value":10,"unit":"g"}}],"reason":"weighed again"}`)
	s.Is("/legs/0/goods/0/missing_g", 0).Is("/legs/0/came_at", "2026-05-01T08:10:00Z")
	c.stock(c.shed, 570)
	s.step(c.ana, "/settle", `{"leg":"LEG0","packed":[{"quantity":{"value":310,"unit":"g"}}],"reason":"read the scales wrongly"}`)
	s.Is("/legs/0/goods/0/sent_g", 310).Is("/legs/0/goods/0/received_g", 280)
	c.stock(c.tote, 690)
	verbs := []string{"propose", "accept", "dispatch", "receive", "dispatch", "receive", "settle", "settle"}
	for i, verb := range verbs {
		s.Is(fmt.Sprintf("/steps/%d/verb", i), verb)
	}
	s.Is("/steps/1/by", c.benID).Is("/steps/1/for", nil).Is("/steps/2/leg", s.legs[0]).Is("/steps/7/note", "read the scales wrongly")
}

func TestALoanComesBackInTwoPartsByItsOffspring(t *testing.T) {
	onBoth(t, aLoanComesBackInTwoPartsByItsOffspring)
}

func aLoanComesBackInTwoPartsByItsOffspring(t *testing.T, c *harbour) {
	t.Helper()
	loan := c.transfer(c.ana.Post("/transfers", c.named(`{"terms":"loan","due":"2026-09-01","legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":400,"unit":"g"}}]}]}`)))
	loan.Is("/state", "proposed").Is("/legs/0/state", "reserved").Is("/due", "2026-09-01")
	loan.try(c.ben, "/repayments", c.named(`{"goods":[{"from_bin":"SHED","quantity":{"value":1,"unit":"g"}}]}`)).Want(422)
	loan.step(c.ben, "/accept", c.named(`{"to_bin":"SHED"}`)).step(c.ana, "/dispatch", `{}`)
	loan.step(c.ben, "/receive", `{"came":[{"dead":{"value":10,"unit":"g"}}]}`)
	owed := func(grams float64) []any {
		return []any{map[string]any{"species": "eisenia-fetida", "mass_g": grams}}
	}
	loan.Is("/state", "received").Is("/outstanding", owed(390))
	c.Clock.Move(40 * 24 * time.Hour)
	c.again()
	move(c.ben, "loss", "", `"cause":"dead",`, `"from_bin":"`+c.shed+`","quantity":{"value":100,"unit":"g"}`).Want(201)
	loan.now(c.ana).Is("/outstanding", owed(390)) // what died is owed
	c.ben.Post("/censuses", c.named(`{"bin":"SHED","species":"eisenia-fetida","apply":true,"estimate":{"value":600,"unit":"g"},"low":{"value":590,"unit":"g"},"high":{"value":610,"unit":"g"}}`)).Want(201)
	loan.try(c.ben, "/repayments", c.named(`{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}`)).Problem(422, "invalid", "/goods/0/from_bin")
	loan.step(c.ben, "/repayments", c.named(`{"done":true,"to_bin":"WEDGE","goods":[{"from_bin":"SHED","quantity":{"value":150,"unit":"g"}}]}`))
	loan.Is("/outstanding", owed(240)).Is("/legs/1/return", true).Is("/legs/1/giver", c.benID).Is("/legs/1/state", "arrived")
	loan.step(c.ben, "/repayments", c.named(`{"to_bin":"WEDGE","goods":[{"from_bin":"SHED","quantity":{"value":200,"unit":"g"}}]}`)).Is("/legs/2/state", "reserved").Is("/outstanding", owed(240))
	loan.step(c.ben, "/dispatch", `{}`).step(c.ana, "/receive", `{}`).Is("/outstanding", owed(40))
	loan.try(c.ben, "/forgive", `{}`).Problem(403, "forbidden")
	loan.try(c.ana, "/forgive", `{"goods":[{"species":"eisenia-fetida","quantity":{"value":41,"unit":"g"}}]}`).Problem(409, "out-of-turn")
	loan.step(c.ana, "/forgive", `{"goods":[{"species":"eisenia-fetida","quantity":{"value":15,"unit":"g"}}]}`).Is("/outstanding", owed(25)).Is("/forgiven", owed(15))
	loan.step(c.ana, "/forgive", `{"note":"never mind"}`).Is("/outstanding", []any{}).Is("/state", "received")
	c.stock(c.wedge, 350)
	lot := c.ana.Get("/lots?bin=" + c.wedge + "&order=newest").Want(200).Text("/items/0/id")
	c.ana.Get("/lots/"+lot+"/lineage").Want(200).Is("/origins/0/name", "Green Farm")
	if open := c.ana.Get("/transfers?open=true").Want(200).Value("/items").([]any); len(open) != 0 {
		t.Errorf("still open: %v", open)
	}
}

func TestTheSameWormsAreNotPromisedTwice(t *testing.T) { onBoth(t, theSameWormsAreNotPromisedTwice) }

func theSameWormsAreNotPromisedTwice(t *testing.T, c *harbour) {
	t.Helper()
	c.bensToo()
	sale := func(grams int) *apitest.Answer {
		return c.ana.Post("/transfers", c.named(fmt.Sprintf(`{"terms":"gift","legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":%d,"unit":"g"}}]}]}`, grams)))
	}
	first := c.transfer(sale(700))
	c.Clock.Move(time.Minute)
	a := sale(301).Problem(409, "not-available")
	if !strings.Contains(a.Text("/detail"), "Tote") {
		t.Errorf("the detail doesn't say where: %s", a.Body)
	}
	second := c.transfer(sale(300))
	c.Clock.Move(time.Minute)
	// A fact is never refused: the youngest promise falls short.
	move(c.ana, "loss", "", `"cause":"dead",`, `"from_bin":"`+c.tote+`","quantity":{"value":100,"unit":"g"}`).Want(201)
	first.step(c.ben, "/accept", `{}`).Is("/legs/0/short_g", nil)
	second.step(c.ben, "/accept", `{}`).Is("/legs/0/short_g", 100)
	second.try(c.ana, "/dispatch", `{}`).Problem(409, "short")
	first.step(c.ana, "/cancel", `{"note":"sold out"}`).Is("/state", "cancelled").Is("/steps/2/note", "sold out")
	first.try(c.ana, "/dispatch", `{}`).Problem(409, "out-of-turn")
	second.now(c.ben).Is("/legs/0/short_g", nil)
	second.step(c.ana, "/dispatch", `{"packed":[{"quantity":{"value":320,"unit":"g"}}]}`).Is("/legs/0/goods/0/sent_g", 320)
	second.step(c.ben, "/receive", c.named(`{"to_bin":"SHED","return_all":true,"came":[{"dead":{"value":20,"unit":"g"}}],"note":"wrong species"}`))
	second.Is("/state", "returned").Is("/legs/0/goods/0/returned_g", 300)
	c.stock(c.tote, 880)
}

func TestASaleAtAFairIsToldAWeekLate(t *testing.T) { onBoth(t, aSaleAtAFairIsToldAWeekLate) }

func aSaleAtAFairIsToldAWeekLate(t *testing.T, c *harbour) {
	t.Helper()
	fair := func(at, more string) string {
		return c.named(`{"terms":"sale","done":true,"at":"` + at + `","party":"Spring fair",` + more + `"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":500,"unit":"{worms}"}}]}]}`)
	}
	told := c.transfer(c.ana.Post("/transfers", fair("2026-04-24", `"price":{"unit_minor":5,"unit":"{worms}","currency":"EUR"},`)))
	told.Is("/state", "received").Is("/done", true).Is("/at", "2026-04-24").Is("/precision", "day").Is("/party", "Spring fair").Is("/price/total_minor", 2500)
	told.Is("/legs/0/giver", c.anaID).Is("/legs/0/receiver", nil).Is("/legs/0/sent_at", "2026-04-24").Is("/recorded/at", "2026-05-01T08:00:00Z")
	told.Is("/legs/0/goods/0/quantity", map[string]any{"value": 500, "unit": "{worms}"}).Is("/legs/0/goods/0/received_g", told.Value("/legs/0/goods/0/agreed_g"))
	c.ana.Get("/movements/"+told.Text("/legs/0/dispatch")).Want(200).Is("/kind", "dispatch").Is("/at", "2026-04-24").Is("/party", "Spring fair")
	c.ben.Get("/transfers/"+told.id).Want(200).Is("/price", nil)
	// A late entry that the book doesn't bear is refused with the first moment that breaks.
	move(c.ana, "loss", "2026-04-28", `"cause":"dead",`, `"from_bin":"`+c.tote+`","quantity":{"value":700,"unit":"g"}`).Want(201)
	a := c.ana.Post("/transfers", c.named(`{"terms":"sale","done":true,"at":"2026-04-25","party":"Spring fair","legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":400,"unit":"g"}}]}]}`)).
		Problem(409, "more-than-book")
	if !strings.Contains(a.Text("/detail"), "2026-04-28") || !strings.Contains(a.Text("/detail"), "Tote") {
		t.Errorf("neither moment nor place in %q", a.Text("/detail"))
	}
	c.ana.Post("/transfers", fair("2027-01-01", "")).Problem(422, "invalid", "/at")
	c.ana.Post("/transfers", fair("2025-11-01", "")).Problem(422, "invalid", "/legs/0/goods/0/from_bin")
}

func TestAnOutsidePartySellsToTheClub(t *testing.T) { onBoth(t, anOutsidePartySellsToTheClub) }

func anOutsidePartySellsToTheClub(t *testing.T, c *harbour) {
	t.Helper()
	worms := c.transfer(c.ana.Post("/transfers", c.named(`{"terms":"gift","party":"Green Farm","legs":[{"receiver":"ANA","goods":[{"origin":"ORIGIN","quantity":{"value":1,"unit":"kg"}}]}]}`)))
	worms.Is("/state", "accepted").Is("/legs/0/goods/0/species", "eisenia-fetida").Is("/legs/0/goods/0/origin", c.origin).Is("/legs/0/goods/0/from_bin", nil)
	worms.step(c.ana, "/cancel", `{}`).Is("/state", "cancelled")
	bought := c.transfer(c.ana.Post("/transfers", c.named(`{"terms":"sale","party":"Green Farm","price":{"total_minor":4000,"currency":"EUR"},
		"contact":{"text":"farm@example.org","purpose":"tracing","until":"2026-05-31"},
		"legs":[{"receiver":"ANA","goods":[{"castings":true,"quantity":{"value":10,"unit":"kg"},"moisture_pct":50}]}]}`)))
	bought.Is("/state", "accepted").Is("/legs/0/giver", nil).Is("/legs/0/goods/0/agreed_g", 5000).Is("/contact/text", "farm@example.org")
	bought.step(c.ana, "/dispatch", `{}`).Is("/steps/1/for", nil)
	bought.try(c.ana, "/receive", c.named(`{"to_bin":"SHED","to_batch":"BATCH"}`)).Problem(422, "invalid", "/to_bin")
	bought.step(c.ana, "/receive", c.named(`{"to_batch":"BATCH","came":[{"received":{"value":90,"unit":"%"}}]}`)).Is("/legs/0/goods/0/missing_g", 500)
	c.ana.Get("/movements/"+bought.Text("/legs/0/arrival")).Want(200).Is("/to_batch", c.batch).Is("/price_minor", 4000).Is("/lines/0/castings", true)
	c.ben.Get("/transfers/"+bought.id).Want(200).Is("/contact", nil).Is("/price", nil)
	bought.step(c.ana, "/claims", `{"note":"short weight","goods":[{"castings":true,"quantity":{"value":1,"unit":"kg"},"moisture_pct":50}]}`)
	bought.Is("/claims/0/mass_g", 500).Is("/claims/0/replaced_by", nil)
	bought.try(c.ana, "/claims", `{"note":"","goods":[{"castings":true,"quantity":{"value":1,"unit":"kg"}}]}`).Problem(422, "invalid", "/note")
	madeUp := c.named(`{"terms":"gift","party":"Green Farm","done":true,"replaces":"` + bought.id + `","legs":[{"receiver":"ANA","to_batch":"BATCH","goods":[{"castings":true,"quantity":{"value":1,"unit":"kg"}}]}]}`)
	again := c.transfer(c.ana.Post("/transfers", madeUp)).Is("/replaces", bought.id).ID()
	bought.now(c.ana).Is("/claims/0/replaced_by", again)
	c.ana.Post("/transfers", madeUp).Problem(422, "invalid", "/replaces")
	c.ben.Delete("/transfers/"+bought.id+"/contact", "*").Problem(403, "forbidden")
	tag := bought.Header.Get("ETag")
	c.ana.Delete("/transfers/"+bought.id+"/contact", `"1-0000000000000000"`).Problem(412, "stale")
	c.ana.Delete("/transfers/"+bought.id+"/contact", tag).Want(200).Is("/contact", nil)
	if text := c.ana.Get("/audit-entries?limit=100").Want(200).Body; strings.Contains(text, "farm@example.org") || strings.Contains(text, "Green Farm") {
		t.Errorf("the contact is in the audit: %s", text)
	}
}

func TestAContactIsForgottenAfterItsDay(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	s := c.transfer(c.ana.Post("/transfers", c.named(`{"terms":"gift","party":"Rosa","contact":{"text":"rosa@example.org","purpose":"tracing","until":"2026-05-02"},
		"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`)))
	s.Is("/contact/until", "2026-05-02")
	c.ana.WithKey(c.ana.Post("/api-keys", `{"name":"all","scopes":["read","record","transfer"]}`).Want(201).Text("/key")).
		Get("/transfers/"+s.id).Want(200).Is("/contact", nil)
	c.Clock.Move(48 * time.Hour)
	c.again()
	s.now(c.ana).Is("/contact", nil).Is("/party", "Rosa")
	c.ana.Post("/transfers", c.named(`{"terms":"gift","party":"Rosa","contact":{"text":"","purpose":"","until":"soon"},"legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`)).
		Problem(422, "invalid", "/contact", "/contact/until")
}

func TestAnIdOfTheCallersMakesATransferOnce(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	body := c.named(`{"id":"0197bbbb-0000-7000-8000-000000000001","terms":"gift","party":"Rosa","legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`)
	first := c.ana.Post("/transfers", body).Want(201)
	if second := c.ana.Post("/transfers", body).Want(201); second.Body != first.Body {
		t.Errorf("%s, then %s", first.Body, second.Body)
	}
	c.ana.Post("/transfers", strings.Replace(body, "Rosa", "Tom", 1)).Problem(409, "id-taken")
}

func TestWhatATransferCanNotBeIsRefusedByItsPointer(t *testing.T) {
	t.Parallel()
	c := swapping(t)
	gift := `"legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]`
	for name, x := range map[string]struct{ body, pointer string }{
		"no such terms":               {`{"terms":"rent",` + gift + `}`, "/terms"},
		"a swap of one leg":           {`{"terms":"swap",` + gift + `}`, "/legs"},
		"a gift to oneself":           {`{"terms":"gift","legs":[{"receiver":"ANA","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`, "/legs/0/receiver"},
		"a party beside two members":  {`{"terms":"gift","party":"Rosa","legs":[{"giver":"ANA","receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`, "/party"},
		"a price of a gift":           {`{"terms":"gift","price":{"total_minor":1,"currency":"EUR"},` + gift + `}`, "/price"},
		"a price in no currency":      {`{"terms":"sale","price":{"total_minor":1,"currency":"euro"},` + gift + `}`, "/price/currency"},
		"a price of an unknown unit":  {`{"terms":"sale","price":{"unit_minor":1,"unit":"L","currency":"EUR"},` + gift + `}`, "/price/total_minor"},
		"a loan without a day":        {`{"terms":"loan",` + gift + `}`, "/due"},
		"a day that is none":          {`{"terms":"loan","due":"soon",` + gift + `}`, "/due"},
		"a time of what isn't done":   {`{"terms":"gift","at":"2026-04-01",` + gift + `}`, "/at"},
		"another keeper's bin":        {`{"terms":"gift","legs":[{"receiver":"BEN","goods":[{"from_bin":"SHED","quantity":{"value":1,"unit":"g"}}]}]}`, "/legs/0/goods/0/from_bin"},
		"a bin that its giver keeps":  {`{"terms":"gift","legs":[{"receiver":"BEN","to_bin":"WEDGE","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`, "/legs/0/to_bin"},
		"a quantity of nothing":       {`{"terms":"gift","legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":0,"unit":"g"}}]}]}`, "/legs/0/goods/0/quantity"},
		"a unit of temperature":       {`{"terms":"gift","legs":[{"receiver":"BEN","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"Cel"}}]}]}`, "/legs/0/goods/0/quantity/unit"},
		"no goods":                    {`{"terms":"gift","legs":[{"receiver":"BEN","goods":[]}]}`, "/legs/0/goods"},
		"an offer that isn't there":   {`{"terms":"gift","offer":"0197bbbb-0000-7000-8000-000000000002",` + gift + `}`, "/offer"},
		"a member who isn't there":    {`{"terms":"gift","legs":[{"receiver":"0197bbbb-0000-7000-8000-000000000002","goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`, "/legs/0/receiver"},
		"a proposer who is no side":   {`{"terms":"gift","party":"Rosa","proposer":"BEN","legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}]}`, "/proposer"},
		"what is done and goes where": {`{"terms":"gift","done":true,` + gift + `}`, "/legs/0/to_bin"},
	} {
		t.Run(name, func(t *testing.T) { c.ana.Post("/transfers", c.named(x.body)).Problem(422, "invalid", x.pointer) })
	}
	c.ana.Post("/transfers", `{"terms":"gift","legs":[],"sides":2}`).Problem(400, "malformed", "/sides")
	c.ana.Get("/transfers?open=yes").Problem(400, "malformed", "?open")
	c.ana.Get("/transfers?colour=red").Problem(400, "malformed", "?colour")
	c.ana.Get("/transfers").Want(200).Is("/items", []any{})
}

func TestALegOfASwapThatCanNotBeDeliveredIsReplacedOrWaived(t *testing.T) {
	onBoth(t, aLegOfASwapThatCanNotBeDeliveredIsReplacedOrWaived)
}

func aLegOfASwapThatCanNotBeDeliveredIsReplacedOrWaived(t *testing.T, c *harbour) {
	t.Helper()
	c.bensToo()
	swap := func() *transfer {
		s := c.transfer(c.ana.Post("/transfers", c.named(someSwap))).step(c.ben, "/accept", `{}`)
		s.step(c.ana, "/dispatch", `{"leg":"LEG0"}`).step(c.ben, "/receive", c.named(`{"to_bin":"SHED"}`))
		return s.step(c.ben, "/fail", `{"leg":"LEG1","note":"they escaped"}`)
	}
	s := swap().Is("/state", "owed").Is("/legs/1/state", "undelivered")
	c.ana.Get("/transfers?state=owed").Want(200).Is("/items/0/id", s.ID())
	o := swap()
	o.try(c.ana, "/dispatch", `{"leg":"LEG1"}`).Problem(409, "out-of-turn")
	o.step(c.ben, "/replace", c.named(`{"goods":[{"from_bin":"SHED","quantity":{"value":3,"unit":"g"}}]}`)).Is("/state", "dispatched").Is("/legs/1/goods/0/agreed_g", 3)
	o.step(c.ben, "/dispatch", `{}`).step(c.ana, "/receive", c.named(`{"to_bin":"WEDGE"}`)).Is("/state", "received")
	w := swap()
	w.step(c.ben, "/waive", `{}`).Is("/state", "owed").Is("/waived_by", []string{c.benID})
	w.step(c.ana, "/waive", `{}`).Is("/state", "received").Is("/legs/1/state", "waived").Is("/waived_by", []string{c.benID, c.anaID})
	w.try(c.ana, "/waive", `{}`).Problem(409, "out-of-turn")
}

func TestAProposalIsDeclinedCancelledOrExpires(t *testing.T) {
	onBoth(t, aProposalIsDeclinedCancelledOrExpires)
}

func aProposalIsDeclinedCancelledOrExpires(t *testing.T, c *harbour) {
	t.Helper()
	c.ana.Patch("", "*", `{"promise_days":3}`).Want(200).Is("/promise_days", 3)
	c.ana.Patch("", "*", `{"promise_days":366}`).Problem(422, "invalid", "/promise_days")
	d := c.transfer(c.ben.Post("/transfers", c.named(asked)))
	d.Is("/proposer", c.benID).Is("/expires_at", "2026-05-04T08:00:00Z").Is("/legs/0/goods/0/from_bin", nil)
	d.try(c.ben, "/decline", `{}`).Problem(403, "forbidden")
	d.step(c.ana, "/decline", `{"note":"none to spare"}`).Is("/state", "declined").Is("/steps/1/note", "none to spare")
	e := c.transfer(c.ben.Post("/transfers", c.named(asked)))
	e.try(c.ben, "/cancel", `{"for":"`+c.anaID+`"}`).Problem(422, "invalid", "/for")
	e.step(c.ben, "/cancel", `{}`).Is("/state", "cancelled")
	late := c.transfer(c.ben.Post("/transfers", c.named(asked)))
	c.Clock.Move(3 * 24 * time.Hour)
	c.again()
	late.now(c.ana).Is("/state", "expired")
	late.try(c.ana, "/accept", c.named(`{"goods":[{"from_bin":"TOTE"}]}`)).Problem(409, "out-of-turn")
	c.ana.Get("/transfers?open=true").Want(200).Is("/items", []any{})
}

// again signs everybody in once more, when their tokens have expired.
func (c *harbour) again() {
	c.ana, c.ben = c.SignIn("ana").In("harbour"), c.SignIn("ben").In("harbour")
}
