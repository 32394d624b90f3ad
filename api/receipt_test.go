package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/repo/repotest"
)

func TestAReceiptIsWeighedNetOrGrossOrCounted(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	bucket := c.ana.Post("/measures", `{"name":"Bucket","volume":{"value":10,"unit":"L"},"tare":{"value":500,"unit":"g"}}`).Want(201).ID()
	for name, given := range map[string]struct {
		how, basis string
		netG       float64
	}{
		"net":       {`"net":{"value":25,"unit":"kg"}`, "weighed", 25_000},
		"by eye":    {`"net":{"value":25,"unit":"kg"},"basis":"estimated"`, "estimated", 25_000},
		"a volume":  {`"net":{"value":40,"unit":"L"}`, "estimated", 20_000},
		"gross":     {`"gross":{"value":12,"unit":"kg"},"tare":{"value":1500,"unit":"g"}`, "weighed", 10_500},
		"in bucket": {`"gross":{"value":6,"unit":"kg"},"measure":"` + bucket + `"`, "weighed", 5500},
		"buckets":   {`"count":2.5,"measure":"` + bucket + `"`, "estimated", 12_500},
	} {
		c.ana.Post("/receipts", c.named(`{"material":"SCRAPS",`+given.how+`}`)).Want(201).Is("/net_g", given.netG).Is("/basis", given.basis).
			Is("/rejected_g", 0).Is("/voided_at", nil)
		t.Log(name)
	}
	for how, pointer := range map[string]string{
		``:                               "/net",
		`,"net":{"value":0,"unit":"kg"}`: "/net",
		`,"net":{"value":5,"unit":"kg"},"measure":"` + bucket + `"`:       "/measure",
		`,"gross":{"value":5,"unit":"kg"}`:                                "/tare",
		`,"gross":{"value":5,"unit":"kg"},"tare":{"value":5,"unit":"kg"}`: "/tare",
		`,"gross":{"value":5,"unit":"kg"},"net":{"value":4,"unit":"kg"}`:  "/gross",
		`,"tare":{"value":5,"unit":"kg"},"net":{"value":4,"unit":"kg"}`:   "/tare",
		`,"count":2`: "/measure",
		`,"net":{"value":5,"unit":"L"},"basis":"weighed"`:                                                         "/basis",
		`,"net":{"value":5,"unit":"kg"},"rejected":{"value":4,"unit":"kg"},"residue":{"value":2,"unit":"kg"}`:     "/rejected",
		`,"net":{"value":5,"unit":"kg"},"from":"Quay Greens","from_member":"` + c.benID + `"`:                     "/from_member",
		`,"net":{"value":5,"unit":"kg"},"at":"2027-01-01"`:                                                        "/at",
		`,"net":{"value":5,"unit":"kg"},"heat_treatment":{"temperature":{"value":70,"unit":"Cel"},"hours":10000}`: "/heat_treatment/hours",
	} {
		c.ana.Post("/receipts", c.named(`{"material":"SCRAPS"`+how+`}`)).Problem(422, "invalid", pointer)
	}
}

func TestAReceiptIsChangedByWhoRecordedItAndVoided(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	made := c.ben.Post("/receipts", c.named(`{"material":"SCRAPS","from":"Quay Greens","gross":{"value":12,"unit":"kg"},"tare":{"value":2,"unit":"kg"},
		"heat_treatment":{"what":"steamed","temperature":{"value":250,"unit":"[degF]"},"hours":1},"animal_origin":true}`)).Want(201)
	path := "/receipts/" + made.ID()
	c.ana.Patch("/materials/"+c.scraps, "*", `{"density_g_per_l":400}`).Want(200)
	c.ben.Patch(path, made.Header.Get("ETag"), `{"rejected":{"value":5,"unit":"L"},"rejected_why":"plastic"}`).Want(200).
		Is("/net_g", 10_000).Is("/rejected_g", 2000).Is("/from", "Quay Greens").Is("/heat_treatment/temperature/value", 250)
	c.ben.Patch(path, made.Header.Get("ETag"), `{"note":"late"}`).Problem(412, "stale")
	c.ben.Patch(path, "*", c.named(`{"material":"`+c.leaves+`"}`)).Problem(422, "invalid", "/material")
	c.ana.Join("cyd", "keeper").Patch(path, "*", `{"note":"mine?"}`).Problem(403, "forbidden")
	c.ben.Delete(path, "*").Want(200)
	c.ben.Delete(path, "*").Problem(409, "voided")
	c.ana.Get("/receipts").Want(200).Is("/items", []any{})
	c.ana.Get("/receipts?voided=true&material="+c.scraps).Want(200).Is("/items/0/voided_by", c.benID)
	c.ana.Get("/receipts?voided=true&material="+c.leaves).Want(200).Is("/items", []any{})
}

func TestAFeedingNamesTheReceiptOfItsMaterial(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	receipt := c.ana.Post("/receipts", c.named(`{"material":"SCRAPS","at":"2026-04-10","net":{"value":5,"unit":"kg"}}`)).Want(201).ID()
	feed := func(material, receipt string) string {
		return c.named(`{"bin":"TOTE","at":"2026-04-12","items":[{"material":"` + material + `","quantity":{"value":1,"unit":"kg"},"receipt":"` + receipt + `"}]}`)
	}
	made := c.ana.Post("/feedings", feed(c.scraps, receipt)).Want(201).Is("/items/0/receipt", receipt)
	c.ana.Post("/feedings", feed(c.leaves, receipt)).Problem(422, "invalid", "/items/0/receipt")
	c.ana.Post("/feedings", feed(c.scraps, strings.Replace(receipt, "0", "a", 1))).Problem(422, "invalid", "/items/0/receipt")
	c.ana.Patch("/feedings/"+made.ID(), "*", `{"note":"same"}`).Want(200).Is("/items/0/receipt", receipt)
}

func TestTheMaterialsBalanceTellsWhatIsOnHandAndWhatIsShort(t *testing.T) {
	t.Parallel()
	c := kept(t) // fed 12 kg of scraps on 2 March, with nothing recorded to come in
	take := func(at, kg, more string) {
		c.ana.Post("/receipts", c.named(`{"material":"SCRAPS","at":"`+at+`","net":{"value":`+kg+`,"unit":"kg"}`+more+`}`)).Want(201)
	}
	fed := func(at, kg string) {
		c.ana.Post("/feedings", c.named(`{"bin":"TOTE","at":"`+at+`","items":[{"material":"SCRAPS","quantity":{"value":`+kg+`,"unit":"kg"}}]}`)).Want(201)
	}
	take("2026-03-05", "10", `,"rejected":{"value":1,"unit":"kg"},"residue":{"value":500,"unit":"g"}`)
	fed("2026-03-06", "5")
	fed("2026-04-06", "5")
	b := c.ana.Get("/reports/materials-balance?season=2026-03").Want(200).Is("/period/code", "2026-03").
		Is("/materials/0/name", "Scraps").Is("/materials/0/start_g", 0).Is("/materials/0/received_g", 10_000).Is("/materials/0/rejected_g", 1000).
		Is("/materials/0/residue_g", 500).Is("/materials/0/fed_g", 5000).Is("/materials/0/end_g", 3500).Is("/materials/0/apart_g", 12_000).
		Is("/materials/0/recorded", true).Is("/materials/0/short_g", 0).Is("/materials/0/short_at", nil)
	for _, member := range []string{"start_g", "received_g", "rejected_g", "residue_g", "fed_g", "end_g", "apart_g"} {
		b.Is("/total/"+member, b.Value("/materials/0/"+member))
	}
	c.ana.Get("/reports/materials-balance?season=2026-04").Want(200).Is("/materials/0/start_g", 3500).Is("/materials/0/fed_g", 5000).
		Is("/materials/0/end_g", -1500).Is("/materials/0/short_g", 1500).Is("/materials/0/short_at", "2026-04-06T11:00:00Z")
	c.ana.Get("/reports/materials-balance").Want(200).Is("/period/code", "2026-spring")
	c.ana.Get("/reports/materials-balance?season=soon").Problem(422, "period")
	c.ana.Get("/reports/materials-balance?limit=3").Problem(400, "malformed", "?limit")
}

func TestTheSeasonReportTellsWhatWasReceivedRejectedAndDiverted(t *testing.T) {
	t.Parallel()
	c := kept(t)
	before := c.ana.Get("/reports/seasons/2026-spring").Want(200).Is("/received/total/net_g", 0).Is("/received/total/weighed/reason", "nothing-received")
	grit := c.ana.Post("/materials", `{"name":"Grit","kind":"amendment"}`).Want(201).ID()
	for _, body := range []string{
		`{"material":"SCRAPS","at":"2026-03-05","net":{"value":10,"unit":"kg"},"rejected":{"value":1,"unit":"kg"},"residue":{"value":500,"unit":"g"}}`,
		`{"material":"SCRAPS","at":"2026-04-05","net":{"value":60,"unit":"L"}}`,
		`{"material":"` + c.leaves + `","at":"2026-04-05","net":{"value":6,"unit":"kg"},"rejected":{"value":2,"unit":"kg"}}`,
		`{"material":"` + grit + `","at":"2026-04-05","net":{"value":7,"unit":"kg"}}`,
	} {
		c.ben.Post("/receipts", c.named(body)).Want(201)
	}
	after := c.ana.Get("/reports/seasons/2026-spring").Want(200).Is("/received/total/net_g", 40_000).Is("/received/total/rejected_g", 1000).
		Is("/received/total/residue_g", 500).Is("/received/total/diverted_g", 38_500).Is("/received/total/weighed/value", 25).
		Is("/received/total/bedding_g", 4000).Is("/received/members/0/id", c.benID).Is("/received/members/0/diverted_g", 38_500)
	after.Is("/total", before.Value("/total"))
	text := c.ana.With("Accept", "text/plain").Do(http.MethodGet, "/reports/seasons/2026-spring", nil).Want(200).Body
	if !strings.Contains(text, "38.5 kg was kept from the waste") {
		t.Error(text)
	}
}

func TestAReceiptAndBatchRecordsThatNameAnErasedMemberAreListed(t *testing.T) {
	t.Parallel()
	q := newQuay(t, repotest.SQLiteURL(t))
	scraps := q.ana.Get("/materials").Want(200).Text("/items/0/id")
	receipt := q.ana.Post("/receipts", `{"material":"`+scraps+`","from":"Beatrix Quill","net":{"value":1,"unit":"kg"},"heat_treatment":{"what":"boiled by Beatrix Quill"}}`).Want(201).ID()
	kept := q.ana.Post("/receipts", `{"material":"`+scraps+`","from_member":"`+q.beaID+`","net":{"value":1,"unit":"kg"}}`).Want(201).ID()
	batch := q.ana.Post("/batches", `{"product":"castings"}`).Want(201).ID()
	step := q.ana.Post("/batch-steps", `{"batch":"`+batch+`","kind":"drying","moisture_pct":30,"note":"Beatrix Quill's stove"}`).Want(201).ID()
	var done struct {
		Mentions []struct {
			Noun, ID string
			Members  []string
			Fixed    bool
		}
	}
	q.erase(q.ana).Want(200).Into(&done)
	found := 0
	for _, m := range done.Mentions {
		if m.ID == receipt && m.Noun == "receipt" && slices.Equal(m.Members, []string{"from", "heat"}) && !m.Fixed || m.ID == step && m.Noun == "batch-step" && !m.Fixed {
			found++
		}
	}
	if found != 2 {
		t.Errorf("%+v", done.Mentions)
	}
	q.ana.Patch("/receipts/"+receipt, "*", `{"from":null,"heat_treatment":null}`).Want(200).Is("/heat_treatment", nil)
	q.ana.Get("/receipts/"+kept).Want(200).Is("/from_member", q.beaID)
}
