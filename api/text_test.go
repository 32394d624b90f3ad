package api_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// golden compares a text with the file of that name; UPDATE_GOLDEN=1 writes it.
// Ids depend on how many were made before, and are left out.
func golden(t *testing.T, name, got string) {
	t.Helper()
	got = regexp.MustCompile(`[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}`).ReplaceAllString(got, "ID")
	for i, line := range strings.Split(got, "\n") {
		if utf8.RuneCountInString(line) > 80 {
			t.Errorf("%s: line %d is wider than 80 columns: %s", name, i+1, line)
		}
	}
	path := filepath.Join("testdata", name)
	if os.Getenv("UPDATE_GOLDEN") == "1" {
		if err := os.WriteFile(path, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; got:\n%s", name, got)
	}
}

// twoYears is a kept harbour with a bin that was kept the year before, another
// that nobody looked after, a sale and a swap to the outside, a second species
// and a culture that died out.
func twoYears(t *testing.T) *harbour {
	t.Helper()
	c := kept(t)
	bin := func(name, keeper, started string) string {
		return c.ana.Post("/bins", map[string]any{
			"name": name, "kind": "wedge", "site": c.theCellar, "keeper": keeper, "started": started,
		}).Want(201).ID()
	}
	old, far := bin("Old bed", c.anaID, "2024-12-01"), bin("Far bed behind the greenhouse of the school", c.benID, "2025-01-10")
	c.ana.Post("/cultures", `{"name":"Blue line","species":"perionyx-excavatus"}`).Want(201)
	move(c.ana, "stocking", "2024-12-02", `"to_bin":"`+old+`",`, `"origin":"`+c.origin+`","quantity":{"value":2,"unit":"kg"}`).Want(201)
	move(c.ben, "stocking", "2025-01-11", `"to_bin":"`+far+`",`, `"species":"eisenia-hortensis","quantity":{"value":600,"unit":"{worms}"}`).Want(201)
	feed := func(bin, at, quantity string) {
		c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":%q,"items":[{"material":%q,"quantity":{%s}}]}`, bin, at, c.scraps, quantity)).Want(201)
	}
	check := func(bin, at, left string) {
		c.ana.Post("/checks", fmt.Sprintf(`{"bin":%q,"at":%q,"leftover_pct":%s}`, bin, at, left)).Want(201)
	}
	check(old, "2025-03-02", "0")
	feed(old, "2025-03-03", `"value":30,"unit":"kg"`)
	check(old, "2025-05-20", "0")
	c.ana.Post("/harvests", fmt.Sprintf(`{"bin":%q,"at":"2025-05-25","full":true,"castings":{"value":11,"unit":"kg"},"moisture_pct":60,"batch":%q}`, old, c.batch)).Want(201)
	feed(far, "2026-03-05", `"value":20,"unit":"L"`)
	move(c.ana, "hand-over", "2026-04-22", `"party":"Rosa","terms":"sale","price_minor":2500,"currency":"EUR",`,
		`"from_bin":"`+old+`","quantity":{"value":1,"unit":"[lb_av]"}`).Want(201)
	move(c.ana, "hand-over", "2026-04-23", `"from_batch":"`+c.batch+`","party":"The school","terms":"gift",`, `"quantity":{"value":2,"unit":"kg"}`).Want(201)
	return c
}

func TestASeasonIsReadOutByTheSecretary(t *testing.T) {
	t.Parallel()
	c := twoYears(t)
	golden(t, "season.txt", c.ana.With("Accept", "text/plain").Get("/reports/seasons/2026-spring").Want(200).Body)
	golden(t, "season-keeper.txt", c.ben.With("Accept", "text/plain").Get("/reports/seasons/2025-spring").Want(200).Body)
	golden(t, "season-empty.txt", c.ana.With("Accept", "text/plain").Get("/reports/seasons/2026-autumn").Want(200).Body)
}

func TestTheStoryOfAStarterIsToldInOrderOfDates(t *testing.T) {
	t.Parallel()
	c := twoYears(t)
	c.ben.Post("/movements", `{"kind":"combine","at":"2026-04-24","to_bin":"`+c.shed+`","lines":[{"from_bin":"`+
		c.ben.Get("/bins").Want(200).Text("/items/4/id")+`","quantity":{"value":50,"unit":"%"}}]}`).Want(201)
	move(c.ben, "stocking", "2026-04-25", `"to_bin":"`+c.shed+`","note":"in a jam jar,\nwithout a label",`,
		`"species":"eisenia-fetida","quantity":{"value":90,"unit":"g"}`).Want(201)
	lot := c.ben.Get("/lots?species=eisenia-fetida&order=newest").Want(200).Text("/items/0/id")
	golden(t, "lineage.txt", c.ben.With("Accept", "text/plain").Get("/lots/"+lot+"/lineage").Want(200).Body)
	wedge := c.ben.Get("/lots?bin=" + c.wedge).Want(200)
	golden(t, "lineage-copy.txt", c.ben.With("Accept", "text/plain").Get("/lots/"+wedge.Text("/items/0/id")+"/lineage").Want(200).Body)
	c.ana.Post("/movements/"+wedge.Text("/items/0/opened_by")+"/reversal", `{"reason":"never happened"}`).Want(201)
	golden(t, "lineage-withdrawn.txt", c.ben.With("Accept", "text/plain").Get("/lots/"+wedge.Text("/items/0/id")+"/lineage").Want(200).Body)
}

func TestLongNamesDoNotMakeAReportWider(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	long := strings.Repeat("Ð", 80)
	bin := c.ana.Post("/bins", map[string]any{"name": long, "kind": "bag", "site": c.theCellar, "started": "2026-03-01"}).Want(201).ID()
	move(c.ana, "stocking", "2026-03-02", `"to_bin":"`+bin+`",`, `"origin":"`+c.origin+`","quantity":{"value":1,"unit":"kg"}`).Want(201)
	c.ana.Post("/feedings", fmt.Sprintf(`{"bin":%q,"at":"2026-03-03","items":[{"material":%q,"quantity":{"value":3,"unit":"kg"}}]}`, bin, c.scraps)).Want(201)
	for _, path := range []string{"/reports/seasons/current", "/lots/" + c.ana.Get("/lots").Want(200).Text("/items/0/id") + "/lineage"} {
		for line := range strings.Lines(c.ana.With("Accept", "text/plain").Get(path).Want(200).Body) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 80 {
				t.Errorf("%s: %d columns: %s", path, n, line)
			}
		}
	}
}
