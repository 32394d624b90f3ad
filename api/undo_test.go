package api_test

import (
	"fmt"
	"testing"
	"time"
)

func TestTheLastRecordIsUndoneThenTheOneBefore(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	c.Clock.Move(2 * time.Hour)
	c.ana = c.ana.As(c.SignIn("ana"))
	c.ben = c.ana.As(c.SignIn("ben"))
	c.ana.Post("/undo", `{}`).Problem(409, "nothing-to-undo")
	feeding := c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"items":[{"material":%q,"quantity":{"value":1,"unit":"kg"}}]}`, c.tote, c.scraps)).Want(201).ID()
	split := move(c.ana, "split", "2026-04-10", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":100,"unit":"g"}`).Want(201).ID()
	census := c.ana.Post("/censuses", `{"bin":"`+c.wedge+`","species":"eisenia-fetida","estimate":{"value":100,"unit":"g"},"low":{"value":80,"unit":"g"},"high":{"value":120,"unit":"g"}}`).Want(201).ID()
	harvest := c.ana.Post("/harvests", fmt.Sprintf(`{"bin":%q,"castings":{"value":1,"unit":"kg"},"batch":%q}`, c.tote, c.batch)).Want(201).ID()
	bens := c.ben.Post("/checks", `{"bin":"`+c.shed+`"}`).Want(201).ID()

	c.ana.Post("/undo", `{"bin":"`+c.wedge+`"}`).Want(200).Is("/kind", "census").Is("/id", census)
	u := c.ana.Post("/undo", `{}`).Want(200).Is("/kind", "harvest").Is("/id", harvest).Is("/reversal/reverses", harvest).Is("/reversal/kind", "reversal")
	c.ana.Get("/movements/"+harvest).Is("/reversed_by", u.Text("/reversal/id"))
	c.ana.Post("/undo", `{}`).Want(200).Is("/kind", "movement").Is("/id", split)
	c.ana.Post("/undo", `{}`).Want(200).Is("/kind", "feeding").Is("/id", feeding).Is("/reversal", nil)
	if at := c.ana.Get("/feedings/" + feeding).Want(200).Value("/voided_at"); at == nil {
		t.Error("the feeding stands")
	}
	c.ana.Post("/undo", `{}`).Problem(409, "nothing-to-undo")
	c.ben.Post("/undo", `{"bin":"`+c.tote+`"}`).Problem(409, "nothing-to-undo")
	c.ben.Post("/undo", `{"bin":"`+c.anaID+`"}`).Problem(404, "bin-not-found")
	c.ben.Post("/undo", `{}`).Want(200).Is("/kind", "check").Is("/id", bens)
}

func TestWhatALaterRecordNeedsIsNotUndone(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	move(c.ana, "split", "2026-04-10", `"to_bin":"`+c.wedge+`",`, `"from_bin":"`+c.tote+`","quantity":{"value":100,"unit":"g"}`).Want(201)
	c.ana.Post("/bins", map[string]string{"name": "Tub", "kind": "tote", "site": c.theCellar, "started": "2026-01-01"}).Want(201)
	steward := c.ana.Join("zoe", "steward")
	move(steward, "loss", "2026-04-20", `"cause":"dead",`, `"from_bin":"`+c.wedge+`","quantity":{"value":100,"unit":"g"}`).Want(201)
	c.ana.Post("/undo", `{}`).Problem(409, "more-than-book")
}

func TestAnUndoSentTwiceTakesBackOne(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	for range 2 {
		c.ana.Post("/checks", `{"bin":"`+c.tote+`"}`).Want(201)
	}
	with := c.ana.With("Idempotency-Key", "k-1")
	first := with.Post("/undo", `{}`).Want(200)
	with.Post("/undo", `{}`).Want(200).Has("Idempotency-Replayed", "true").Is("/id", first.ID())
	if left := c.ana.Get("/checks").Want(200).Value("/items").([]any); len(left) != 1 {
		t.Errorf("%d checks stand", len(left))
	}
}
