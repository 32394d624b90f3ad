package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/openapi"
	"lumbricary.example/repo/repotest"
)

func TestFiguresComeInTheUnitsThatAreAskedFor(t *testing.T) {
	t.Parallel()
	c := kept(t)
	rate, pound := "/bins/"+c.tote+"/rate", 0.45359237
	metric := c.ana.Get(rate).Want(200).Is("/feed_wet/unit", "kg").Is("/density/unit", "kg/m2")
	us := c.ana.Get(rate+"?units=us").Want(200).Is("/feed_wet/unit", "[lb_av]").Is("/density/unit", "[lb_av]/[sft_i]").
		Is("/rate_per_area/unit", "[lb_av]/[sft_i]/d").Is("/worm_days/unit", "[lb_av].d").Is("/rate/unit", "kg/kg/d")
	us.Is("/feed_wet/value", 10.8/pound).Is("/rate/value", metric.Value("/rate/value")).Is("/rate/low", metric.Value("/rate/low"))
	if a := c.ana.Get(rate + "?units=metric").Want(200); a.Body != metric.Body {
		t.Errorf("asked for metric: %s", a.Body)
	}
	if metric.Header.Get("ETag") == us.Header.Get("ETag") {
		t.Error("both have the same tag")
	}
	c.ana.With("If-None-Match", us.Header.Get("ETag")).Get(rate + "?units=us").Want(304)
	c.ana.Get("/bins/"+c.tote+"/yield?units=us").Want(200).Is("/yields/wet/value", 9.0/22).Is("/windows/0/sums/feed_g", 10000).
		Is("/windows/0/sums/castings_dry/value", 1.4/pound).Is("/windows/0/sums/castings_dry/unit", "[lb_av]")
	c.ana.Get("/reports/seasons/current?units=us").Want(200).Is("/total/sums/feed_g", 12000).Is("/total/sums/feed_dry/unit", "[lb_av]").
		Is("/avoided/unit", "[lb_av]").Is("/changes/4/now/unit", "[lb_av]").Is("/total/yields/wet/value", 5.0/12).Is("/materials/0/feed_dry/unit", "[lb_av]")
	text := c.ana.With("Accept", "text/plain").Get("/reports/seasons/current?units=us").Want(200).Body
	if !strings.Contains(text, "sold 7.05 oz of tiger worm") || strings.Contains(text, "kg") {
		t.Errorf("told as:\n%s", text)
	}
}

func TestACensusIsShownInTheUnitsThatAreAskedFor(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	body := `{"bin":"` + c.tote + `","species":"eisenia-fetida","estimate":{"value":2,"unit":"[lb_av]"},"low":{"value":1,"unit":"[lb_av]"},"high":{"value":3,"unit":"[lb_av]"}}`
	a := c.ana.Post("/censuses?units=us", body).Want(201).Is("/estimate/unit", "[oz_av]").Is("/typed/estimate/value", 2).Is("/book_g", 1000)
	if v, ok := a.Value("/estimate/value").(float64); !ok || v < 31.9999 || v > 32.0001 {
		t.Errorf("2 lb are %v oz", v)
	}
	c.ana.Get("/censuses?units=us").Want(200).Is("/items/0/estimate/unit", "[oz_av]")
	c.ana.Get("/censuses/"+a.ID()).Want(200).Is("/estimate/unit", "g")
	c.ana.Get("/bins/"+c.tote+"/timeline?kind=census&units=us").Want(200).Is("/items/0/census/estimate/unit", "[oz_av]")
}

func TestAClubReadsFiguresInItsOwnUnits(t *testing.T) {
	t.Parallel()
	c := kept(t)
	tag := etag(t, c.ana, "")
	c.ana.Patch("", tag, `{"units":"us"}`).Want(200)
	c.ana.Get("/bins/"+c.tote+"/rate").Want(200).Is("/feed_wet/unit", "[lb_av]")
	c.ana.Get("/bins/"+c.tote+"/rate?units=metric").Want(200).Is("/feed_wet/unit", "kg")
	lot := c.ana.Get("/lots?bin=" + c.wedge).Want(200).Text("/items/0/id")
	if text := c.ana.With("Accept", "text/plain").Get("/lots/" + lot + "/lineage").Want(200).Body; !strings.Contains(text, "began on 10 March 2026 with 7.05 oz") {
		t.Errorf("told as:\n%s", text)
	}
}

func TestUnitsThatThereAreNotAreRefusedBeforeAnythingIsRecorded(t *testing.T) {
	t.Parallel()
	c := stocked(t)
	for _, query := range []string{"?units=imperial", "?units=", "?units=us&units=us"} {
		c.ana.Get("/reports/seasons/current"+query).Problem(400, "malformed", "?units")
		c.ana.Get("/censuses"+query).Problem(400, "malformed", "?units")
		c.ana.Post("/censuses"+query, `{"bin":"`+c.tote+`","species":"eisenia-fetida","estimate":{"value":1,"unit":"kg"},"low":{"value":0.8,"unit":"kg"},"high":{"value":1.2,"unit":"kg"}}`).
			Problem(400, "malformed", "?units")
	}
	c.ana.Get("/censuses").Want(200).Is("/items", []any{})
	c.ana.Get("/feedings?units=us").Problem(400, "malformed", "?units")
}

// TestEveryOperationThatAnswersFiguresTakesUnits looks for figures in all that
// the contract's answers are made of.
func TestEveryOperationThatAnswersFiguresTakesUnits(t *testing.T) {
	t.Parallel()
	var doc struct {
		Paths      map[string]map[string]map[string]any
		Components struct{ Schemas map[string]any }
	}
	if err := json.Unmarshal(openapi.Document(), &doc); err != nil {
		t.Fatal(err)
	}
	var reaches func(v any, seen map[string]bool) bool
	reaches = func(v any, seen map[string]bool) bool {
		switch v := v.(type) {
		case []any:
			return slices.ContainsFunc(v, func(item any) bool { return reaches(item, seen) })
		case map[string]any:
			ref, _ := v["$ref"].(string)
			name := strings.TrimPrefix(ref, "#/components/schemas/")
			if name == "Figure" || name != "" && name != "WorkedFigure" && !seen[name] && func() bool { seen[name] = true; return reaches(doc.Components.Schemas[name], seen) }() {
				return true
			}
			for _, item := range v {
				if reaches(item, seen) {
					return true
				}
			}
		}
		return false
	}
	found := 0
	for _, path := range slices.Sorted(maps.Keys(doc.Paths)) {
		for method, op := range doc.Paths[path] {
			answers := fmt.Sprint(op["responses"])
			told := strings.Contains(answers, "text/plain") && !strings.HasSuffix(path, "/exposure") // whose text has no figures
			drawn := strings.Contains(answers, "image/svg+xml") || strings.Contains(answers, "application/pdf")
			shown := reaches(op["responses"], map[string]bool{}) || told || drawn && !strings.Contains(path, "/label")
			takes := strings.Contains(fmt.Sprint(op["parameters"]), "#/components/parameters/Units")
			if shown != takes {
				t.Errorf("%s %s: shows figures %v, takes units %v", method, path, shown, takes)
			}
			if takes {
				found++
			}
		}
	}
	if found == 0 {
		t.Error("no operation takes units")
	}
}

func TestTheLagoonClubsSeasonIsReadOutInPoundsAndOunces(t *testing.T) {
	t.Parallel()
	p, club := inNovember(t, repotest.SQLite(t), "lagoon")
	club.Patch("", "*", `{"units":"us","time_zone":"Pacific/Pago_Pago","hemisphere":"south","currency":"USD"}`).Want(200)
	media, body := form(t, lagoon(t))
	bring(club, "", media, body).Want(201)
	golden(t, "season-lagoon.txt", p.SignIn("ana").In("lagoon").With("Accept", "text/plain").Get("/reports/seasons/2026-spring").Want(200).Body)
}

func TestTheCurrentSeasonIsAQuarterOfTheClubsOwnDays(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	c.ana.Patch("", "*", `{"time_zone":"Pacific/Pago_Pago","season_by":"quarters"}`).Want(200)
	to := func(at time.Time) { c.Clock.Move(at.Sub(c.Clock.Now())) }
	// Pago Pago is eleven hours behind UTC the whole year: its July begins at 11:00 UTC.
	to(time.Date(2026, 7, 1, 10, 59, 59, 0, time.UTC))
	ana := c.SignIn("ana").In("harbour")
	ana.Get("/reports/seasons/current").Want(200).Is("/period/code", "2026-Q2").Is("/period/to", "2026-07-01T11:00:00Z")
	check := ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-06-30"}`).Want(201).Is("/at", "2026-06-30").ID()
	ana.Post("/checks", `{"bin":"`+c.tote+`","at":"2026-07-01"}`).Problem(422, "invalid", "/at")
	to(time.Date(2026, 7, 1, 11, 0, 0, 0, time.UTC))
	ana.Get("/reports/seasons/current").Want(200).Is("/period/code", "2026-Q3").Is("/period/from", "2026-07-01T11:00:00Z").Is("/before/code", "2025-Q3")
	ana.Get("/checks?from=2026-06-30&to=2026-07-01").Want(200).Is("/items/0/id", check)
	ana.Get("/checks?from=2026-07-01").Want(200).Is("/items", []any{})
	ana.Patch("", "*", `{"season_by":"seasons"}`).Want(200)
	ana.Get("/reports/seasons/current").Want(200).Is("/period/code", "2026-summer")
}
