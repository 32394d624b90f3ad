package api_test

import (
	"testing"
	"time"
)

func TestAnOfferStandsUntilItsDayOrItsWithdrawal(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	o := c.ana.Post("/offers", c.named(`{"what":"Red worms, bed-run","species":"eisenia-fetida","bin":"TOTE","quantity":{"value":300,"unit":"g"},
		"terms":["sale","swap"],"price":{"unit_minor":4000,"unit":"kg","currency":"EUR"},"until":"2026-05-02","note":"after four"}`)).Want(201)
	o.Has("Location", "/v1/clubs/harbour/offers/"+o.ID()).Is("/member", c.anaID).Is("/withdrawn_at", nil)
	c.ben.Get("/offers/"+o.ID()).Want(200).Is("/price/unit_minor", 4000) // prices of offers are for all
	c.ben.Patch("/offers/"+o.ID(), "*", `{"note":"mine"}`).Problem(403, "forbidden")
	changed := c.ana.Patch("/offers/"+o.ID(), o.Header.Get("ETag"), `{"terms":["gift"],"price":null}`).Want(200).Is("/terms", []string{"gift"}).Is("/price", nil)
	c.ana.Patch("/offers/"+o.ID(), o.Header.Get("ETag"), `{"note":"x"}`).Problem(412, "stale")
	other := c.ben.Post("/offers", `{"what":"Castings"}`).Want(201).ID()
	c.ana.Get("/offers?open=true").Want(200).Is("/items/0/id", o.ID()).Is("/items/1/id", other)
	c.ana.Get("/offers?member="+c.benID).Want(200).Is("/items/0/id", other)
	c.ana.Get("/offers?species=eisenia-fetida").Want(200).Is("/items/0/id", o.ID())
	gone := c.ana.Delete("/offers/"+o.ID(), changed.Header.Get("ETag")).Want(200).Is("/withdrawn_at", "2026-05-01T08:00:00Z")
	c.ana.Delete("/offers/"+o.ID(), gone.Header.Get("ETag")).Want(200).Is("/withdrawn_at", "2026-05-01T08:00:00Z")
	c.ana.Get("/offers?open=true").Want(200).Is("/items/0/id", other)
	dated := c.ana.Post("/offers", `{"what":"Bedding","until":"2026-05-02"}`).Want(201).ID()
	c.Clock.Move(48 * time.Hour)
	c.again()
	c.ana.Get("/offers?open=true").Want(200).Is("/next_cursor", nil).Is("/items/0/id", other)
	c.ana.Get("/offers/" + dated).Want(200)
	c.ana.Post("/members/"+c.benID+"/removal", c.named(`{"to":"ANA"}`)).Want(200)
	c.ana.Get("/offers?open=true").Want(200).Is("/items", []any{})
}

func TestWhatAnOfferCanNotBeIsRefusedByItsPointer(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	for name, x := range map[string]struct{ body, pointer string }{
		"nothing":                 {`{"what":""}`, "/what"},
		"another keeper's bin":    {`{"what":"Worms","bin":"SHED"}`, "/bin"},
		"worms of a batch":        {`{"what":"Worms","batch":"BATCH","species":"eisenia-fetida"}`, "/batch"},
		"an unknown species":      {`{"what":"Worms","species":"dragon"}`, "/species"},
		"less than nothing":       {`{"what":"Worms","quantity":{"value":-1,"unit":"g"}}`, "/quantity"},
		"unknown terms":           {`{"what":"Worms","terms":["rent"]}`, "/terms"},
		"a price of a gift":       {`{"what":"Worms","terms":["gift"],"price":{"total_minor":1,"currency":"EUR"}}`, "/price"},
		"a price below nothing":   {`{"what":"Worms","price":{"total_minor":-1,"currency":"EUR"}}`, "/price/total_minor"},
		"a price in no currency":  {`{"what":"Worms","price":{"total_minor":1,"currency":"E"}}`, "/price/currency"},
		"a price of an odd unit":  {`{"what":"Worms","price":{"unit_minor":1,"unit":"Cel","currency":"EUR"}}`, "/price/unit"},
		"a price of no unit":      {`{"what":"Worms","price":{"unit_minor":1,"currency":"EUR"}}`, "/price/unit"},
		"a day that is none":      {`{"what":"Worms","until":"soon"}`, "/until"},
		"nobody's offer":          {`{"what":"Worms","member":"0197bbbb-0000-7000-8000-000000000002"}`, "/member"},
		"a batch that isn't here": {`{"what":"Worms","batch":"0197bbbb-0000-7000-8000-000000000002"}`, "/batch"},
	} {
		t.Run(name, func(t *testing.T) { c.ana.Post("/offers", c.named(x.body)).Problem(422, "invalid", x.pointer) })
	}
	c.ben.Post("/offers", c.named(`{"what":"Worms","member":"ANA"}`)).Problem(403, "forbidden")
	c.ana.Get("/offers").Want(200).Is("/items", []any{})
}
