package api_test

import (
	"strings"
	"testing"
)

func TestAContactIsOfBinsThatSharedSomething(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		a := c.ben.Post("/contacts", c.named(`{"bins":["SHED","TOTE"],"at":"2026-04-20","what":"tools","note":"the fork"}`)).Want(201).
			Is("/bins/0", c.shed).Is("/bins/1", c.tote).Is("/precision", "day").Is("/what", "tools").Is("/recorded/by", c.benID).Is("/voided_at", nil)
		if got := c.ana.Get("/contacts/" + a.ID()).Want(200).Body; got != a.Body {
			t.Errorf("it is shown as %s, and was recorded as %s", got, a.Body)
		}
		for _, bin := range []string{c.shed, c.tote} {
			c.ana.Get("/contacts?bin="+bin).Want(200).Is("/items/0/id", a.ID())
			c.ana.Get("/bins/"+bin+"/timeline?kind=contact").Want(200).Is("/items/0/contact/id", a.ID()).Is("/items/0/at", "2026-04-20T11:00:00Z")
		}
		c.ana.Get("/contacts?bin="+c.wedge).Want(200).Is("/items", []any{})
		c.ana.Get("/contacts?from=2026-04-21").Want(200).Is("/items", []any{})

		path, tag := "/contacts/"+a.ID(), a.Header.Get("ETag")
		c.ben.With("Content-Type", "application/merge-patch+json").Do("PATCH", path, strings.NewReader(`{"what":"bedding"}`)).Problem(428, "precondition-required")
		c.ben.Patch(path, tag, c.named(`{"bins":["SHED","WEDGE"]}`)).Problem(422, "invalid", "/bins")
		c.ben.Patch(path, tag, `{"at":"2026-04-22T10:00:00Z","what":"bedding","note":null}`).Want(200).Is("/what", "bedding").Is("/note", nil)
		c.ben.Patch(path, tag, `{"what":"other"}`).Problem(412, "stale")
		c.ana.Get("/bins/"+c.tote+"/timeline?kind=contact").Want(200).Is("/items/0/at", "2026-04-22T10:00:00Z")
		c.ana.Delete(path, "*").Want(200).Is("/voided_by", c.anaID)
		c.ana.Delete(path, "*").Problem(409, "voided")
		c.ana.Patch(path, "*", `{"note":"x"}`).Problem(409, "voided")
		c.ana.Get("/contacts").Want(200).Is("/items", []any{})
		c.ana.Get("/contacts?voided=true").Want(200).Is("/items/0/id", a.ID())
	})
}

func TestABadContactIsRefusedByItsMembers(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	bad := func(body string, pointers ...string) {
		t.Helper()
		c.ana.Post("/contacts", c.named(body)).Problem(422, "invalid", pointers...)
	}
	bad(`{"bins":[],"what":"tools"}`, "/bins")
	bad(`{"bins":["TOTE"],"what":"tools"}`, "/bins")
	bad(`{"bins":["TOTE","TOTE"],"what":"tools"}`, "/bins/1")
	bad(`{"bins":["TOTE","BATCH"],"what":"fork","at":"2026-13-01"}`, "/at", "/bins/1", "/what")
	bad(`{"bins":["TOTE","WEDGE"],"what":"tools","at":"2025-11-01"}`, "/bins/0", "/bins/1")
	bad(`{"bins":["TOTE","WEDGE"],"what":"tools","at":"2027-01-01"}`, "/at")
	bad(`{"bins":[`+strings.Repeat(`"TOTE",`, 10)+`"WEDGE"],"what":"tools"}`, "/bins", "/bins/1", "/bins/2", "/bins/3", "/bins/4", "/bins/5", "/bins/6", "/bins/7", "/bins/8", "/bins/9")
	c.ana.Post("/contacts", c.named(`{"bins":["TOTE","WEDGE"],"what":"tools","bin":"TOTE"}`)).Problem(400, "malformed", "/bin")
	c.ben.Post("/contacts", c.named(`{"bins":["TOTE","WEDGE"],"what":"tools"}`)).Problem(403, "forbidden")
	c.ana.Get("/contacts").Want(200).Is("/items", []any{})
	c.ana.Get("/contacts/"+c.tote).Problem(404, "contact-not-found")
	mine := c.ana.Post("/contacts", c.named(`{"bins":["TOTE","WEDGE"],"what":"tools"}`)).Want(201).ID()
	c.ben.Patch("/contacts/"+mine, "*", `{"what":"other"}`).Problem(403, "forbidden")
	c.ben.Delete("/contacts/"+mine, "*").Problem(403, "forbidden")
	c.ana.Delete("/bins/"+c.wedge, "*").Problem(409, "in-use")
}

func TestAClearingIsOfOnePlace(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		receipt := c.ben.Post("/receipts", c.named(`{"material":"SCRAPS","at":"2026-03-01","net":{"value":9,"unit":"kg"}}`)).Want(201).ID()
		a := c.ben.Post("/clearings", c.named(`{"bin":"SHED","at":"2026-04-20","how":"emptied and scalded"}`)).Want(201).
			Is("/bin", c.shed).Is("/batch", nil).Is("/receipt", nil).Is("/how", "emptied and scalded").Is("/note", nil)
		castings := c.ana.Post("/clearings", c.named(`{"batch":"BATCH","how":"heated to 60 °C for a day","at":"2026-04-21"}`)).Want(201).Is("/batch", c.batch).Is("/bin", nil).ID()
		c.ben.Post("/clearings", `{"receipt":"`+receipt+`","how":"frozen","at":"2026-04-22"}`).Want(201).Is("/receipt", receipt)
		c.ana.Get("/clearings?bin="+c.shed).Want(200).Is("/items/0/id", a.ID())
		c.ana.Get("/clearings?batch="+c.batch).Want(200).Is("/items/0/id", castings)
		c.ana.Get("/clearings?order=newest&to=2026-04-22").Want(200).Is("/items/0/id", castings)
		c.ana.Get("/bins/"+c.shed+"/timeline?kind=clearing").Want(200).Is("/items/0/clearing/how", "emptied and scalded")

		path, tag := "/clearings/"+a.ID(), a.Header.Get("ETag")
		c.ben.Patch(path, tag, c.named(`{"bin":"TOTE"}`)).Problem(422, "invalid", "/bin")
		c.ben.Patch(path, tag, c.named(`{"bin":null,"batch":"BATCH"}`)).Problem(422, "invalid", "/bin", "/batch")
		c.ben.Patch(path, tag, `{"how":null}`).Problem(422, "invalid", "/how")
		c.ben.Patch(path, tag, `{"at":"2026-04-23","note":"dried for a week"}`).Want(200).Is("/note", "dried for a week")
		c.ana.Get("/bins/"+c.shed+"/timeline?kind=clearing&from=2026-04-23").Want(200).Is("/items/0/id", a.ID())
		c.ben.Delete(path, "*").Want(200).Is("/voided_by", c.benID)
		c.ana.Get("/bins/"+c.shed+"/timeline?kind=clearing").Want(200).Is("/items/0/clearing/voided_by", c.benID)
		c.ben.Delete(path, "*").Problem(409, "voided")
	})
}

func TestABadClearingIsRefusedByItsMembers(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	bad := func(body string, pointers ...string) {
		t.Helper()
		c.ana.Post("/clearings", c.named(body)).Problem(422, "invalid", pointers...)
	}
	bad(`{"how":"scalded"}`, "/bin")
	bad(`{"bin":"TOTE","how":""}`, "/how")
	bad(`{"bin":"TOTE","batch":"BATCH","how":"scalded"}`, "/bin")
	bad(`{"bin":"BATCH","how":"scalded"}`, "/bin")
	bad(`{"batch":"TOTE","how":"scalded"}`, "/batch")
	bad(`{"receipt":"TOTE","how":"scalded","note":"`+strings.Repeat("x", 2001)+`"}`, "/receipt", "/note")
	bad(`{"bin":"TOTE","how":"scalded","at":"2025-11-01"}`, "/at")
	c.ben.Post("/clearings", c.named(`{"bin":"TOTE","how":"scalded"}`)).Problem(403, "forbidden")
	receipt := c.ana.Post("/receipts", c.named(`{"material":"SCRAPS","net":{"value":9,"unit":"kg"}}`)).Want(201).ID()
	c.ben.Post("/clearings", `{"receipt":"`+receipt+`","how":"frozen"}`).Problem(403, "forbidden")
	c.ana.Get("/clearings").Want(200).Is("/items", []any{})
	c.ana.Get("/clearings/"+c.tote).Problem(404, "clearing-not-found")
}

func TestABinIsClearedAfterItRetired(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	c.ana.Post("/bins/"+c.tote+"/dispose", `{"at":"2026-04-20","cause":"write-off","why":"flatworms"}`).Want(200)
	c.ana.Post("/clearings", c.named(`{"bin":"TOTE","at":"2026-04-25","how":"scalded"}`)).Want(201)
	c.ana.Post("/contacts", c.named(`{"bins":["TOTE","WEDGE"],"at":"2026-04-25","what":"tools"}`)).Problem(422, "invalid", "/bins/0")
	c.ana.Get("/bins/"+c.tote+"/exposure").Want(200).Is("/items/0/cleared_at", "2026-04-25T11:00:00Z")
}

func TestContactsAndClearingsAreRecordedTogetherAndUndone(t *testing.T) {
	t.Parallel()
	eachStocked(t, func(t *testing.T, c *harbour) {
		c.ana.Post("/records", c.named(`{"clearings":[{"bin":"TOTE","how":""}],"contacts":[{"bins":["TOTE"],"what":"tools"},{"bins":["TOTE","WEDGE"],"what":"tools"}]}`)).
			Problem(422, "invalid", "/contacts/0/bins", "/clearings/0/how")
		a := c.ana.Post("/records", c.named(`{"clearings":[{"bin":"TOTE","how":"scalded"}],"contacts":[{"bins":["TOTE","WEDGE"],"what":"tools"}]}`)).Want(201)
		c.ana.Post("/undo", c.named(`{"bin":"SHED"}`)).Problem(409, "nothing-to-undo")
		c.ana.Post("/undo", c.named(`{"bin":"WEDGE"}`)).Want(200).Is("/kind", "contact").Is("/id", a.Text("/contacts/0/id")).Is("/reversal", nil)
		c.ana.Post("/undo", `{}`).Want(200).Is("/kind", "clearing").Is("/id", a.Text("/clearings/0/id"))
		c.ana.Get("/audit-entries?noun=contact").Want(200).Is("/items/0/action", "void").Is("/items/1/after/what", "tools")
		c.ana.Get("/clearings").Want(200).Is("/items", []any{})
	})
}
