package working_test

import (
	"math"
	"strings"
	"testing"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

func TestAFormulaIsWorkedOutAsOnPaper(t *testing.T) {
	t.Parallel()
	scalars := working.Values{"a": 6, "b": 2, "moisture": 75}
	rows := []working.Values{{"wet": 2, "p": 50}, {"wet": 4, "p": 25}, {"other": 3}}
	for formula, want := range map[string]float64{
		"a / b": 3, "a - b - 1": 3, "2 * (a + b) ^ 2": 128, "-b ^ 2": -4, "2 ^ 3 ^ 2": 512, "a / b * 3": 9,
		"sqrt(max(a, b) + min(a, 3))": 3, "exp(ln(a))": 6, "round(2.5)": 3, "floor(2.9)": 2, "abs(-a)": 6,
		"a * (100 - moisture) / 100": 1.5, "sum(wet)": 6, "sum(wet * p / 100) / sum(wet)": 2.0 / 6, "sum(wet) + sum(other ^ b)": 15, "sum(a * 0 + none)": 0,
	} {
		if got, err := working.Evaluate(formula, scalars, rows); err != nil || math.Abs(got-want) > 1e-12 {
			t.Errorf("%s = %v (%v), want %v", formula, got, err, want)
		}
	}
	if got, err := working.Evaluate("sum(wet) + sum(other)", scalars, rows, 10, 100); err != nil || got != 119 {
		t.Errorf("with sums already made: %v (%v)", got, err)
	}
}

func TestWhatIsNoFormulaIsRefused(t *testing.T) {
	t.Parallel()
	for _, formula := range []string{"", "a +", "(a", "a b", "nothing", "sin(a)", "sum(sum(a))", "max(a)", "a $ b", "1 2"} {
		if v, err := working.Evaluate(formula, working.Values{"a": 1}, []working.Values{{"a": 1}}); err == nil {
			t.Errorf("%q is %v", formula, v)
		} else if !strings.Contains(err.Error(), "formula") {
			t.Error(err)
		}
	}
}

// Castings of 100 kg of feed: yield 0.72, computed from its definition.
func yielded() working.Figure {
	fed := working.Record{Kind: "feeding", ID: "f"}
	return working.Figure{
		Name: "/yields/dry", Formula: working.Yield, Result: unit.Of(18.0/25, "kg/kg", "measured-moisture"),
		Inputs: []working.Input{working.Of("castings", 18, "kg", working.Record{}), working.Of("feed", 25, "kg", fed)},
	}
}

func TestALineIsWrittenWithAsFewDigitsAsComeOutAsShown(t *testing.T) {
	t.Parallel()
	f := yielded()
	if l := f.Working()[0]; l.Text != "18 kg / 25 kg" || l.Value != 0.72 || l.Unit != "kg/kg" {
		t.Errorf("%+v", l)
	}
	f.Inputs[0].Value, f.Inputs[1].Value = 18.00049, 17.99951
	f.Formula, f.Result = working.Difference, unit.Of(0.00098, "kg", "")
	f.Inputs[0].Name, f.Inputs[1].Name = "now", "before"
	if l := f.Working()[0]; l.Text != "18.00049 kg - 17.99951 kg" {
		t.Errorf("%+v", l)
	}
	f.Result = unit.None("kg", "no-feed")
	if lines := f.Working(); lines != nil {
		t.Errorf("%+v of a figure that can't be had", lines)
	}
}

func TestManyRowsAreFoldedByGroupAndStillComeToTheSame(t *testing.T) {
	t.Parallel()
	f := working.Figure{Formula: working.DryTotal}
	for i := range 30 {
		f.Rows = append(f.Rows, working.Row{Group: []string{"a", "b"}[i%2], Inputs: []working.Input{
			working.Of("wet", float64(i), "kg", working.Record{}), working.Of("moisture", 50, "%", working.Record{}),
		}})
	}
	f.Result = unit.Of(15*14.5, "kg", "")
	folded := f.Folded(20)
	if len(folded.Rows) != 2 || folded.Records() != 30 || len(f.Folded(30).Rows) != 30 {
		t.Errorf("%+v", folded.Rows)
	}
	for _, x := range []working.Figure{f, folded} {
		if v, err := x.Again(working.TheValue); err != nil || math.Abs(v-f.Result.Value) > 1e-9 {
			t.Errorf("%v (%v)", v, err)
		}
	}
	if l := folded.Working()[0]; l.Text != "105 + 112.5" && l.Text != "105 + 113" {
		t.Errorf("%+v", l)
	}
}

func TestAResultThatItsInputsDontGiveAnyMoreHasACaveat(t *testing.T) {
	t.Parallel()
	f := yielded()
	if f = f.Checked(1e-9); f.Caveat != "" {
		t.Error(f.Caveat)
	}
	f.Inputs[0].Value++
	if f = f.Checked(1e-9); f.Caveat != working.ChangedSince {
		t.Error("no caveat")
	}
}

func TestEveryFormulaOfTheCatalogueHasASourceAndAStatus(t *testing.T) {
	t.Parallel()
	known := []working.Status{working.Recorded, working.Seen, working.Copied, working.Computed, working.Practice, working.Memory}
	for id, f := range working.Catalogue {
		found := false
		for _, s := range known {
			found = found || f.Status == s
		}
		if f.Text == "" || f.Source == "" || !found || (f.Low == "") != (f.High == "") {
			t.Errorf("%s: %+v", id, f)
		}
	}
}
