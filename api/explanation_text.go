package api

import (
	"fmt"
	"strings"
	"time"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// explanationText is worked examples being written down.
type explanationText struct {
	paper
	in   unit.System
	zone *time.Location
}

// ExplanationText writes figures down as worked examples that can be done again
// on paper: plain text, at most 80 columns wide where words allow.
func ExplanationText(figures []working.Figure, in unit.System, zone *time.Location) string {
	t := &explanationText{in: in, zone: zone}
	t.say("How the figures came about. Numbers are rounded as far as the sums still come out as shown.")
	for i, f := range figures {
		t.heading("%d. %s", i+1, spokenFigure(f.Name))
		t.figure(f)
	}
	return t.String()
}

// spokenFigure is what a text calls a figure: its pointer in words.
func spokenFigure(name string) string {
	return strings.TrimSpace(strings.NewReplacer("/", " ", "#", ": ", "_", " ").Replace(name))
}

func (t *explanationText) figure(f working.Figure) {
	formula := working.Catalogue[f.Formula]
	t.say("%s", formula.Text)
	t.say("Source: %s (%s).", formula.Source, formula.Status)
	if formula.Note != "" {
		t.say("Note: %s.", formula.Note)
	}
	for _, in := range f.Inputs {
		t.item("%s = %s%s", in.Name, spokenValue(in), t.whence(in))
	}
	t.rows(f)
	if !f.Result.Known {
		t.say("It can't be had: %s.", inWords(reasonWords, f.Result.Reason))
		return
	}
	if f.Caveat != "" {
		t.say("The result stands as it was recorded, but %s.", inWords(caveatWords, f.Caveat))
	}
	for _, l := range f.Working() {
		result := spokenNumber(l.Value, l.Unit)
		if l.Text == working.Digits(l.Value) {
			t.wrap("  together ", "    ", result)
			continue
		}
		t.wrap(t.begin(l.What), "    ", l.Text+" = "+result)
	}
	if shown, differs := f.In(t.in); differs {
		t.say("That is %s.", spokenNumber(shown.Value, shown.Unit))
	}
}

// caveatWords says why a result isn't what its inputs give.
var caveatWords = map[string]string{
	"inputs-changed-since": "what it was worked out from has been changed since, and gives something else now",
}

func (t *explanationText) begin(what string) string {
	if what == working.TheValue {
		return "  "
	}
	return "  " + what + ": "
}

// rows lists what a sum runs over.
func (t *explanationText) rows(f working.Figure) {
	for _, row := range f.Rows {
		if row.Count > 0 {
			t.item("%s: %s, together %s", row.Group, count(row.Count, "row", "rows"), working.Digits(row.Sum))
			continue
		}
		words := make([]string, len(row.Inputs))
		for i, in := range row.Inputs {
			words[i] = in.Name + " " + spokenValue(in)
			if in.Record != row.Record {
				words[i] += t.whence(in)
			}
		}
		what := row.Group
		if row.Record.Kind != "" {
			what = t.record(row.Record)
		}
		t.item("%s: %s", what, strings.Join(words, ", "))
	}
	if n := f.Records(); n > len(f.Rows) {
		t.say("These are %d rows put together; ask with explain=all for each.", n)
	}
}

func spokenValue(in working.Input) string { return spokenNumber(in.Value, in.Unit) }

func spokenNumber(v float64, code string) string {
	return strings.TrimSpace(working.Digits(v) + " " + code)
}

// whence says where a number is from.
func (t *explanationText) whence(in working.Input) string {
	var from []string
	if in.Figure != "" {
		from = append(from, "see "+spokenFigure(in.Figure))
	}
	if in.Record.Kind != "" {
		from = append(from, t.record(in.Record))
	}
	if in.Source != "" {
		from = append(from, in.Source)
	}
	if in.Status != working.Recorded && in.Status != working.Computed {
		from = append(from, string(in.Status))
	}
	if len(from) == 0 {
		return ""
	}
	return " (" + strings.Join(from, "; ") + ")"
}

// record is a record by its kind and day.
func (t *explanationText) record(r working.Record) string {
	if r.At.IsZero() {
		return r.Kind
	}
	return fmt.Sprintf("%s of %s", r.Kind, spokenDay(r.At, t.zone))
}
