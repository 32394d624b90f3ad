package lineage

import (
	"strconv"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

const basisMixed = "lineage"

// Workings says how the shares of a lot came about from what went into it; of
// holds the shares of its parent lots by id. Names are /shares/0/share, and so on.
func (l Lot) Workings(of map[string]Shares) []working.Figure {
	out := make([]working.Figure, 0, len(l.Shares))
	for i, s := range l.Shares {
		f := working.Figure{
			Name: "/shares/" + strconv.Itoa(i) + "/share", Formula: working.Mix,
			Result: unit.Of(float64(s.Parts)/One, "1", basisMixed),
		}
		for _, p := range l.Parents {
			r := working.Record{Kind: "lot", ID: p.Lot}
			shares := of[p.Lot]
			if p.Lot == "" {
				r, shares = working.Record{Kind: "origin", ID: p.Origin}, Pure(p.Origin)
			}
			f.Rows = append(f.Rows, working.Row{Record: r, Group: r.Kind, Inputs: []working.Input{
				working.Of("mass", p.Mass.Grams(), "g", working.Record{Kind: "movement", ID: l.OpenedBy, At: l.OpenedAt}),
				{Name: "share", Value: shares.of(s.Origin), Unit: "1", Status: working.Computed},
			}})
		}
		out = append(out, f)
	}
	return out
}

// of is the share of an origin, of 1.
func (s Shares) of(origin string) float64 {
	for _, x := range s {
		if x.Origin == origin {
			return float64(x.Parts) / One
		}
	}
	return 0
}

// Sources says how the effective number of sources came about. The name is
// /effective_sources.
func (s Shares) Sources() working.Figure {
	return working.Figure{
		Name: "/effective_sources", Formula: working.Sources, Rows: s.rows(func(string) bool { return true }),
		Result: unit.Of(EffectiveSources(s), "1", basisMixed),
	}
}

// Part says how the share came about that some of the origins have together, as
// a culture's, or what nobody knows.
func (s Shares) Part(name string, takes func(origin string) bool) working.Figure {
	var parts int64
	for _, x := range s {
		if takes(x.Origin) {
			parts += x.Parts
		}
	}
	return working.Figure{
		Name: name, Formula: working.CultureShare, Rows: s.rows(takes), Result: unit.Of(float64(parts)/One, "1", basisMixed),
	}
}

func (s Shares) rows(takes func(string) bool) []working.Row {
	var out []working.Row
	for _, x := range s {
		if takes(x.Origin) {
			out = append(out, working.Row{
				Record: working.Record{Kind: "origin", ID: x.Origin}, Group: "origin",
				Inputs: []working.Input{{Name: "share", Value: float64(x.Parts) / One, Unit: "1", Status: working.Computed}},
			})
		}
	}
	return out
}

// Book says how a book came about from its lines that stand; kinds names the kind
// of each entry, by which they are grouped.
func Book(name string, lines []journal.Line, kinds map[string]string) working.Figure {
	out := working.Figure{Name: name, Formula: working.Total}
	var book unit.Mass
	for _, l := range lines {
		if l.Void {
			continue
		}
		book += l.Amount
		r := working.Record{Kind: "movement", ID: l.Entry, At: l.Effective}
		out.Rows = append(out.Rows, working.Row{Record: r, Group: kinds[l.Entry], Inputs: []working.Input{working.Of("amount", l.Amount.Grams(), "g", r)}})
	}
	out.Result = unit.Of(book.Grams(), "g", "book")
	return out
}
