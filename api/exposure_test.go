package api_test

import (
	"fmt"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

// infested is a stocked harbour in which something came along with the stock of
// the bin Tote: it was split, sold, harvested and screened, and the bins Shed and
// Crate shared tools.
type infested struct {
	*harbour
	crate, fine, receipt string
	split, contact       string
}

func (c *harbour) infested() *infested {
	i := &infested{harbour: c}
	i.crate = c.ben.Post("/bins", c.named(`{"name":"Crate","kind":"other","site":"CELLAR","surface_m2":0.2,"started":"2026-01-01"}`)).Want(201).ID()
	i.fine = c.ana.Post("/batches", `{"lot_number":"2026-F","product":"screened"}`).Want(201).ID()
	i.receipt = c.ben.Post("/receipts", c.named(`{"material":"SCRAPS","at":"2026-03-01","from":"Café","net":{"value":9,"unit":"kg"}}`)).Want(201).ID()
	fed := `"items":[{"material":"SCRAPS","quantity":{"value":1,"unit":"kg"},"receipt":"` + i.receipt + `"}]}`
	c.ben.Post("/feedings", c.named(`{"bin":"SHED","at":"2026-03-02",`+fed)).Want(201)
	c.ben.Post("/feedings", c.named(`{"bin":"`+i.crate+`","at":"2026-03-03",`+fed)).Want(201)
	i.split = move(c.ana, "split", "2026-03-10", `"to_bin":"`+c.wedge+`","material":{"value":2,"unit":"kg"},`, `"from_bin":"`+c.tote+`","quantity":{"value":200,"unit":"g"}`).Want(201).ID()
	move(c.ana, "hand-over", "2026-03-12", `"to_bin":"`+c.shed+`","terms":"sale",`, `"from_bin":"`+c.tote+`","quantity":{"value":100,"unit":"g"}`).Want(201)
	move(c.ana, "hand-over", "2026-03-13", `"party":"Hill School","terms":"gift",`, `"from_bin":"`+c.wedge+`","quantity":{"value":50,"unit":"g"}`).Want(201)
	c.ana.Post("/harvests", c.named(`{"bin":"WEDGE","at":"2026-03-15","castings":{"value":3,"unit":"kg"},"batch":"BATCH"}`)).Want(201)
	c.ana.Post("/reworks", c.named(`{"kind":"screening","at":"2026-03-16","from":[{"batch":"BATCH","quantity":{"value":2,"unit":"kg"}}],"into":[{"batch":"`+i.fine+`"}]}`)).Want(201)
	c.ana.Post("/movements", `{"kind":"use","at":"2026-03-17","from_batch":"`+i.fine+`","lines":[{"quantity":{"value":100,"unit":"g"}}]}`).Want(201)
	i.contact = c.ben.Post("/contacts", c.named(`{"bins":["SHED","`+i.crate+`"],"at":"2026-03-20","what":"tools","note":"the small fork"}`)).Want(201).ID()
	return i
}

// told tells a trace by place, step, record and where it came from, place by
// place.
func told(a *apitest.Answer) string {
	var e struct {
		Items []struct {
			Place     struct{ Name string }
			By        *struct{ Name string }
			Record    *struct{ Kind string }
			Steps     int
			ClearedAt *string `json:"cleared_at"`
			Keeper    *struct{ Name string }
		}
	}
	a.Want(200).Into(&e)
	var out []string
	for _, p := range e.Items {
		line := fmt.Sprintf("%d %s", p.Steps, p.Place.Name)
		if p.Keeper != nil {
			line += " (" + p.Keeper.Name + ")"
		}
		if p.By != nil {
			line += ": " + p.Record.Kind + " " + p.By.Name
		}
		if p.ClearedAt != nil {
			line += "; cleared"
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n")
}

func isTold(t *testing.T, a *apitest.Answer, want ...string) {
	t.Helper()
	if got := told(a); got != strings.Join(want, "\n") {
		t.Errorf("the trace is\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
}

func TestWhatCameWithAStarterIsTracedWhereverItMayBe(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		i := c.infested()
		everywhere := []string{
			"0 Tote (ana)", "1 Wedge (ana): split Tote", "1 Shed (ben): hand-over Tote", "2 Hill School: hand-over Wedge", "2 2026-A: harvest Wedge",
			"3 2026-F: rework 2026-A", "4 put to use: use 2026-F", "2 Crate (ben): contact Shed",
		}
		a := c.ben.Get("/bins/" + c.tote + "/exposure?since=2026-03-01")
		isTold(t, a, everywhere...)
		a.Is("/places", 8).Is("/exposed", 8).Is("/direction", "forward").Is("/since", "2026-03-01T00:00:00Z").Is("/start/name", "Tote").Is("/next_cursor", nil).
			Is("/items/0/by", nil).Is("/items/0/at", "2026-03-01T00:00:00Z").Is("/items/1/record/id", i.split).Is("/items/1/place/id", c.wedge).
			Is("/items/1/at", "2026-03-10T12:00:00Z").Is("/items/3/place/kind", "outside").Is("/items/4/place/kind", "batch").Is("/items/7/record/id", i.contact).
			Is("/cautions/0/code", "possible").Is("/cautions/1/code", "left-club").Is("/cautions/2/code", "same-day")
		isTold(t, c.ana.Get("/batches/"+c.batch+"/exposure"), "0 2026-A", "1 2026-F: rework 2026-A", "2 put to use: use 2026-F")
		isTold(t, c.ana.Get("/receipts/"+i.receipt+"/exposure"), "0 Scraps from Café", "1 Shed (ben): feeding Scraps from Café", "1 Crate (ben): feeding Scraps from Café")
		isTold(t, c.ana.Get("/bins/"+i.crate+"/exposure"), "0 Crate (ben)", "1 Shed (ben): contact Crate")

		back := c.ana.Get("/bins/" + i.crate + "/exposure?direction=back")
		isTold(t, back, "0 Crate (ben)", "1 Shed (ben): contact Crate", "2 Tote (ana): hand-over Shed", "1 Scraps from Café: feeding Crate", "3 Green Farm: stocking Tote")
		back.Is("/direction", "back").Is("/exposed", nil).Is("/items/2/by/id", c.shed).Is("/cautions/1/code", "same-day")
		isTold(t, c.ana.Get("/batches/"+i.fine+"/exposure?direction=back&since=2026-03-12"), "0 2026-F", "1 2026-A: rework 2026-F", "2 Wedge (ana): harvest 2026-A")

		eve := c.SignUp("eve").Found("hill")
		for _, path := range []string{"/bins/" + c.tote, "/batches/" + c.batch, "/receipts/" + i.receipt, "/lots/" + c.ana.Get("/lots").Text("/items/0/id")} {
			eve.Get(path + "/exposure").Want(404)
		}
	})
}

func TestAClearedPlaceIsExposedNoMoreUnlessItIsReachedAgain(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		i := c.infested()
		tote := "/bins/" + c.tote + "/exposure?since=2026-03-01"
		cleared := c.ben.Post("/clearings", c.named(`{"bin":"SHED","at":"2026-03-19","how":"emptied and scalded"}`)).Want(201).ID()
		isTold(t, c.ana.Get(tote), "0 Tote (ana)", "1 Wedge (ana): split Tote", "1 Shed (ben): hand-over Tote; cleared", "2 Hill School: hand-over Wedge",
			"2 2026-A: harvest Wedge", "3 2026-F: rework 2026-A", "4 put to use: use 2026-F")
		isTold(t, c.ana.Get("/bins/"+i.crate+"/exposure?direction=back"), "0 Crate (ben)", "1 Shed (ben): contact Crate", "1 Scraps from Café: feeding Crate")
		c.ben.Patch("/clearings/"+cleared, "*", `{"at":"2026-03-21"}`).Want(200)
		c.ana.Post("/clearings", `{"batch":"`+i.fine+`","at":"2026-03-16","how":"heated to 70 °C"}`).Want(201)
		move(c.ana, "hand-over", "2026-03-22", `"to_bin":"`+c.shed+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":10,"unit":"g"}`).Want(201)
		a := c.ana.Get(tote)
		isTold(t, a, "0 Tote (ana)", "1 Wedge (ana): split Tote", "1 Shed (ben): hand-over Tote; cleared", "2 Hill School: hand-over Wedge",
			"2 2026-A: harvest Wedge", "3 2026-F: rework 2026-A; cleared", "2 Crate (ben): contact Shed", "1 Shed (ben): hand-over Tote")
		a.Is("/places", 8).Is("/exposed", 6).Is("/cautions/2/code", "clearing").Is("/items/2/cleared_at", "2026-03-21T12:00:00Z")
		c.ben.Delete("/contacts/"+i.contact, "*").Want(200).Is("/voided_by", c.benID)
		if strings.Contains(told(c.ana.Get(tote)), "Crate") {
			t.Error("a contact that was voided still exposes")
		}
	})
}

func TestATraceBeginsAtItsMomentAndSixMonthsAgoUnlessItIsSaid(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	i := c.infested()
	bin := "/bins/" + c.tote + "/exposure"
	a := c.ana.Get(bin)
	a.Is("/since", "2025-11-01T00:00:00Z")
	c.ana.With("If-None-Match", a.Header.Get("ETag")).Get(bin).Want(304)
	isTold(t, c.ana.Get(bin+"?since=2026-03-13"), "0 Tote (ana)")
	isTold(t, c.ana.Get(bin+"?since=2026-03-12T12:00:00Z"), "0 Tote (ana)", "1 Shed (ben): hand-over Tote", "2 Crate (ben): contact Shed")
	isTold(t, c.ana.Get(bin+"?since=2026-03-12T12:00:00.000001Z"), "0 Tote (ana)")
	lots := c.ana.Get("/lots?bin=" + c.shed).Want(200)
	isTold(t, c.ana.Get("/lots/"+lots.Text("/items/0/id")+"/exposure"), "0 Shed (ben)", "1 Crate (ben): contact Shed")
	c.ana.Get("/lots/"+lots.Text("/items/0/id")+"/exposure").Is("/since", "2026-03-12T12:00:00Z")
	move(c.ben, "stocking", "2026-04-02", `"to_bin":"`+c.shed+`",`, `"species":"eisenia-fetida","quantity":{"value":90,"unit":"g"}`).Want(201)
	isTold(t, c.ana.Get("/lots/"+lots.Text("/items/0/id")+"/exposure?direction=back"), "0 Shed (ben)", "1 Crate (ben): contact Shed", "1 Tote (ana): hand-over Shed",
		"2 Scraps from Café: feeding Crate", "2 Green Farm: stocking Tote")
	if now := told(c.ana.Get("/bins/" + c.shed + "/exposure?direction=back")); !strings.Contains(now, "1 an unknown origin: stocking Shed") {
		t.Error(now)
	}
	c.ana.Get(bin+"?since=2026-05-02").Problem(400, "malformed", "?since")
	c.ana.Get(bin+"?since=spring").Problem(400, "malformed", "?since")
	c.ana.Get(bin+"?direction=sideways").Problem(400, "malformed", "?direction")
	c.ana.Get(bin+"?order=newest").Problem(400, "malformed", "?order")
	c.ana.Get("/bins/"+i.fine+"/exposure").Problem(404, "bin-not-found")
	c.ana.Get("/batches/"+c.tote+"/exposure").Problem(404, "batch-not-found")
	c.ana.Get("/receipts/"+c.tote+"/exposure").Problem(404, "receipt-not-found")
	c.ana.Get("/lots/"+c.tote+"/exposure").Problem(404, "lot-not-found")
}

func TestWhatIsUnderWayIsTracedToWhereItArrives(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		bin := "/bins/" + c.tote + "/exposure?since=2026-04-01"
		id := c.ana.Post("/transfers", c.named(`{"terms":"gift","legs":[{"receiver":"BEN","to_bin":"SHED","goods":[{"from_bin":"TOTE","quantity":{"value":100,"unit":"g"}},{"from_bin":"TOTE","material":true,"quantity":{"value":1,"unit":"kg"}}]}]}`)).Want(201).ID()
		c.ben.Post("/transfers/"+id+"/accept", `{}`).Want(200)
		c.ana.Post("/transfers/"+id+"/dispatch", `{"at":"2026-04-20"}`).Want(200)
		isTold(t, c.ana.Get(bin), "0 Tote (ana)", "1 on the way to ben (ana): dispatch Tote")
		isTold(t, c.ana.Get("/bins/"+c.shed+"/exposure?direction=back"), "0 Shed (ben)")
		c.ben.Post("/transfers/"+id+"/receive", `{"at":"2026-04-21"}`).Want(200)
		isTold(t, c.ana.Get(bin), "0 Tote (ana)", "1 Shed (ben): arrival Tote")
		isTold(t, c.ana.Get("/bins/"+c.shed+"/exposure?direction=back&since=2026-04-01"), "0 Shed (ben)", "1 Tote (ana): dispatch Shed")
		isTold(t, c.ana.Get("/bins/"+c.shed+"/exposure?direction=back&since=2026-04-21"), "0 Shed (ben)", "1 on the way to ben (ana): arrival Shed")

		c.ana.Post("/transfers", c.named(`{"terms":"sale","done":true,"at":"2026-04-22","party":"Spring Fair","legs":[{"goods":[{"from_bin":"SHED","material":true,"quantity":{"value":1,"unit":"kg"}}],"giver":"BEN"}]}`)).Want(201)
		isTold(t, c.ana.Get(bin), "0 Tote (ana)", "1 Shed (ben): arrival Tote", "2 Spring Fair: arrival Shed")
		c.ana.Post("/transfers", c.named(`{"terms":"sale","done":true,"at":"2026-04-23","party":"Worm Works","legs":[{"receiver":"ANA","to_bin":"WEDGE","goods":[{"species":"eisenia-fetida","quantity":{"value":50,"unit":"g"}}]}]}`)).Want(201)
		isTold(t, c.ana.Get("/bins/"+c.wedge+"/exposure?direction=back"), "0 Wedge (ana)", "1 Worm Works: dispatch Wedge")
	})
}

func TestStockThatWentBackMayBringSomethingAlong(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	id := c.ana.Post("/transfers", c.named(`{"terms":"loan","party":"Hill School","due":"2026-06-01","legs":[{"goods":[{"from_bin":"TOTE","quantity":{"value":100,"unit":"g"}}]}]}`)).Want(201).ID()
	c.ana.Post("/transfers/"+id+"/dispatch", `{"at":"2026-04-20"}`).Want(200)
	c.ana.Post("/clearings", c.named(`{"bin":"TOTE","at":"2026-04-21","how":"new bedding, worms washed"}`)).Want(201)
	c.ana.Post("/transfers/"+id+"/receive", `{"at":"2026-04-22","came":[{"returned":{"value":40,"unit":"g"}}]}`).Want(200)
	isTold(t, c.ana.Get("/bins/"+c.tote+"/exposure?since=2026-04-01"), "0 Tote (ana); cleared", "1 Hill School: arrival Tote", "1 Tote (ana): arrival Tote")
}

func TestWhatWasTakenBackCarriedNothing(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		i := c.infested()
		c.ana.Post("/movements/"+i.split+"/reversal", `{"reason":"it was another bin"}`).Problem(409, "more-than-book")
		a := c.ana.Get("/bins/" + c.wedge + "/exposure?direction=back")
		isTold(t, a, "0 Wedge (ana)", "1 Tote (ana): split Wedge", "2 Green Farm: stocking Tote")
		gift := c.ana.Get("/movements?bin=" + c.wedge + "&order=newest&limit=1").Text("/items/0/id")
		c.ana.Post("/movements/"+gift+"/reversal", `{"reason":"not given"}`).Want(201)
		c.ana.Post("/movements/"+i.split+"/reversal", `{"reason":"it was another bin"}`).Want(201)
		isTold(t, c.ana.Get("/bins/"+c.wedge+"/exposure?direction=back"), "0 Wedge (ana)")
		isTold(t, c.ana.Get("/bins/"+c.tote+"/exposure"), "0 Tote (ana)", "1 Shed (ben): hand-over Tote", "2 Crate (ben): contact Shed")
	})
}

func TestATraceComesInPages(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	i := c.infested()
	for _, path := range []string{"/bins/" + c.tote + "/exposure?since=2026-03-01", "/bins/" + i.crate + "/exposure?direction=back"} {
		whole := told(c.ana.Get(path))
		var parts []string
		next := ""
		for {
			a := c.ana.Get(path + "&limit=2" + next)
			parts = append(parts, told(a))
			if a.Value("/next_cursor") == nil {
				break
			}
			next = "&cursor=" + a.Text("/next_cursor")
		}
		if got := strings.Join(parts, "\n"); got != whole || len(parts) < 3 {
			t.Errorf("in pages it is\n%s\nwant\n%s", got, whole)
		}
		c.ana.Get("/bins/"+c.shed+"/exposure?limit=2"+next).Problem(400, "cursor")
	}
	path := "/bins/" + c.tote + "/exposure?since=2026-03-01&limit=7"
	next := c.ana.Get(path).Want(200).Text("/next_cursor")
	used := c.ana.Get("/movements?order=newest&kind=use").Want(200).Text("/items/0/id")
	c.ana.Post("/movements/"+used+"/reversal", `{"reason":"it wasn't"}`).Want(201)
	isTold(t, c.ana.Get(path+"&cursor="+next), "2 Crate (ben): contact Shed")
	c.ana.Get(path[:len(path)-1]+"101").Problem(400, "malformed", "?limit")
}

func TestATraceIsToldInWords(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	i := c.infested()
	c.ben.Post("/clearings", c.named(`{"bin":"SHED","at":"2026-04-19","how":"scalded"}`)).Want(201)
	text := c.ana.With("Accept", "text/plain").Get("/bins/" + c.tote + "/exposure?since=2026-03-01").Want(200).Body
	for _, want := range []string{
		"Where what was in the bin Tote may have gone\nharbour\nBy records since 1 March 2026\n",
		"It may have reached 7 other places; 7 of the 8 in all haven't been cleared\nsince.",
		"- 1 March 2026: the bin Tote, kept by ana; here the trace begins.",
		"- 12 March 2026: the bin Shed, kept by ben; by a hand-over out of the bin Tote,\n  1 step away; cleared on 19 April 2026.",
		"- 20 March 2026: the bin Crate, kept by ben; by what was shared out of the bin\n  Shed, 2 steps away.",
		"CAUTIONS\n- A trace tells what may have been carried along.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	text = c.ana.With("Accept", "text/plain").Get("/bins/" + i.crate + "/exposure?direction=back&limit=3").Want(200).Body
	for _, want := range []string{
		"Where what is in the bin Crate may have come from\n", "It may have come from 4 other places.",
		"- 20 March 2026: the bin Shed, kept by ben; by what was shared into the bin\n  Crate, 1 step away.", "These are 3 of 5 places; the header Link leads on.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
}

func TestATraceIsTheSameAfterTheBookHasMoved(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	i := c.infested()
	c.ben.Post("/contacts", c.named(`{"bins":["SHED","WEDGE"],"at":"2026-03-12","what":"bedding"}`)).Want(201)
	c.ben.Post("/clearings", c.named(`{"bin":"SHED","at":"2026-03-20","how":"scalded"}`)).Want(201)
	move(c.ben, "split", "2026-03-20", `"to_bin":"`+i.crate+`",`, `"from_bin":"`+c.shed+`","quantity":{"value":10,"unit":"g"}`).Want(201)
	c.ben.Post("/clearings", `{"receipt":"`+i.receipt+`","at":"2026-03-02","how":"frozen","note":"for two weeks"}`).Want(201)
	eve := c.SignUp("eve").Found("hill")
	eve.Post("/imports", c.ana.Get("/exports/book.json").Want(200).Body).Want(201)
	named := func(who apitest.Club, n int) string {
		return who.Get("/bins").Want(200).Text(fmt.Sprintf("/items/%d/id", n))
	}
	for n := range 4 {
		for _, direction := range []string{"forward", "back"} {
			query := "/exposure?since=2026-01-01&direction=" + direction
			was := told(c.ana.Get("/bins/" + named(c.ana, n) + query))
			if is := told(eve.Get("/bins/" + named(eve, n) + query)); is != was {
				t.Errorf("the trace %s is\n%s\nit was\n%s", direction, is, was)
			}
		}
	}
}
