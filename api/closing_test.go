package api_test

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

const slip = "found on a slip of paper"

// writes are the ways to write on the first of March, each on a thing of its own.
func (c *harbour) writes() map[string]func(who apitest.Club) *apitest.Answer {
	at := func(who apitest.Club, path, body string) *apitest.Answer { return who.Post(path, c.named(body)) }
	feeding := c.ana.Post("/feedings", c.named(`{"bin":"TOTE","at":"2026-03-01","items":[{"material":"SCRAPS","quantity":{"value":1,"unit":"kg"}}]}`)).Want(201).ID()
	check := c.ana.Post("/checks", c.named(`{"bin":"TOTE","at":"2026-04-20"}`)).Want(201).ID()
	voided := c.ana.Post("/checks", c.named(`{"bin":"TOTE","at":"2026-03-01"}`)).Want(201).ID()
	lost := c.ana.Post("/movements", c.named(`{"kind":"loss","at":"2026-03-01","cause":"dead","lines":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}`)).Want(201).ID()
	quarantine := c.ana.Post("/quarantines", c.named(`{"bin":"WEDGE","at":"2026-02-20"}`)).Want(201).ID()
	lot := c.ana.Get("/lots?bin=" + c.tote).Want(200).Text("/items/0/id")
	return map[string]func(who apitest.Club) *apitest.Answer{
		"movement": func(w apitest.Club) *apitest.Answer {
			return at(w, "/movements", `{"kind":"loss","at":"2026-03-01","cause":"dead","lines":[{"from_bin":"TOTE","quantity":{"value":1,"unit":"g"}}]}`)
		},
		"reversal": func(w apitest.Club) *apitest.Answer {
			return at(w, "/movements/"+lost+"/reversal", `{"reason":"not dead"}`)
		},
		"census": func(w apitest.Club) *apitest.Answer {
			return at(w, "/censuses", `{"bin":"TOTE","species":"eisenia-fetida","at":"2026-03-01","estimate":{"value":900,"unit":"g"},"low":{"value":850,"unit":"g"},"high":{"value":950,"unit":"g"}}`)
		},
		"harvest": func(w apitest.Club) *apitest.Answer {
			return at(w, "/harvests", `{"bin":"TOTE","at":"2026-03-01","castings":{"value":1,"unit":"kg"},"batch":"BATCH"}`)
		},
		"feeding": func(w apitest.Club) *apitest.Answer {
			return at(w, "/feedings", `{"bin":"TOTE","at":"2026-03-01","items":[{"material":"SCRAPS","quantity":{"value":1,"unit":"kg"}}]}`)
		},
		"feeding patched":   func(w apitest.Club) *apitest.Answer { return w.Patch("/feedings/"+feeding, "*", `{"note":"melon"}`) },
		"check moved there": func(w apitest.Club) *apitest.Answer { return w.Patch("/checks/"+check, "*", `{"at":"2026-03-02"}`) },
		"check voided":      func(w apitest.Club) *apitest.Answer { return w.Delete("/checks/"+voided, "*") },
		"quarantine":        func(w apitest.Club) *apitest.Answer { return at(w, "/quarantines", `{"bin":"SHED","at":"2026-03-01"}`) },
		"quarantine's release": func(w apitest.Club) *apitest.Answer {
			return at(w, "/quarantines/"+quarantine+"/release", `{"at":"2026-03-01","outcome":"sound"}`)
		},
		"identification": func(w apitest.Club) *apitest.Answer {
			return at(w, "/identifications", `{"lot":"`+lot+`","at":"2026-03-01","species":"eisenia-andrei","method":"dna"}`)
		},
		"contact": func(w apitest.Club) *apitest.Answer {
			return at(w, "/contacts", `{"bins":["TOTE","WEDGE"],"at":"2026-03-01","what":"tools"}`)
		},
		"clearing": func(w apitest.Club) *apitest.Answer {
			return at(w, "/clearings", `{"bin":"TOTE","at":"2026-03-01","how":"scalded"}`)
		},
		"records": func(w apitest.Club) *apitest.Answer {
			return at(w, "/records", `{"checks":[{"bin":"TOTE","at":"2026-03-01"}]}`)
		},
		"import": func(w apitest.Club) *apitest.Answer {
			return at(w, "/imports", `{"checks":[{"bin":"Tote","at":"2026-03-01"},{"bin":"Tote","at":"2026-03-03"}]}`)
		},
	}
}

func TestClosedBooksAreWrittenInByAStewardWhoSaysWhy(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		writes := c.writes()
		c.ana.Post("/closing", `{"until":"2026-03-31","reason":"accounts approved"}`).Want(200).
			Is("/closed_until", "2026-03-31").Is("/closed_why", "accounts approved")
		for name, write := range writes {
			if a := write(c.ana); a.Status != 409 && a.Status != 422 || !strings.Contains(a.Body, "books-closed") || !strings.Contains(a.Body, "2026-03-31") {
				t.Errorf("%s: %d %s", name, a.Status, a.Body)
			}
		}
		late := c.ana
		late.Caller = c.ana.With("Late-Reason", slip)
		for _, name := range slices.Sorted(maps.Keys(writes)) {
			if a := writes[name](late); a.Status >= 300 {
				t.Errorf("%s, with a reason: %d %s", name, a.Status, a.Body)
			}
		}
		entries := c.ana.Get("/late-entries?limit=100").Want(200).Is("/items/0/why", slip).Is("/items/0/recorded/by", c.anaID).Value("/items").([]any)
		nouns := map[string]int{}
		for _, e := range entries {
			nouns[e.(map[string]any)["noun"].(string)]++
		}
		// the reversal makes the census assert its level anew: an entry for it, and for what it takes back
		if got := fmt.Sprint(nouns); got != "map[book:1 census:2 check:3 clearing:1 contact:1 feeding:2 harvest:1 identification:1 movement:3 quarantine:2]" {
			t.Error(got)
		}
		c.ben.Get("/late-entries?noun=book").Want(200).Is("/items/0/at", "2026-03-01T12:00:00Z").Is("/items/0/record", nil)
	})
}

func TestAKeeperAndAKeyAskASteward(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ana.Post("/closing", `{"until":"2026-03-31"}`).Want(200)
	for _, who := range []apitest.Club{c.ben, key(c.ana, `["read","record"]`)} {
		bin := c.shed
		who.With("Late-Reason", slip).Post("/checks", `{"bin":"`+bin+`","at":"2026-03-31"}`).Problem(409, "books-closed").
			Is("/detail", "the books are closed up to 2026-03-31; ask a steward")
		who.Post("/checks", `{"bin":"`+bin+`","at":"2026-04-01T00:00:00+01:00"}`).Want(201)
	}
	c.ben.Post("/closing", `{"until":null}`).Problem(403, "forbidden")
}

func TestACallThatComesAgainAfterTheBooksWereClosedIsAnsweredAsBefore(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	body := `{"id":"0197aaaa-0000-7000-8000-000000000001","bin":"` + c.tote + `","at":"2026-03-01"}`
	c.ana.Post("/checks", body).Want(201)
	c.ana.Post("/closing", `{"until":"2026-03-31"}`).Want(200)
	c.ana.Post("/checks", body).Want(201)
	c.ana.Get("/late-entries").Want(200).Is("/items", []any{})
}

func TestABookIsClosedToTheDayAndOpenedAgainWithAReason(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	for body, pointer := range map[string]string{
		`{"until":"2026-05-02"}`: "/until", `{"until":"March"}`: "/until", `{"until":"2026-02-30"}`: "/until",
		`{"until":"2026-04-30","reason":"\u0001"}`: "/reason",
	} {
		c.ana.Post("/closing", body).Problem(422, "invalid", pointer)
	}
	c.ana.Post("/closing", `{"until":"2026-05-01"}`).Want(200)
	c.ana.Post("/checks", `{"bin":"`+c.tote+`"}`).Problem(409, "books-closed")
	c.ana.Patch("", "*", `{"closed_until":null}`).Problem(422, "invalid", "/closed_until")
	c.ana.Patch("", "*", `{"units":"us"}`).Want(200).Is("/closed_until", "2026-05-01")
	c.ana.Post("/closing", `{"until":"2026-03-31"}`).Problem(422, "invalid", "/reason")
	c.ana.Post("/closing", `{"until":null,"reason":"a slip of paper"}`).Want(200).Is("/closed_until", nil).Is("/closed_why", "a slip of paper")
	c.ana.Post("/checks", `{"bin":"`+c.tote+`"}`).Want(201)
}

func TestALateReasonMayBePercentEncodedAndHasALimit(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ana.Post("/closing", `{"until":"2026-03-31"}`).Want(200)
	body := `{"bin":"` + c.tote + `","at":"2026-03-01"}`
	for sent, why := range map[string]string{url.PathEscape("números à mão"): "números à mão", "100% sure": "100% sure", "à mão": "à mão"} {
		id := c.ana.With("Late-Reason", sent).Post("/checks", body).Want(201).ID()
		c.ana.Get("/late-entries?record="+id).Want(200).Is("/items/0/why", why)
	}
	for _, sent := range []string{strings.Repeat("a", 2001), "%ff", "%00"} {
		c.ana.With("Late-Reason", sent).Post("/checks", body).Problem(400, "malformed")
	}
}

func TestAnUndoInClosedBooksSaysWhy(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	id := c.ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-03-01"}`).Want(201).ID()
	c.ana.Post("/closing", `{"until":"2026-03-31"}`).Want(200)
	c.ana.Post("/undo", `{}`).Problem(409, "books-closed")
	c.ana.With("Late-Reason", slip).Post("/undo", `{}`).Want(200).Is("/id", id)
	c.ana.Get("/late-entries").Want(200).Is("/items/0/record", id)
}

func TestWhyClosedBooksWereWrittenInIsAmongTheTextsOfAnErasure(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ana.Post("/closing", `{"until":"2026-03-31","reason":"ben was on holiday"}`).Want(200)
	c.ana.With("Late-Reason", "told by Ben").Post("/checks", `{"bin":"`+c.tote+`","at":"2026-03-01"}`).Want(201)
	done := c.ana.Post("/members/"+c.benID+"/erasure", `{"to":"`+c.anaID+`","confirm":"ben"}`).Want(200)
	done.Is("/mentions/0/noun", "late-entry").Is("/mentions/0/fixed", true).Is("/mentions/1/noun", "club").Is("/mentions/1/members", []any{"closed_why"})
}
