package yields

import (
	"strconv"
	"strings"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// Workings says how the sums and the yields of the window came about: names are
// /yields/wet, /sums/feed_g, and so on.
func (w Window) Workings() []working.Figure {
	sums := w.sums()
	return append(w.Sums.Workings("/sums"), sums...)
}

// Workings says how the yields Of(a) came about, for sums whose figures are
// called as at says: at/feed_g, at/bedding_g, at/castings_g in g, at/feed_dry,
// at/bedding_dry, at/castings_dry in kg. Names are /yields/wet, and so on.
func (a Sums) Workings(at string) []working.Figure {
	of := func(what string, value float64, code string) working.Input {
		return working.Input{Name: what, Value: value, Unit: code, Status: working.Computed}
	}
	wet := func(name, member string, m unit.Mass) working.Input {
		in := of(name, m.Grams(), "g")
		in.Figure = at + "/" + member
		return in
	}
	dry := func(name, member string, d Dry) working.Input {
		in := of(name, d.Mass.Kilograms(), "kg")
		in.Figure = at + "/" + member
		return in
	}
	ratio := func(name string, f working.ID, result unit.Figure, inputs ...working.Input) working.Figure {
		return working.Figure{Name: "/yields/" + name, Formula: f, Result: result, Inputs: inputs}
	}
	y := Of(a)
	castings, feed, bedding := wet("castings", "castings_g", a.CastingsWet), wet("feed", "feed_g", a.FeedWet), wet("bedding", "bedding_g", a.BeddingWet)
	out := []working.Figure{
		ratio("wet", working.Yield, y.Wet, castings, feed),
		ratio("wet_with_bedding", working.YieldBedding, y.WetWithBedding, castings, feed, bedding),
	}
	castings, feed, bedding = dry("castings", "castings_dry", a.CastingsDry), dry("feed", "feed_dry", a.FeedDry), dry("bedding", "bedding_dry", a.BeddingDry)
	return append(out,
		ratio("dry", working.Yield, y.Dry, castings, feed),
		ratio("dry_with_bedding", working.YieldBedding, y.DryWithBedding, castings, feed, bedding))
}

// sums says how the sums of the window came about.
func (w Window) sums() []working.Figure {
	const recorded = "recorded"
	sum := func(name string, f working.ID, result unit.Figure, row func(record) (working.Row, bool)) working.Figure {
		out := working.Figure{Name: "/sums/" + name, Formula: f, Result: result}
		for _, r := range w.counted {
			if x, counts := row(r); counts {
				out.Rows = append(out.Rows, x)
			}
		}
		return out
	}
	wet := func(bedding bool) func(record) (working.Row, bool) {
		return func(r record) (working.Row, bool) {
			return FedRow(r.feed, "amount", "g"), !r.harvest && r.feed.Bedding == bedding
		}
	}
	dry := func(bedding bool) func(record) (working.Row, bool) {
		return func(r record) (working.Row, bool) {
			return r.feed.dryRow(), !r.harvest && r.feed.Bedding == bedding
		}
	}
	taken := func(code string, dried bool) func(record) (working.Row, bool) {
		return func(r record) (working.Row, bool) { return r.taken.row(code, dried), r.harvest }
	}
	s := w.Sums
	return []working.Figure{
		sum("feed_g", working.Total, unit.Of(s.FeedWet.Grams(), "g", recorded), wet(false)),
		sum("bedding_g", working.Total, unit.Of(s.BeddingWet.Grams(), "g", recorded), wet(true)),
		sum("castings_g", working.CastingsTotal, unit.Of(s.CastingsWet.Grams(), "g", recorded), taken("g", false)),
		sum("feed_dry", working.DryTotal, s.FeedDry.Figure(), dry(false)),
		sum("bedding_dry", working.DryTotal, s.BeddingDry.Figure(), dry(true)),
		sum("castings_dry", working.CastingsDry, s.CastingsDry.Figure(), taken("kg", true)),
	}
}

// FedRow is the row of a fed material in a sum of masses, which calls it by name.
func FedRow(f Feed, name, code string) working.Row {
	fed := working.Record{Kind: "feeding", ID: f.ID, At: f.At}
	return working.Row{Record: fed, Group: fed.Kind, Inputs: []working.Input{working.Of(name, in(code, f.Wet), code, fed)}}
}

func (f Feed) dryRow() working.Row {
	row := FedRow(f, "wet", "kg")
	row.Group += ", moisture " + f.Moisture.Basis
	row.Inputs = append(row.Inputs, f.Moisture.Input(row.Record))
	return row
}

func (h Harvest) row(code string, dried bool) working.Row {
	r := working.Record{Kind: "harvest", ID: h.ID, At: h.At}
	row := working.Row{Record: r, Group: r.Kind, Inputs: []working.Input{
		working.Of("taken", in(code, h.Wet), code, r), working.Of("put_back", in(code, h.PutBack), code, r),
	}}
	if dried {
		row.Group += ", moisture " + h.Moisture.Basis
		row.Inputs = append(row.Inputs, h.Moisture.Input(r))
	}
	return row
}

func in(code string, m unit.Mass) float64 {
	if code == "kg" {
		return m.Kilograms()
	}
	return m.Grams()
}

// Input is the moisture as it goes into a formula, with how it is known.
func (m Moisture) Input(r working.Record) working.Input {
	out := working.Of("moisture", float64(m.Percent), "%", r)
	switch m.Basis {
	case Material:
		out.Source, out.Record = "the figure that the club keeps for its material", working.Record{}
	case Default:
		out.Source, out.Status, out.Record = "custom, for castings that nobody measured", working.Practice, working.Record{}
	}
	return out
}

// Workings says how the yields over several windows came about, and the windows
// themselves, which are called as at says, with their number: at/0.
func Workings(ws []Window, at string) []working.Figure {
	var all Sums
	for _, w := range ws {
		all = all.Plus(w.Sums)
	}
	out := all.Workings("/yields#sums")
	if len(ws) == 0 {
		for i := range out {
			out[i].Result = Ratio(nil).Wet
		}
		return out
	}
	out = append(out, SumsWorkings(ws, all, "/yields#sums")...)
	for i, w := range ws {
		out = append(out, working.Under(at+"/"+strconv.Itoa(i), w.Workings())...)
	}
	return out
}

// SumsWorkings says how the sums of all windows came about, which are called as
// for Sums.Workings.
func SumsWorkings(ws []Window, all Sums, at string) []working.Figure {
	out := (Window{Sums: all}).sums()
	for i := range out {
		out[i].Name, out[i].Formula = at+strings.TrimPrefix(out[i].Name, "/sums"), working.Total
	}
	for _, w := range ws {
		for i, f := range w.sums() {
			in := working.From("amount", f)
			in.Figure, in.Source = "", "between the full harvest before and this one"
			out[i].Rows = append(out[i].Rows, working.Row{
				Record: working.Record{Kind: "harvest", ID: w.Closing, At: w.To}, Group: "window", Inputs: []working.Input{in},
			})
		}
	}
	return out
}
