package api_test

import (
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/api/apitest"
)

// drawn is a picture as a program reads it.
type drawn struct {
	Title string `xml:"title"`
	Text  string `xml:"desc"`
	Said  []struct {
		Text string `xml:",chardata"`
	} `xml:"text"`
	Boxes []struct {
		Class string `xml:"class,attr"`
	} `xml:"rect"`
	Nodes []struct {
		Title string `xml:"title"`
		Box   struct {
			Class string `xml:"class,attr"`
		} `xml:"rect"`
		Said []string `xml:"text"`
	} `xml:"g"`
	Ways []struct{} `xml:"path"`
}

// boxes counts those of a class.
func (d drawn) boxes(class string) int {
	n := 0
	for _, b := range d.Boxes {
		if slices.Contains(strings.Fields(b.Class), class) {
			n++
		}
	}
	return n
}

func (d drawn) says(text string) bool {
	for _, s := range d.Said {
		if s.Text == text {
			return true
		}
	}
	return false
}

// picture reads an answer that must be a picture that a browser shows alone and
// lets do nothing.
func picture(t *testing.T, a *apitest.Answer) (d drawn) {
	t.Helper()
	a.Want(200).Has("Content-Type", "image/svg+xml; charset=utf-8").Has("X-Content-Type-Options", "nosniff").
		Has("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'").Has("Cache-Control", "private, no-cache")
	if tag := a.Header.Get("ETag"); !strings.HasPrefix(tag, `W/"`) {
		t.Errorf("the tag is %s", tag)
	}
	if err := xml.Unmarshal([]byte(a.Body), &d); err != nil {
		t.Fatalf("%v: %s", err, a.Body)
	}
	return d
}

func TestTheCastingsOfTheSeasonsAreDrawn(t *testing.T) {
	t.Parallel()
	c := kept(t)
	d := picture(t, c.ana.Get("/reports/castings.svg"))
	if d.Title != "Castings by season" || d.boxes("bar") != 2 || d.boxes("so-far") != 1 || d.boxes("gap") != 0 {
		t.Errorf("drawn as %+v", d)
	}
	for _, want := range []string{"4.00", "5.00", "Winter", "Spring", "2026"} {
		if !d.says(want) {
			t.Errorf("%q isn't written: %+v", want, d.Said)
		}
	}
	if want := "Castings by season of harbour. Columns in kg, from 0. Winter 2025/26: castings 4.00 kg. Spring 2026, so far: castings 5.00 kg."; d.Text != want {
		t.Errorf("told as %q", d.Text)
	}
	again := c.ana.Get("/reports/castings.svg")
	c.ana.With("If-None-Match", again.Header.Get("ETag")).Get("/reports/castings.svg").Want(304)
	us := picture(t, c.ben.Get("/reports/castings.svg?units=us&seasons=1&width=320"))
	if us.Text != "Castings by season of harbour. Columns in lb, from 0. Spring 2026, so far: castings 11.0 lb." {
		t.Errorf("told in pounds as %q", us.Text)
	}
}

func TestFeedStandsAboveCastingsMonthByMonthAndAGapIsNoZero(t *testing.T) {
	t.Parallel()
	c := kept(t)
	d := picture(t, c.ana.Get("/reports/feed.svg?months=120"))
	if d.boxes("bar") != 8 || d.boxes("gap") != 4 { // January and May have nothing, in both rows
		t.Errorf("%d columns, %d gaps", d.boxes("bar"), d.boxes("gap"))
	}
	for _, want := range []string{"December 2025: fed 10.0 kg, castings 0 g.", "February 2026: fed 0 g, castings 4.00 kg.", "May 2026, so far: nothing on record."} {
		if !strings.Contains(d.Text, want) {
			t.Errorf("%q isn't told: %s", want, d.Text)
		}
	}
	if !d.says("Hatched: nothing is on record for that month, which isn't the same as none.") {
		t.Errorf("the gap isn't explained: %+v", d.Said)
	}
}

func TestAClubWithoutRecordsHasPicturesThatSaySo(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	for path, want := range map[string]string{
		"/reports/castings.svg": "Nothing is on record yet.", "/reports/feed.svg": "Nothing is on record yet.",
		"/cultures/" + c.culture + "/stock.svg": "No stock of this culture is on record.",
	} {
		if d := picture(t, c.ana.Get(path)); !d.says(want) || d.boxes("bar") != 0 {
			t.Errorf("%s: %+v", path, d)
		}
	}
}

func TestACulturesStockIsDrawnWithWhatCensusesFound(t *testing.T) {
	t.Parallel()
	c := kept(t)
	stock := "/cultures/" + c.culture + "/stock.svg"
	d := picture(t, c.ana.Get(stock))
	if want := "It began on 2 December 2025 with 1.00 kg, was at its most on 2 December 2025 with 1.00 kg, and is 980 g now."; !strings.HasSuffix(d.Text, want) {
		t.Errorf("told as %q", d.Text)
	}
	level := func(bin, at, value, low, high string) string {
		return c.ana.Post("/censuses", fmt.Sprintf(`{"bin":%q,"species":"eisenia-fetida","at":%q,"estimate":{"value":%s,"unit":"g"},"low":{"value":%s,"unit":"g"},"high":{"value":%s,"unit":"g"}}`, bin, at, value, low, high)).Want(201).ID()
	}
	level(c.tote, "2026-04-22", "620", "500", "700") // the book has 600 g there: it stands
	level(c.wedge, "2026-04-22", "210", "120", "270")
	wrong := level(c.shed, "2026-04-24", "900", "800", "1000")
	c.ana.Post("/movements/"+wrong+"/reversal", `{"reason":"counted twice"}`).Want(201)
	d = picture(t, c.ana.Get(stock))
	if want := "Census on 22 April 2026 of 2 bins: 1.01 kg in all, between 860 g and 1.11 kg."; !strings.HasSuffix(d.Text, want) {
		t.Errorf("told as %q", d.Text)
	}
	if !d.says("980 g") {
		t.Errorf("the level isn't written at its end: %+v", d.Said)
	}
	c.ana.Get("/cultures/"+c.tote+"/stock.svg").Problem(404, "culture-not-found")
}

func TestALotsLineageIsDrawnAndEveryNameIsText(t *testing.T) {
	t.Parallel()
	c := kept(t)
	const name = `<script>alert("x")</script>`
	seen := c.ana.Get("/bins/" + c.shed).Want(200)
	c.ana.Patch("/bins/"+c.shed, seen.Header.Get("ETag"), `{"name":"<script>alert(\"x\")</script>"}`).Want(200)
	lot := c.ana.Get("/lots?bin=" + c.shed).Want(200).Text("/items/0/id")
	a := c.ana.Get("/lots/" + lot + "/lineage.svg")
	d := picture(t, a)
	if strings.Contains(a.Body, "<script") || !strings.Contains(d.Text, name) {
		t.Errorf("the name is told as %s", d.Text)
	}
	if len(d.Nodes) != 3 || len(d.Ways) != 2 {
		t.Fatalf("%d nodes and %d ways: %+v", len(d.Nodes), len(d.Ways), d)
	}
	for i, want := range [][]string{
		{"root", "Green Farm: origin: supplier, Harbour line, 100 % of this lot"},
		{"node", "Tote: ana, 1.00 kg · 2 Dec 2025, 100 % of this lot"},
		{"goal", name + ": ben, 200 g · 20 Mar 2026, this lot"},
	} {
		if n := d.Nodes[i]; n.Box.Class != want[0] || n.Title != want[1] {
			t.Errorf("node %d is %+v, want %v", i, n, want)
		}
	}
	if !d.says("1.00 kg") || !d.says("200 g") {
		t.Errorf("the ways aren't labelled: %+v", d.Said)
	}
	c.ana.Get("/lots/"+c.tote+"/lineage.svg").Problem(404, "lot-not-found")
}

func TestALongLineageIsDrawnByItsLastLotsAndSaysWhereTheRestIs(t *testing.T) {
	t.Parallel()
	c := kept(t)
	row := `{"movements":[` + strings.Repeat(`{"kind":"stocking","at":"2026-04-25","to_bin":"`+c.shed+
		`","lines":[{"species":"eisenia-fetida","quantity":{"value":1,"unit":"g"}}]},`, 230)
	c.ben.Post("/records", strings.TrimSuffix(row, ",")+"]}").Want(201)
	lot := c.ana.Get("/bins/" + c.shed + "/stock").Want(200).Text("/stock/0/lot")
	for path, nodes := range map[string]int{"": 60, "?nodes=200": 200, "?nodes=2": 2} {
		d := picture(t, c.ana.Get("/lots/"+lot+"/lineage.svg"+path))
		if len(d.Nodes) > max(3, nodes) || len(d.Nodes) < nodes-1 {
			t.Errorf("%s: %d nodes", path, len(d.Nodes))
		}
		lots, rest := 0, ""
		for _, n := range d.Nodes {
			switch n.Box.Class {
			case "node", "goal":
				lots++
			case "rest":
				rest = n.Said[0]
			}
		}
		if want := fmt.Sprintf("%d earlier lots", 232-lots); rest != want {
			t.Errorf("%s: %q, want %q", path, rest, want)
		}
		if want := "All are listed at /v1/clubs/harbour/lots/" + lot + "/upstream"; !strings.HasSuffix(d.Text, want) {
			t.Errorf("%s: told as …%s", path, d.Text[max(0, len(d.Text)-200):])
		}
	}
}

func TestAPictureIsAskedForWithNumbersInRange(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	for path, pointer := range map[string]string{
		"/reports/castings.svg?seasons=0": "?seasons", "/reports/castings.svg?seasons=61": "?seasons", "/reports/castings.svg?seasons=x": "?seasons",
		"/reports/castings.svg?seasons=2&seasons=3": "?seasons", "/reports/castings.svg?months=2": "?months",
		"/reports/feed.svg?months=121": "?months", "/reports/feed.svg?width=319": "?width", "/reports/feed.svg?units=stone": "?units",
		"/cultures/" + c.culture + "/stock.svg?width=1601": "?width", "/lots/" + c.tote + "/lineage.svg?nodes=201": "?nodes",
	} {
		c.ana.Get(path).Problem(400, "malformed", pointer)
	}
}
