package api_test

import (
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
	"lumbricary.example/api/qr"
	"lumbricary.example/api/sheet/sheettest"
)

// pages reads the text of a PDF, page by page.
func pages(t *testing.T, a *apitest.Answer) [][]string {
	t.Helper()
	a.Want(200).Has("Content-Type", "application/pdf").Has("X-Content-Type-Options", "nosniff")
	var out [][]string
	for _, page := range sheettest.Pages(t, []byte(a.Body)) {
		var lines []string
		for _, l := range page {
			lines = append(lines, l.Text)
		}
		out = append(out, lines)
	}
	return out
}

// code is the short form of an id.
func code(t *testing.T, id string) string {
	t.Helper()
	short, err := qr.Short(id)
	if err != nil {
		t.Fatal(err)
	}
	return short
}

func TestABinsLabelSaysWhatLivesInIt(t *testing.T) {
	t.Parallel()
	c := kept(t)
	d := picture(t, c.ben.Get("/bins/"+c.shed+"/label.svg"))
	lot := c.ana.Get("/bins/" + c.shed + "/stock").Want(200).Text("/stock/0/lot")
	for _, want := range []string{"Shed", "Tiger worm", "Lot " + strings.ToUpper(lot[:8]) + " of 20 Mar 2026", "Cellar", "Bag, started 1 Dec 2025", "harbour", code(t, c.shed)[:13], code(t, c.shed)[13:]} {
		if !d.says(want) {
			t.Errorf("%q isn't written: %+v", want, d.Said)
		}
	}
	card := pages(t, c.ben.Get("/bins/"+c.shed+"/label.pdf"))
	if len(card) != 1 || !slices.Contains(card[0], "Shed") || !slices.Contains(card[0], "Tiger worm") {
		t.Errorf("printed as %v", card)
	}
	c.ana.Get("/bins/"+c.origin+"/label.svg").Problem(404, "bin-not-found")
}

func TestManyLabelsAreOnFewSheets(t *testing.T) {
	t.Parallel()
	c := kept(t)
	all := pages(t, c.ana.Get("/bins/labels.pdf"))
	if len(all) != 1 {
		t.Fatalf("%d pages", len(all))
	}
	for _, bin := range []string{"Tote", "Wedge", "Shed"} {
		if !slices.Contains(all[0], bin) {
			t.Errorf("%s has no label: %v", bin, all)
		}
	}
	some := pages(t, c.ana.Get("/bins/labels.pdf?paper=letter&bin="+c.tote+"&bin="+c.tote))
	if len(some) != 1 || slices.Contains(some[0], "Shed") {
		t.Errorf("printed as %v", some)
	}
	if n := len(pages(t, c.ana.Get("/bins/"+c.tote+"/label.pdf?copies=13"))); n != 2 {
		t.Errorf("13 labels are on %d sheets", n)
	}
	for path, pointer := range map[string]string{
		"/bins/labels.pdf?paper=a5": "?paper", "/bins/labels.pdf?copies=2": "?copies", "/bins/" + c.tote + "/label.pdf?copies=101": "?copies",
		"/bins/" + c.tote + "/label.pdf?paper=a4&paper=a4": "?paper", "/bins/labels.pdf?bin=" + strings.Repeat(c.tote+"&bin=", 500) + c.tote: "?bin",
	} {
		c.ana.Get(path).Problem(400, "malformed", pointer)
	}
	c.ana.Get("/bins/labels.pdf?bin="+c.origin).Problem(404, "bin-not-found")
}

func TestABatchesLabelTellsOfItsHarvestsAndItsMoistureAndWarns(t *testing.T) {
	t.Parallel()
	c := kept(t)
	d := picture(t, c.ana.Get("/batches/"+c.batch+"/label.svg"))
	for _, want := range []string{"2026-A", "Castings", "Made 20 Feb to 20 Apr 2026", "Moisture about 65 % (assumed)"} {
		if !d.says(want) {
			t.Errorf("%q isn't written: %+v", want, d.Said)
		}
	}
	if !strings.Contains(d.Text, "Wear gloves") || !strings.Contains(d.Text, "Local rules come first") {
		t.Errorf("it doesn't warn: %s", d.Text)
	}
	c.ana.Post("/batch-steps", `{"batch":"`+c.batch+`","kind":"drying","at":"2026-04-25","moisture_pct":40}`).Want(201)
	if d := picture(t, c.ana.Get("/batches/"+c.batch+"/label.svg")); !d.says("Moisture 40 %") {
		t.Errorf("a measured moisture isn't written: %+v", d.Said)
	}
	empty := c.ana.Post("/batches", `{"lot_number":"2026-B","product":"screened","mesh_mm":6}`).Want(201).ID()
	d = picture(t, c.ana.Get("/batches/"+empty+"/label.svg"))
	for _, want := range []string{"Screened vermicompost, 6 mm", "Harvest: not on record", "Moisture: not on record"} {
		if !d.says(want) {
			t.Errorf("%q isn't written: %+v", want, d.Said)
		}
	}
	if n := len(pages(t, c.ana.Get("/batches/"+c.batch+"/label.pdf?copies=25&paper=a4"))); n != 3 {
		t.Errorf("25 labels are on %d sheets", n)
	}
}

func TestACodeTellsWhatItsLabelIsOn(t *testing.T) {
	t.Parallel()
	c := kept(t)
	lot := c.ana.Get("/bins/" + c.shed + "/stock").Want(200).Text("/stock/0/lot")
	for id, want := range map[string][2]string{c.shed: {"bin", "Shed"}, c.batch: {"batch", "2026-A"}, lot: {"lot", "Shed"}} {
		typed := strings.ToLower(code(t, id)[:13] + "-" + code(t, id)[13:])
		c.ben.Get("/labels/"+typed).Want(200).Is("/id", id).Is("/kind", want[0]).Is("/name", want[1])
	}
	for _, none := range []string{code(t, c.origin), "01ARZ3NDEKTSV4RRFFQ69G5FAV", "x", c.shed} {
		c.ben.Get("/labels/"+none).Problem(404, "label-not-found")
	}
	other := c.SignUp("eve").Found("hill")
	other.Get("/labels/"+code(t, c.shed)).Problem(404, "label-not-found")
}

func TestAProvenanceSheetTellsWhatIsOnRecordAndNamesNobody(t *testing.T) {
	t.Parallel()
	c := kept(t)
	wild := c.ana.Post("/origins", `{"name":"Ana's heap","kind":"wild","species":"eisenia-fetida"}`).Want(201).ID()
	move(c.ben, "stocking", "2026-04-25", `"to_bin":"`+c.shed+`","note":"from Ana",`, `"origin":"`+wild+`","quantity":{"value":20,"unit":"g"}`).Want(201)
	quarantine := c.ana.Post("/quarantines", `{"bin":"`+c.shed+`","at":"2026-04-26","reason":"Ben saw mites"}`).Want(201).ID()
	c.ana.Post("/quarantines/"+quarantine+"/release", `{"at":"2026-04-28","outcome":"sound","note":"Ben is sure"}`).Want(200)
	c.ben.Post("/checks", `{"bin":"`+c.shed+`","at":"2026-04-29","pests":["Ben's flies"],"ammonia":false}`).Want(201)
	lot := c.ana.Get("/bins/" + c.shed + "/stock").Want(200).Text("/stock/0/lot")
	all := pages(t, c.ana.Get("/lots/"+lot+"/provenance.pdf"))
	text := strings.Join(slices.Concat(all...), "\n")
	for _, want := range []string{
		"Provenance of a starter", "harbour", "Lot " + lot, "Code " + code(t, lot), "not identified", "25 April 2026 with 200 g", "Green Farm", "90 %", "collected in the wild", "10 %",
		"Handed over, sale, by keeper 1", "200 g out of bin 1", "keeper 2", "released on 28 April 2026, found sound",
		"Latest check of the bin, 29 April 2026: pests: noted, ammonia: none noted.", "Not known", "Cautions",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q isn't printed:\n%s", want, text)
		}
	}
	if !strings.Contains(strings.ReplaceAll(text, "\n", " "), "It is no plant-health certificate") {
		t.Errorf("it doesn't say what it isn't:\n%s", text)
	}
	for _, personal := range []string{"Ana", "ana\n", "Ben", "ben\n", "Shed", "Tote", "mites", "flies"} {
		if strings.Contains(text, personal) {
			t.Errorf("it tells of %q:\n%s", personal, text)
		}
	}
	if len(all) > 2 {
		t.Errorf("%d pages", len(all))
	}
	c.ana.Post("/identifications", `{"lot":"`+lot+`","species":"eisenia-andrei","method":"dna","specimens":12,"at":"2026-04-30","identified_by":"Ben"}`).Want(201)
	text = strings.Join(slices.Concat(pages(t, c.ana.Get("/lots/"+lot+"/provenance.pdf?paper=letter"))...), " ")
	if !strings.Contains(text, "by DNA, 12 specimens") {
		t.Errorf("the identification isn't printed: %s", text)
	}
	c.ana.Get("/lots/"+lot+"/provenance.pdf?copies=2").Problem(400, "malformed", "?copies")
	c.ana.Get("/lots/"+c.tote+"/provenance.pdf").Problem(404, "lot-not-found")
}
