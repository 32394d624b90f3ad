package api_test

import "testing"

func TestAnotherClubsRecordsAreLikeNone(t *testing.T) {
	t.Parallel()
	c := kept(t)
	olga := c.SignUp("olga")
	hers := olga.Found("lagoon")
	const none = "0197aaaa-0000-7000-8000-00000000000f"
	lists := []string{"/batches", "/feedings", "/checks", "/harvests", "/movements", "/lots"}
	for _, list := range lists {
		id := c.ana.Get(list).Want(200).Text("/items/0/id")
		c.ana.Get(list + "/" + id).Want(200)
		sameProblem(t, hers.Get(list+"/"+id).Want(404), hers.Get(list+"/"+none))
		hers.Get(list).Want(200).Is("/items", []any{})
	}
	census := c.ana.Post("/censuses", `{"bin":"`+c.tote+`","species":"eisenia-fetida",
		"estimate":{"value":600,"unit":"g"},"low":{"value":500,"unit":"g"},"high":{"value":700,"unit":"g"}}`).Want(201).ID()
	sameProblem(t, hers.Get("/censuses/"+census).Want(404), hers.Get("/censuses/"+none))
	hers.Get("/censuses").Want(200).Is("/items", []any{})
	for _, view := range []string{"stock", "timeline", "rate", "yield"} {
		sameProblem(t, hers.Get("/bins/"+c.tote+"/"+view).Want(404), hers.Get("/bins/"+none+"/"+view))
	}
	lot := c.ana.Get("/lots").Want(200).Text("/items/0/id")
	sameProblem(t, hers.Get("/lots/"+lot+"/lineage").Want(404), hers.Get("/lots/"+none+"/lineage"))
	sameProblem(t, hers.Post("/movements/"+census+"/reversal", `{"reason":"x"}`).Want(404), hers.Post("/movements/"+none+"/reversal", `{"reason":"x"}`))
	hers.Get("/reports/seasons/current").Want(200).Is("/empty", true).Is("/bins", []any{}).Is("/cultures", []any{})
	for _, path := range append(lists, "/censuses", "/bins/"+c.tote+"/stock", "/bins/"+c.tote+"/timeline", "/bins/"+c.tote+"/rate",
		"/bins/"+c.tote+"/yield", "/lots/"+lot+"/lineage", "/reports/seasons/current", "/reports/seasons/2026") {
		sameProblem(t, c.ana.As(olga).Get(path).Want(404), olga.In("nowhere").Get(path))
	}
}

func TestARecordSentTwiceHappensOnce(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	for path, body := range map[string]string{
		"/feedings":  `{"bin":"` + c.tote + `","at":"2026-04-01","items":[{"material":"` + c.scraps + `","quantity":{"value":1,"unit":"kg"}}]}`,
		"/checks":    `{"bin":"` + c.tote + `","at":"2026-04-01","leftover_pct":10}`,
		"/harvests":  `{"bin":"` + c.tote + `","at":"2026-04-01","castings":{"value":1,"unit":"kg"},"batch":"` + c.batch + `"}`,
		"/movements": `{"kind":"split","at":"2026-04-01","to_bin":"` + c.wedge + `","lines":[{"from_bin":"` + c.tote + `","quantity":{"value":10,"unit":"%"}}]}`,
		"/censuses": `{"bin":"` + c.tote + `","at":"2026-04-02","species":"eisenia-fetida",
			"estimate":{"value":600,"unit":"g"},"low":{"value":500,"unit":"g"},"high":{"value":700,"unit":"g"}}`,
	} {
		keyed := c.ana.With("Idempotency-Key", `"one`+path+`"`)
		first := keyed.Post(path, body).Want(201)
		again := keyed.Post(path, body).Want(201).Has("Idempotency-Replayed", "true").Has("ETag", first.Header.Get("ETag"))
		if first.Body != again.Body {
			t.Errorf("%s: first %s, then %s", path, first.Body, again.Body)
		}
		keyed.Post(path, body[:len(body)-1]+`,"note":"other"}`).Problem(422, "idempotency-key-reused")
	}
	path := "/movements/" + c.ana.Get("/movements?kind=split").Want(200).Text("/items/0/id") + "/reversal"
	keyed := c.ana.With("Idempotency-Key", `"back"`)
	first := keyed.Post(path, `{"reason":"x"}`).Want(201)
	if again := keyed.Post(path, `{"reason":"x"}`).Want(201); again.Body != first.Body {
		t.Errorf("reversed twice: %s and %s", first.Body, again.Body)
	}
}
