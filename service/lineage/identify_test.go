package lineage_test

import (
	"maps"
	"reflect"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/lineage"

	"pgregory.net/rapid"
)

var looked = time.Date(2026, 1, 1, 12, 0, 0, 0, time.UTC)

// chain is lots that open a day apart, each from the parents named; "" is an
// origin.
func chain(parents ...[]string) []lineage.Lot {
	var out []lineage.Lot
	for i, from := range parents {
		l := lineage.Lot{
			ID: string(rune('a' + i)), Place: lineage.Place{Bin: string(rune('A' + i)), Species: "booked"},
			OpenedAt: looked.AddDate(0, 0, i), OpenedSeq: int64(i), Mass: 10,
		}
		for _, p := range from {
			parent := lineage.Parent{Lot: p, Mass: 5}
			if p == "" {
				parent.Origin = "o"
			}
			l.Parents = append(l.Parents, parent)
		}
		out = append(out, l)
	}
	return out
}

// said is a statement on a lot after so many days.
func said(id, lot, species string, days int) lineage.Statement {
	return lineage.Statement{ID: id, Lot: lot, Species: species, At: looked.AddDate(0, 0, days), Seq: int64(days)}
}

func TestAnIdentificationFlowsDownstreamUnlessThereIsALaterOne(t *testing.T) {
	t.Parallel()
	line := chain([]string{""}, []string{"a"}, []string{"b"})
	fork := chain([]string{""}, []string{""}, []string{"a", "b"})
	gone := chain([]string{""}, []string{"a"})
	gone[0].Withdrawn, gone[0].Successor = true, "b"
	for name, tt := range map[string]struct {
		lots       []lineage.Lot
		statements []lineage.Statement
		want       map[string][]string
	}{
		"nobody looked":              {line, nil, map[string][]string{}},
		"downstream, not upstream":   {line, []lineage.Statement{said("1", "b", "x", 9)}, map[string][]string{"b": {"x"}, "c": {"x"}}},
		"the latest of one lot":      {line, []lineage.Statement{said("2", "a", "y", 9), said("1", "a", "x", 8)}, map[string][]string{"a": {"y"}, "b": {"y"}, "c": {"y"}}},
		"a later one of its own":     {line, []lineage.Statement{said("1", "a", "x", 8), said("2", "c", "y", 9)}, map[string][]string{"a": {"x"}, "b": {"x"}, "c": {"y"}}},
		"a later one of its parent":  {line, []lineage.Statement{said("1", "a", "x", 9), said("2", "c", "y", 8)}, map[string][]string{"a": {"x"}, "b": {"x"}, "c": {"x"}}},
		"parents agree":              {fork, []lineage.Statement{said("1", "a", "x", 8), said("2", "b", "x", 9)}, map[string][]string{"a": {"x"}, "b": {"x"}, "c": {"x"}}},
		"parents differ":             {fork, []lineage.Statement{said("1", "a", "x", 8), said("2", "b", "y", 9)}, map[string][]string{"a": {"x"}, "b": {"y"}, "c": {"x", "y"}}},
		"one differs from its book":  {fork, []lineage.Statement{said("1", "a", "x", 8)}, map[string][]string{"a": {"x"}, "c": {"booked", "x"}}},
		"one is as booked":           {fork, []lineage.Statement{said("1", "a", "booked", 8)}, map[string][]string{"a": {"booked"}}},
		"told apart afterwards":      {fork, []lineage.Statement{said("1", "a", "x", 8), said("2", "c", "x", 9)}, map[string][]string{"a": {"x"}, "c": {"x"}}},
		"on a lot that is withdrawn": {gone, []lineage.Statement{said("1", "a", "x", 8)}, map[string][]string{"b": {"x"}}},
		"on a lot that isn't there":  {line, []lineage.Statement{said("1", "z", "x", 8)}, map[string][]string{}},
	} {
		got := map[string][]string{}
		for id, found := range lineage.Identify(tt.lots, tt.statements) {
			got[id] = found.Species
		}
		if !reflect.DeepEqual(got, tt.want) {
			t.Errorf("%s: %v, want %v", name, got, tt.want)
		}
	}
}

func TestAnIdentityNamesTheStatementsItRestsOnAndTheLatestMoment(t *testing.T) {
	t.Parallel()
	fork := chain([]string{""}, []string{""}, []string{"b", "a"})
	got := lineage.Identify(fork, []lineage.Statement{said("2", "b", "y", 9), said("1", "a", "x", 8)})["c"]
	if want := (lineage.Identity{Species: []string{"x", "y"}, At: looked.AddDate(0, 0, 9), Seq: 9, Statements: []string{"1", "2"}}); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestTheOrderOfLotsAndStatementsMakesNoDifferenceToIdentities(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var parents [][]string
		for i := range rapid.IntRange(1, 8).Draw(t, "lots") {
			from := []string{""}
			if i > 0 {
				from = rapid.SliceOfNDistinct(rapid.StringMatching("[a-"+string(rune('a'+i-1))+"]"), 1, min(i, 2), rapid.ID[string]).Draw(t, "parents")
			}
			parents = append(parents, from)
		}
		lots := chain(parents...)
		var statements []lineage.Statement
		for i := range rapid.IntRange(0, 5).Draw(t, "statements") {
			lot := rapid.SampledFrom(lots).Draw(t, "lot").ID
			statements = append(statements, said(string(rune('1'+i)), lot, rapid.SampledFrom([]string{"x", "y", "booked"}).Draw(t, "species"), 10+i))
		}
		want := lineage.Identify(lots, statements)
		slices.Reverse(lots)
		slices.Reverse(statements)
		if got := lineage.Identify(lots, statements); !reflect.DeepEqual(got, want) {
			t.Fatalf("%v, then %v", want, got)
		}
		for _, s := range statements {
			if _, ok := want[s.Lot]; !ok {
				t.Fatalf("lot %s has a statement and no identity: %v", s.Lot, slices.Sorted(maps.Keys(want)))
			}
		}
	})
}
