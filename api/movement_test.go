package api_test

import (
	"fmt"
	"strings"
	"testing"
)

func TestAMovementShowsWhatWasTypedAndWhatItBecame(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	a := move(c.ana, "split", "2026-03-10T09:00:00Z", `"to_bin":"`+c.wedge+`","material":{"value":1,"unit":"[lb_av]"},`,
		`"from_bin":"`+c.tote+`","quantity":{"value":300,"unit":"{worms}"},"size_class":"bed-run"`).Want(201)
	a.Has("Location", "/v1/clubs/harbour/movements/"+a.ID())
	a.Is("/kind", "split").Is("/at", "2026-03-10T09:00:00Z").Is("/precision", "instant").Is("/material_g", 453.592)
	a.Is("/lines/0/quantity", map[string]any{"value": 300, "unit": "{worms}"})
	// 300 worms at 1,000 bed-run worms a pound, 453.59237 mg each.
	a.Is("/lines/0/mass_g", 136.078).Is("/lines/0/basis", "count").Is("/lines/0/cv", 0.35)
	a.Is("/lines/0/worms", 300).Is("/lines/0/mean_mg", 453.59237).Is("/lines/0/mean_basis", "size-class")
	a.Is("/postings/0/account", map[string]any{"kind": "bin", "ref": c.tote}).Is("/postings/0/amount_mg", -136078)
	a.Is("/postings/1/account", map[string]any{"kind": "bin", "ref": c.wedge}).Is("/postings/1/amount_mg", 136078)
	a.Is("/postings/1/commodity", "worms:eisenia-fetida").Is("/reversed_by", nil)
	a.Is("/recorded/by", c.anaID).Is("/recorded/at", "2026-05-01T08:00:00Z")
	if got := c.ben.Get("/movements/" + a.ID()).Want(200).Body; got != a.Body {
		t.Errorf("read back as %s, recorded as %s", got, a.Body)
	}
}

func TestAShareOfTheBinIsTakenByEye(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	a := move(c.ana, "split", "2026-03-10", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":40,"unit":"%"}`).Want(201)
	a.Is("/lines/0/mass_g", 400).Is("/lines/0/basis", "by-eye").Is("/lines/0/cv", 0.3).Is("/lines/0/species", "eisenia-fetida").Is("/precision", "day")
	move(c.ana, "split", "2026-03-11", `"to_bin":"`+c.tote+`",`, `"from_bin":"`+c.shed+`","quantity":{"value":40,"unit":"%"}`).
		Problem(422, "invalid", "/to_bin")
	c.ben.Post("/movements", `{"kind":"loss","at":"2026-03-11","cause":"escaped","lines":[{"from_bin":"`+c.shed+`","quantity":{"value":40,"unit":"%"}}]}`).
		Problem(422, "invalid", "/lines/0/quantity").Is("/errors/0/code", "no-known-stock")
	move(c.ana, "combine", "2026-03-12", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":2,"unit":"L"},"density_g_per_l":50`).
		Want(201).Is("/lines/0/mass_g", 100).Is("/lines/0/basis", "volume")
}

func TestWhatAMovementCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	other := c.SignUp("olga").Found("lagoon")
	site := other.Post("/sites", `{"name":"Barn"}`).Want(201).ID()
	foreign := other.Post("/bins", `{"name":"Bed","kind":"windrow","site":"`+site+`"}`).Want(201).ID()
	out := `"from_bin":"` + c.tote + `",`
	to := `"to_bin":"` + c.wedge + `",`
	for name, x := range map[string]struct {
		kind, at, more, line string
		status               int
		code, pointer        string
	}{
		"a unit of temperature":       {"split", "2026-03-01", to, out + `"quantity":{"value":20,"unit":"Cel"}`, 422, "invalid", "/lines/0/quantity/unit"},
		"a unit that isn't one":       {"split", "2026-03-01", to, out + `"quantity":{"value":20,"unit":"KG"}`, 422, "invalid", "/lines/0/quantity/unit"},
		"a negative mass":             {"split", "2026-03-01", to, out + `"quantity":{"value":-1,"unit":"g"}`, 422, "invalid", "/lines/0/quantity"},
		"a share above the whole":     {"split", "2026-03-01", to, out + `"quantity":{"value":101,"unit":"%"}`, 422, "invalid", "/lines/0/quantity"},
		"half a worm":                 {"split", "2026-03-01", to, out + `"quantity":{"value":1.5,"unit":"{worms}"}`, 422, "invalid", "/lines/0/quantity"},
		"a volume without a density":  {"split", "2026-03-01", to, out + `"quantity":{"value":1,"unit":"L"}`, 422, "invalid", "/lines/0/density_g_per_l"},
		"more than the bin holds":     {"split", "2026-03-01", to, out + `"quantity":{"value":1001,"unit":"g"}`, 409, "more-than-book", ""},
		"a time to come":              {"split", "2026-05-01T08:06:00Z", to, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/at"},
		"a time that isn't one":       {"split", "yesterday", to, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/at"},
		"a time before the bin":       {"split", "2025-11-01", to, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/lines/0/from_bin"},
		"another club's bin":          {"split", "2026-03-01", `"to_bin":"` + foreign + `",`, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/to_bin"},
		"a bin that isn't there":      {"loss", "2026-03-01", `"cause":"dead",`, `"from_bin":"` + foreign + `","quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/lines/0/from_bin"},
		"an unknown member":           {"split", "2026-03-01", to + `"to_batch":"x",`, out + `"quantity":{"value":1,"unit":"g"}`, 400, "malformed", "/to_batch"},
		"an unknown member of a line": {"split", "2026-03-01", to, out + `"mass_g":3,"quantity":{"value":1,"unit":"g"}`, 400, "malformed", "/lines/0/mass_g"},
		"a kind of the service's":     {"census", "2026-03-01", to, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/kind"},
		"a loss without a cause":      {"loss", "2026-03-01", "", out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/cause"},
		"a price of a gift":           {"hand-over", "2026-03-01", `"party":"Rosa","terms":"gift","price_minor":1,"currency":"EUR",`, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/price_minor"},
		"material of less than none":  {"split", "2026-03-01", to + `"material":{"value":-1,"unit":"kg"},`, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/material"},
		"castings wetter than water":  {"use", "2026-03-01", `"from_batch":"` + c.batch + `",`, `"moisture_pct":150,"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/lines/0/moisture_pct"},
		"a party of two lines":        {"hand-over", "2026-03-01", `"party":"Rosa\nand Tom",`, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/party"},
		"bins of two keepers at once": {"loss", "2026-03-01", `"cause":"dead",`, out + `"quantity":{"value":1,"unit":"g"}},{"from_bin":"` + c.shed + `","quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/lines/1/from_bin"},
		"a species in no table":       {"stocking", "2026-03-01", to, `"species":"dragon","quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/lines/0/species"},
		"another keeper's bin":        {"split", "2026-03-01", `"to_bin":"` + c.shed + `",`, out + `"quantity":{"value":1,"unit":"g"}`, 422, "invalid", "/to_bin"},
	} {
		t.Run(name, func(t *testing.T) {
			a := move(c.ana, x.kind, x.at, x.more, x.line)
			if x.pointer == "" {
				a.Problem(x.status, x.code)
			} else {
				a.Problem(x.status, x.code, x.pointer)
			}
		})
	}
	a := move(c.ana, "split", "2026-03-01", to, out+`"quantity":{"value":1001,"unit":"g"}`)
	if want := "takes 1.000 g more than the book of bin Tote has then"; !strings.Contains(a.Text("/detail"), want) {
		t.Errorf("the detail %q doesn't say %q", a.Text("/detail"), want)
	}
	move(c.ben, "split", "2026-03-01", to, out+`"quantity":{"value":1,"unit":"g"}`).Problem(403, "forbidden")
	if n := len(c.ana.Get("/movements").Want(200).Value("/items").([]any)); n != 1 {
		t.Errorf("%d movements are on record, want the stocking alone", n)
	}
}

func TestAMovementIsTakenBackOnce(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	id := move(c.ana, "split", "2026-03-10", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":200,"unit":"g"}`).Want(201).ID()
	tag := c.ana.Get("/movements/" + id).Want(200).Header.Get("ETag")
	path := "/movements/" + id + "/reversal"
	c.ana.Post(path, `{}`).Problem(422, "invalid", "/reason")
	c.ana.Post(path, `{"reason":"x","kind":"reversal"}`).Problem(400, "malformed", "/kind")
	c.ben.Post(path, `{"reason":"not mine"}`).Problem(403, "forbidden")
	c.ana.Post("/movements/"+c.tote+"/reversal", `{"reason":"x"}`).Problem(404, "movement-not-found")
	back := c.ana.Post(path, `{"reason":"counted twice","note":"by phone"}`).Want(201)
	back.Has("Location", "/v1/clubs/harbour/movements/"+back.ID())
	back.Is("/kind", "reversal").Is("/reverses", id).Is("/reason", "counted twice").Is("/note", "by phone").Is("/at", "2026-03-10")
	back.Is("/postings/1/amount_mg", 200000)
	c.ana.Get("/movements/"+id).Want(200).Is("/reversed_by", back.ID())
	c.ana.With("If-None-Match", tag).Get("/movements/" + id).Want(200)
	c.ana.Post(path, `{"reason":"again"}`).Problem(409, "reversed-before")
	c.ana.Post("/movements/"+back.ID()+"/reversal", `{"reason":"no"}`).Problem(409, "reversal-of-reversal")
	c.ana.Get("/bins/"+c.wedge+"/stock").Want(200).Is("/book_g", 0).Is("/stock", []any{})
}

func TestStockingIsNotTakenBackFromUnderWhatLeft(t *testing.T) {
	t.Parallel()
	c := kept(t)
	id := c.ana.Get("/movements?kind=stocking").Want(200).Text("/items/0/id")
	a := c.ana.Post("/movements/"+id+"/reversal", `{"reason":"never came"}`).Problem(409, "more-than-book")
	if !strings.Contains(a.Text("/detail"), "at a later entry, 2026-03-10") {
		t.Errorf("the first later moment isn't named: %s", a.Body)
	}
}

func TestThePriceIsShownToThePartiesAndStewards(t *testing.T) {
	t.Parallel()
	c := kept(t)
	rosa := c.ana.Join("rosa", "reader")
	id := c.ana.Get("/movements?kind=hand-over").Want(200).Text("/items/0/id")
	c.ana.Get("/movements/"+id).Want(200).Is("/price_minor", 1500).Is("/currency", "EUR").Is("/from_member", c.anaID).Is("/to_member", c.benID)
	c.ben.Get("/movements/"+id).Want(200).Is("/price_minor", 1500)
	rosa.Get("/movements/"+id).Want(200).Is("/price_minor", nil).Is("/currency", nil).Is("/terms", "sale")
	rosa.Get("/movements?kind=hand-over").Want(200).Is("/items/0/price_minor", nil)
	if events := rosa.Get("/bins/" + c.shed + "/timeline").Want(200).Body; strings.Contains(events, "1500") {
		t.Errorf("the timeline shows the price: %s", events)
	}
}

func TestMovementsAreListedByBinKindMemberAndTime(t *testing.T) {
	t.Parallel()
	c := kept(t)
	for query, want := range map[string]int{
		"":                                 6,
		"?bin=" + c.tote:                   3,
		"?batch=" + c.batch:                2,
		"?kind=loss":                       1,
		"?member=" + c.benID:               2,
		"?bin=" + c.shed + "&kind=loss":    1,
		"?species=eisenia-fetida":          4,
		"?from=2026-04-01&to=2026-04-20":   1,
		"?from=2026-04-01&to=2026-04-21":   2,
		"?bin=" + c.tote + "&order=newest": 3,
	} {
		if got := len(c.ana.Get("/movements" + query).Want(200).Value("/items").([]any)); got != want {
			t.Errorf("%s lists %d movements, want %d", query, got, want)
		}
	}
	c.ana.Get("/movements?bin="+c.tote+"&batch="+c.batch).Problem(400, "malformed", "?batch")
	c.ana.Get("/movements?colour=red").Problem(400, "malformed", "?colour")
	var kinds []string
	path := "/movements?limit=4"
	for path != "" {
		page := c.ana.Get(path).Want(200)
		for i := range page.Value("/items").([]any) {
			kinds = append(kinds, page.Text(fmt.Sprintf("/items/%d/kind", i)))
		}
		next, more := page.Value("/next_cursor").(string)
		if path = ""; more {
			path = "/movements?limit=4&cursor=" + next
		}
	}
	if got := strings.Join(kinds, " "); got != "stocking harvest split hand-over loss harvest" {
		t.Errorf("in pages: %s", got)
	}
}
