package api_test

import (
	"fmt"
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"lumbricary.example/api"
	"lumbricary.example/api/apitest"
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
		if err != nil || !close(v, *want[what], float64(records+1)*1e-6) {
			t.Errorf("%s: %s is %v by %s, not %v (%v)", x.Figure, what, v, *formula, *want[what], err)
		}
		lines++
	}
	if len(x.Working) != lines {
		t.Errorf("%s has %d lines, not %d", x.Figure, len(x.Working), lines)
	}
	for _, l := range x.Working {
		v, err := working.Evaluate(bare(l.Text), nil, nil)
		if err != nil || working.Digits(v) != l.Shown || working.Digits(*want[l.What]) != l.Shown {
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
}
