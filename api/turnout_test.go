package api_test

import (
	"testing"

	"lumbricary.example/api/apitest"
)

func TestASeasonTellsTheLatestHouseholdsAndAllVolunteerHours(t *testing.T) {
	t.Parallel()
	c := kept(t)
	report := func() *apitest.Answer { return c.ana.Get("/reports/seasons/2026-spring").Want(200) }
	report().Is("/households/value", nil).Is("/households/reason", "not-recorded").Is("/volunteer_hours/reason", "not-recorded")
	c.ana.Post("/turnouts", `{"at":"2026-02-27","households":12,"volunteer_hours":99}`).Want(201) // of the winter
	c.ana.Post("/turnouts", `{"at":"2026-03-01","households":30,"volunteer_hours":4}`).Want(201)
	c.ben.Post("/turnouts", `{"at":"2026-04-20","households":38}`).Want(201).Is("/households", 38).Is("/volunteer_hours", nil).Is("/precision", "day")
	work := c.ben.Post("/turnouts", `{"at":"2026-04-12","volunteer_hours":12.5}`).Want(201).ID()
	report().Is("/households/value", 38).Is("/households/basis", "latest").Is("/volunteer_hours/value", 16.5)
	c.ben.Patch("/turnouts/"+work, "*", `{"volunteer_hours":10}`).Want(200)
	report().Is("/volunteer_hours/value", 14)
	c.ben.Delete("/turnouts/"+work, "*").Want(200).Is("/volunteer_hours", 10)
	report().Is("/volunteer_hours/value", 4)
	c.ana.Get("/turnouts?from=2026-03-01").Want(200).Is("/items/0/households", 30).Is("/items/1/households", 38)
}

func TestATurnoutTellsHouseholdsOrHours(t *testing.T) {
	t.Parallel()
	c := kept(t)
	c.ana.Post("/turnouts", `{"at":"2026-03-01"}`).Problem(422, "invalid", "/households")
	c.ana.Post("/turnouts", `{"households":1.5,"volunteer_hours":-1}`).Problem(422, "invalid", "/households", "/volunteer_hours")
	mine := c.ana.Post("/turnouts", `{"households":3}`).Want(201).ID()
	c.ben.Patch("/turnouts/"+mine, "*", `{"households":4}`).Problem(403, "forbidden")
	c.ana.Patch("/turnouts/"+mine, "*", `{"households":null}`).Problem(422, "invalid", "/households")
	c.ana.Post("/undo", `{}`).Want(200)
	c.ana.Patch("/turnouts/"+mine, "*", `{"households":4}`).Problem(409, "voided")
}
