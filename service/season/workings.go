package season

import (
	"fmt"
	"math"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
	"lumbricary.example/service/yields"
)

// binTrail is what one bin brings into a line.
type binTrail struct {
	bin     string
	fed     yields.Sums
	weighed unit.Mass
	end     unit.Mass
	windows []yields.Window
	rate    rateSum // its Bins is 0 where there is none
}

// Workings says how the figures of the report came about. Names are those of the
// answer, as /total/yields/wet and /bins/0/rate.
func (r Report) Workings() []working.Figure {
	out := working.Under("/total", r.Total.Workings())
	for _, x := range []struct {
		at    string
		lines []Line
	}{{"/members", r.ByMember}, {"/sites", r.BySite}, {"/bins", r.ByBin}, {"/species", r.BySpecies}} {
		for i, l := range x.lines {
			out = append(out, working.Under(fmt.Sprintf("%s/%d", x.at, i), l.Workings())...)
		}
	}
	for i, m := range r.ByMaterial {
		out = append(out, shareWorking(fmt.Sprintf("/materials/%d/weighed", i), m.Weighed, m.Fed.FeedWet, m.WeighedShare()))
	}
	out = append(out, working.Under("/received/total", r.Received.Total.Workings())...)
	for i, x := range r.Received.ByMaterial {
		out = append(out, working.Under(fmt.Sprintf("/received/materials/%d", i), x.Workings())...)
	}
	for i, x := range r.Received.ByMember {
		out = append(out, working.Under(fmt.Sprintf("/received/members/%d", i), x.Workings())...)
	}
	if r.Before != nil {
		for i, c := range r.Before.Changes {
			out = append(out, working.Under(fmt.Sprintf("/changes/%d", i), c.workings())...)
		}
	}
	return out
}

// Workings says how the figures of the line came about. Names are /yields/wet,
// /rate, /weighed, /sums/feed_g, and so on.
func (l Line) Workings() []working.Figure {
	out := append(l.yields(), l.rate(), shareWorking("/weighed", l.Weighed, l.Fed.FeedWet, l.WeighedShare()))
	sum := func(name string, result unit.Figure, of func(binTrail) float64) {
		f := working.Figure{Name: name, Formula: working.Total, Result: result}
		for _, b := range l.trail {
			f.Rows = append(f.Rows, b.row(working.Input{
				Name: "amount", Value: of(b), Unit: result.Unit, Status: working.Recorded, Source: "the records of the bin in the period",
			}))
		}
		out = append(out, f)
	}
	wet := func(name string, all unit.Mass, of func(yields.Sums) unit.Mass) {
		sum("/sums/"+name, unit.Of(all.Grams(), "g", "recorded"), func(b binTrail) float64 { return of(b.fed).Grams() })
	}
	dry := func(name string, all yields.Dry, of func(yields.Sums) yields.Dry) {
		sum("/sums/"+name, all.Figure(), func(b binTrail) float64 { return of(b.fed).Mass.Kilograms() })
	}
	wet("feed_g", l.Fed.FeedWet, func(s yields.Sums) unit.Mass { return s.FeedWet })
	wet("bedding_g", l.Fed.BeddingWet, func(s yields.Sums) unit.Mass { return s.BeddingWet })
	wet("castings_g", l.Fed.CastingsWet, func(s yields.Sums) unit.Mass { return s.CastingsWet })
	dry("feed_dry", l.Fed.FeedDry, func(s yields.Sums) yields.Dry { return s.FeedDry })
	dry("bedding_dry", l.Fed.BeddingDry, func(s yields.Sums) yields.Dry { return s.BeddingDry })
	dry("castings_dry", l.Fed.CastingsDry, func(s yields.Sums) yields.Dry { return s.CastingsDry })
	sum("/end_g", unit.Of(l.Stock.End.Grams(), "g", "book"), func(b binTrail) float64 { return b.end.Grams() })
	return out
}

func (b binTrail) row(inputs ...working.Input) working.Row {
	return working.Row{Record: working.Record{Kind: "bin", ID: b.bin}, Group: "bin", Inputs: inputs}
}

// yields says how the yields of the line came about, and the sums of the windows
// they are a ratio of.
func (l Line) yields() []working.Figure {
	out := l.Closed.Workings("/window_sums")
	results := []unit.Figure{l.Yields.Wet, l.Yields.WetWithBedding, l.Yields.Dry, l.Yields.DryWithBedding}
	for i, f := range results {
		out[i].Result = f
	}
	var windows []yields.Window
	for _, b := range l.trail {
		windows = append(windows, b.windows...)
	}
	return append(out, yields.SumsWorkings(windows, l.Closed, "/window_sums")...)
}

// rate says how the rate came about, from the bins that have one.
func (l Line) rate() working.Figure {
	out := working.Figure{Name: "/rate", Formula: working.SumRate, Result: l.Rate.Figure}
	if l.Rate.Processed == 0 {
		out.Formula = working.SumRateNone
	}
	for _, b := range l.trail {
		if b.rate.Bins == 0 {
			continue
		}
		of := func(name string, v float64, code string) working.Input {
			return working.Input{Name: name, Value: v, Unit: code, Status: working.Computed, Source: "the rate of the bin in the period"}
		}
		p, w := b.rate.Rate.Processed.Kilograms(), b.rate.Rate.WormDays.KilogramDays()
		out.Rows = append(out.Rows, b.row(
			of("processed", p, "kg"), of("worm_days", w, "kg.d"),
			of("processed_width", math.Sqrt(b.rate.processed), "kg"), of("worm_days_width", math.Sqrt(b.rate.wormDays), "kg.d"),
		))
	}
	return out
}

func shareWorking(name string, part, whole unit.Mass, result unit.Figure) working.Figure {
	of := func(name string, m unit.Mass) working.Input {
		return working.Of(name, m.Grams(), "g", working.Record{})
	}
	return working.Figure{Name: name, Formula: working.Share, Result: result, Inputs: []working.Input{of("part", part), of("whole", whole)}}
}

// Workings says how what was diverted, and the share that was weighed, came about.
// Names are /diverted_g and /weighed.
func (i Intake) Workings() []working.Figure {
	of := func(name string, m unit.Mass) working.Input {
		return working.Of(name, m.Grams(), "g", working.Record{})
	}
	diverted := working.Figure{
		Name: "/diverted_g", Formula: working.Diverted, Result: unit.Of(i.Diverted().Grams(), "g", "recorded"),
		Inputs: []working.Input{of("net", i.Net), of("rejected", i.Rejected), of("residue", i.Residue)},
	}
	return []working.Figure{diverted, shareWorking("/weighed", i.Weighed, i.Net, i.WeighedShare())}
}

// workings says how the change and the ratio came about. Names are /change and
// /ratio.
func (c Change) workings() []working.Figure {
	of := func(name string, v float64) working.Input {
		return working.Input{Name: name, Value: v, Unit: c.By.Unit, Status: working.Computed}
	}
	return []working.Figure{
		{Name: "/change", Formula: working.Difference, Result: c.By, Inputs: []working.Input{
			of("now", c.Now.Value), of("now_low", c.Now.Low), of("now_high", c.Now.High),
			of("before", c.Before.Value), of("before_low", c.Before.Low), of("before_high", c.Before.High),
		}},
		{Name: "/ratio", Formula: working.Ratio, Result: c.Ratio, Inputs: []working.Input{of("now", c.Now.Value), of("before", c.Before.Value)}},
	}
}

// Working says how the emissions avoided came about. The name is /avoided.
func (e Emissions) Working(f Factors) working.Figure {
	return working.Figure{Name: "/avoided", Formula: working.Avoided, Result: e.Avoided, Inputs: []working.Input{
		working.Of("food", e.Food.Kilograms(), "kg", working.Record{}),
		working.Of("own", e.Own.Kilograms(), "kg", working.Record{}),
		working.Given("landfilled", f.Landfilled, "t/short_ton", working.Copied, f.Basis),
		working.Given("composted", f.Composted, "t/short_ton", working.Copied, f.Basis),
	}}
}
