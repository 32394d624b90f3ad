package api_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"lumbricary.example/api"
	"lumbricary.example/api/apitest"
	"lumbricary.example/openapi"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service/working"
)

// redone works every explained figure of an answer out again, from nothing but
// what the explanation says: the stated formula on the stated inputs, and the
// stated lines as they are written. It returns the explanation by figure.
func redone(t *testing.T, a *apitest.Answer) map[string]api.WorkedFigure {
	t.Helper()
	var body struct{ Explanation []api.WorkedFigure }
	a.Into(&body)
	of := map[string]api.WorkedFigure{}
	for _, x := range body.Explanation {
		if _, twice := of[x.Figure]; twice {
			t.Errorf("%s is explained twice", x.Figure)
		}
		of[x.Figure] = x
	}
	for _, x := range body.Explanation {
		agrees(t, a, x, of)
		sums(t, x)
	}
	return of
}

// agrees compares a result with the answer, and inputs with their own figures.
func agrees(t *testing.T, a *apitest.Answer, x api.WorkedFigure, of map[string]api.WorkedFigure) {
	t.Helper()
	if !strings.Contains(x.Figure, "#") {
		shown := a.Value(x.Figure)
		if figure, ok := shown.(map[string]any); ok {
			shown = figure["value"]
		}
		switch v, ok := shown.(float64); {
		case ok != (x.Result.Value != nil), ok && !close(v, *x.Result.Value, 1e-9):
			t.Errorf("%s shows %v, explained as %+v", x.Figure, shown, x.Result)
		}
	}
	inputs := x.Inputs
	for _, row := range x.Rows {
		inputs = append(inputs, row.Inputs...)
	}
	for _, in := range inputs {
		if in.Figure == nil {
			continue
		}
		other, ok := of[*in.Figure]
		if !ok {
			t.Errorf("%s: %s is %s, which isn't explained", x.Figure, in.Name, *in.Figure)
		} else if other.Result.Value != nil && !close(*other.Result.Value, in.Value, 1e-9) {
			t.Errorf("%s: %s is %v, but %s is %v", x.Figure, in.Name, in.Value, *in.Figure, *other.Result.Value)
		}
	}
}

// sums works a figure out again.
func sums(t *testing.T, x api.WorkedFigure) {
	t.Helper()
	if x.Result.Value == nil {
		if len(x.Working) > 0 || x.Result.Reason == nil {
			t.Errorf("%s can't be had, but %+v", x.Figure, x)
		}
		return
	}
	want := map[string]*float64{working.TheValue: x.Result.Value, working.TheLow: x.Result.Low, working.TheHigh: x.Result.High}
	formulas := map[string]*string{working.TheValue: &x.Formula, working.TheLow: x.Low, working.TheHigh: x.High}
	scalars := valuesOf(x.Inputs)
	scalars["value"] = *x.Result.Value
	var rows []working.Values
	var added [3]float64
	records := 0
	for _, row := range x.Rows {
		records += row.Count
		if row.Count > 1 || len(row.Inputs) == 0 {
			added[row.Sum-1] += row.Value
			continue
		}
		rows = append(rows, valuesOf(row.Inputs))
	}
	if records != x.Records {
		t.Errorf("%s: %d rows, of %d", x.Figure, records, x.Records)
	}
	if x.Caveat != nil {
		return
	}
	lines := 0
	for what, formula := range formulas {
		if want[what] == nil {
			continue
		}
		if formula == nil {
			t.Errorf("%s: nothing says how %s came about", x.Figure, what)
			continue
		}
		v, err := working.Evaluate(*formula, scalars, rows, added[:]...)
		if err != nil || !close(v, *want[what], float64(records+1)*1e-6) && !(x.Result.Unit == "g" && math.Abs(v-*want[what]) < float64(records+1)*milligram) {
			t.Errorf("%s: %s is %v by %s, not %v (%v)", x.Figure, what, v, *formula, *want[what], err)
		}
		lines++
	}
	if len(x.Working) != lines {
		t.Errorf("%s has %d lines, not %d", x.Figure, len(x.Working), lines)
	}
	for _, l := range x.Working {
		v, err := working.Evaluate(bare(l.Text), nil, nil)
		if err != nil || !working.Agree(v, *want[l.What]) || working.Digits(*want[l.What]) != l.Shown {
			t.Errorf("%s: %s = %s on paper, but %v (%v)", x.Figure, l.Text, l.Shown, v, err)
		}
	}
}

// unitAfter is a unit behind a number.
var unitAfter = regexp.MustCompile(`(\d) (?:[A-Za-z{\[%][^ ()]*)`)

// bare is a written line without units, in the signs of formulas.
func bare(text string) string {
	return strings.ReplaceAll(unitAfter.ReplaceAllString(text, "$1"), "×", "*")
}

func valuesOf(inputs []api.WorkedInput) working.Values {
	out := working.Values{}
	for _, in := range inputs {
		out[in.Name] = in.Value
	}
	return out
}

// milligram is in g what a booked mass may be off by rounding.
const milligram = 0.001

func close(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance*math.Max(1, math.Abs(b)) }

func TestEveryFigureOfTheDemoClubsBinsCanBeDoneAgainFromItsExplanation(t *testing.T) {
	t.Parallel()
	_, club := inNovember(t, repotest.SQLite(t), "lagoon")
	media, body := form(t, lagoon(t))
	bring(club, "", media, body).Want(http.StatusCreated)
	rates := 0
	for _, b := range club.Get("/bins?limit=100").Want(http.StatusOK).Value("/items").([]any) {
		bin := "/bins/" + b.(map[string]any)["id"].(string)
		for _, path := range []string{"/rate?explain=%s", "/rate?from=2026-03-01&to=2026-09-01&explain=%s", "/yield?explain=%s"} {
			for _, how := range []string{"1", "all"} {
				of := redone(t, club.Get(bin+fmt.Sprintf(path, how)).Want(http.StatusOK))
				if x := of["/rate"]; x.Result.Value != nil {
					rates++
				}
			}
		}
	}
	if rates == 0 {
		t.Error("no bin has a rate")
	}
}

func TestEveryRecordOfTheDemoClubSaysHowItsFiguresCameAbout(t *testing.T) {
	t.Parallel()
	_, club := inNovember(t, repotest.SQLite(t), "lagoon")
	media, body := form(t, lagoon(t))
	bring(club, "", media, body).Want(http.StatusCreated)
	for _, noun := range []string{"/bins", "/lots", "/movements", "/harvests", "/censuses", "/feedings", "/batches"} {
		found := 0
		for _, v := range club.Get(noun + "?limit=40").Want(http.StatusOK).Value("/items").([]any) {
			path := noun + "/" + v.(map[string]any)["id"].(string)
			paths := map[string][]string{
				"/bins": {"/stock"}, "/batches": {"/balance", "/composition"}, "/lots": {"", "/lineage"},
			}[noun]
			if paths == nil {
				paths = []string{""}
			}
			for _, p := range paths {
				for _, how := range []string{"1", "all"} {
					found += len(redone(t, club.Get(path+p+"?explain="+how).Want(http.StatusOK)))
				}
				club.With("Accept", "text/plain").Get(path+p+"?explain=1").Want(http.StatusOK).Has("Content-Type", "text/plain; charset=utf-8")
			}
		}
		if found == 0 {
			t.Errorf("%s explains nothing", noun)
		}
	}
	redone(t, club.Get("/reports/materials-balance?season=2026-summer&explain=1").Want(http.StatusOK))
	for _, season := range []string{"2026-spring", "2026-W20", "2026-03-05..2026-07-01", "current", "2019"} {
		for _, how := range []string{"1", "all"} {
			redone(t, club.Get("/reports/seasons/"+season+"?explain="+how).Want(http.StatusOK))
		}
	}
}

func TestEveryRecordOfTheHarbourSaysHowItsFiguresCameAbout(t *testing.T) {
	t.Parallel()
	w, _ := newPress(t, repotest.SQLiteURL(t))
	showings := shown(t)
	for _, op := range operations(t) {
		if !showings[op.id].explained {
			continue
		}
		op.path += "?explain=all"
		a := w.ask(op, w.ana, "harbour", w.things).Want(http.StatusOK)
		if of := redone(t, a); len(of) == 0 && op.id != "getStatement" {
			t.Errorf("%s explains nothing: %s", op.id, a.Body)
		}
	}
}

// unexplained are the operations that show something worked out and don't
// explain it, with the reason.
var unexplained = map[string]string{
	"listCensuses": "a list: each census explains itself", "listHarvests": "a list: each harvest explains itself",
	"listMovements": "a list: each movement explains itself", "listFeedings": "a list: each feeding explains itself",
	"listReceipts": "a list: each receipt explains itself", "listReworks": "a list: each rework explains itself",
	"listLots": "a list: each lot explains itself", "listUpstreamLots": "a list: each lot explains itself",
	"listDownstreamLots": "a list: each lot explains itself", "listTransfers": "a list: each transfer explains itself",
	"listBinTimeline": "a list: each record explains itself", "listMeasures": "as typed, in g", "getMeasure": "as typed, in g",
	"listSpecies": "published figures, each with its source", "getSpecies": "published figures, each with its source",
	"getLotOverlap": "a sum over the origins that are listed, with both lots' shares of each",
	"listDue":       "each item tells the figures behind it", "listBinDue": "each item tells the figures behind it",
	"getStarterLineage": "members ask the club's own book how it came about", "getCultureLineage": "members ask the club's own book how it came about",
	"getPublishedSeason": "members ask the club's own book how it came about",
	"getPersonalData":    "records as they are: each explains itself", "exportDocument": "the book as it is",
}

// showing is what an operation that reads shows.
type showing struct {
	explained bool
	number    string // a member that is worked out, or may be
}

// workedOut are members that are worked out, or may be: figures, and numbers in a
// unit.
var workedOut = regexp.MustCompile(`(_g|_mg|_kg_d|^share|^mean_mg|^effective_sources)$`)

// shown reads from the contract what each operation that reads shows. What a
// change answers is explained by reading it again.
func shown(t *testing.T) map[string]showing {
	t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string `json:"operationId"`
			Parameters  []map[string]any
			Responses   map[string]struct{ Content map[string]any }
		}
		Components struct{ Schemas map[string]any }
	}
	if err := json.Unmarshal(openapi.Document(), &doc); err != nil {
		t.Fatal(err)
	}
	var number func(v any, seen map[string]bool) string
	number = func(v any, seen map[string]bool) string {
		switch v := v.(type) {
		case []any:
			for _, item := range v {
				if n := number(item, seen); n != "" {
					return n
				}
			}
		case map[string]any:
			ref, _ := v["$ref"].(string)
			name := strings.TrimPrefix(ref, "#/components/schemas/")
			switch {
			case name == "Figure" || name == "PublishedFigure":
				return name
			case name != "" && name != "WorkedFigure" && !seen[name]:
				seen[name] = true
				return number(doc.Components.Schemas[name], seen)
			}
			members, _ := v["properties"].(map[string]any)
			for name := range members {
				if workedOut.MatchString(name) {
					return name
				}
			}
			for key, item := range v {
				if n := number(item, seen); key != "examples" && n != "" {
					return n
				}
			}
		}
		return ""
	}
	out := map[string]showing{}
	for _, item := range doc.Paths {
		if op, reads := item["get"]; reads {
			out[op.OperationID] = showing{
				strings.Contains(fmt.Sprint(op.Parameters), "parameters/Explain"),
				number(op.Responses["200"].Content["application/json"], map[string]bool{}),
			}
		}
	}
	return out
}

// TestEveryOperationThatShowsWhatWasWorkedOutExplainsItOrIsExcused looks for
// figures, and for numbers in a unit, in the answers of every operation that reads.
func TestEveryOperationThatShowsWhatWasWorkedOutExplainsItOrIsExcused(t *testing.T) {
	t.Parallel()
	excused := 0
	for id, op := range shown(t) {
		reason, listed := unexplained[id]
		switch {
		case op.explained && listed:
			t.Errorf("%s explains itself, and is excused: %s", id, reason)
		case op.number != "" && !op.explained && !listed:
			t.Errorf("%s shows something worked out (%s), and neither explains it nor is excused", id, op.number)
		case listed && op.number == "":
			t.Errorf("%s shows nothing that was worked out, and needs no excuse", id)
		case listed:
			excused++
		}
	}
	if excused != len(unexplained) {
		t.Errorf("%d of %d excuses are of operations that read", excused, len(unexplained))
	}
}

func TestHowAnAnswerIsExplainedIsAskedForInOneOfTwoWays(t *testing.T) {
	t.Parallel()
	c := kept(t)
	rate := "/bins/" + c.tote + "/rate"
	plain := c.ana.Get(rate).Want(http.StatusOK)
	if strings.Contains(plain.Body, "explanation") {
		t.Error("it explains unasked")
	}
	for _, query := range []string{"?explain=", "?explain=2", "?explain=1&explain=all"} {
		c.ana.Get(rate+query).Problem(http.StatusBadRequest, "malformed", "?explain")
	}
	c.ana.Get("/bins?explain=1").Problem(http.StatusBadRequest, "malformed", "?explain")
	feeding := "/feedings/" + c.ana.Get("/feedings").Want(http.StatusOK).Text("/items/0/id")
	if tag := c.ana.Get(feeding + "?explain=1").Want(http.StatusOK).Header.Get("ETag"); !strings.HasPrefix(tag, "W/") {
		t.Errorf("an explained record has the tag %s", tag)
	}
	us := c.ana.Get(rate + "?explain=1&units=us").Want(http.StatusOK)
	us.Is("/explanation/4/figure", "/feed_wet").Is("/explanation/4/result/unit", "kg").Is("/explanation/4/converted/value", us.Value("/feed_wet/value"))
}

func TestAWorkedExampleReadsAsOnPaper(t *testing.T) {
	t.Parallel()
	c := kept(t)
	text := c.ana.With("Accept", "text/plain")
	golden(t, "explained-yield.txt", text.Get("/bins/"+c.tote+"/yield?explain=1").Want(http.StatusOK).Body)
	golden(t, "explained-rate.txt", text.Get("/bins/"+c.tote+"/rate?explain=1").Want(http.StatusOK).Body)
	golden(t, "explained-stock.txt", text.Get("/bins/"+c.tote+"/stock?explain=1").Want(http.StatusOK).Body)
}
