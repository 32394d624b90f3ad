package rates

import (
	"math"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// trail is what a result was worked out from.
type trail struct {
	history history
	items   []item
	feed    processed
	worms   wormDays
	days    float64 // between the ends
	surface unit.Area
}

// Workings says how the result came about. Names are /rate, /rate_per_area,
// /worm_days, /feed_wet, /feed_dry, and so on.
func (r Result) Workings() []working.Figure {
	t := r.trail
	worms, wormsErr := t.worms.workings(r.WormDays)
	out := []working.Figure{t.rate(r.Rate, worms), t.perArea(r.RatePerArea), worms, wormsErr}
	for _, x := range []struct {
		name   string
		result unit.Figure
		view   view
	}{
		{feedWet, r.ProcessedWet, view{onlyFeed, wetMass}},
		{"/feed_dry", r.ProcessedDry, view{onlyFeed, dryMass}},
		{"/bedding_wet", r.BeddingWet, view{onlyBedding, wetMass}},
		{"/bedding_dry", r.BeddingDry, view{onlyBedding, dryMass}},
		{"/together_wet", r.TogetherWet, view{everything, wetMass}},
		{"/together_dry", r.TogetherDry, view{everything, dryMass}},
	} {
		out = append(out, t.processed(x.name, x.result, processedOf(t.items, x.view))...)
	}
	return out
}

const (
	feedWet  = "/feed_wet"
	wormName = "/worm_days"
	errorOf  = "#error" // the standard error of the figure that it follows
)

func errorInput(name, figure, code string, variance float64) working.Input {
	return working.Input{Name: name, Value: math.Sqrt(variance), Unit: code, Status: working.Computed, Figure: figure + errorOf}
}

func (t trail) fed() (processed, err working.Input) {
	processed = working.Input{Name: "processed", Value: t.feed.value, Unit: "kg", Status: working.Computed, Figure: feedWet}
	return processed, errorInput("processed_error", feedWet, "kg", t.feed.variance)
}

func (t trail) rate(result unit.Figure, worms working.Figure) working.Figure {
	processed, err := t.fed()
	return working.Figure{Name: "/rate", Formula: seen(working.Rate, working.RateNone, t.feed.value), Result: result, Inputs: []working.Input{
		processed, working.From("worm_days", worms), err, errorInput("worm_days_error", wormName, "kg.d", t.worms.variance),
	}}
}

func (t trail) perArea(result unit.Figure) working.Figure {
	processed, err := t.fed()
	surface := working.Of("surface", float64(t.surface), "m2", working.Record{})
	between := working.Input{Name: "days", Value: t.days, Unit: "d", Status: working.Computed, Source: "from the first look to the last"}
	return working.Figure{
		Name: "/rate_per_area", Formula: seen(working.RatePerArea, working.PerAreaNone, t.feed.value), Result: result,
		Inputs: []working.Input{processed, surface, between, err},
	}
}

// seen chooses the formula for a value, of which the limits differ when it is 0.
func seen(some, none working.ID, value float64) working.ID {
	if value == 0 {
		return none
	}
	return some
}

// processed says how what disappeared came about, and its standard error.
func (t trail) processed(name string, result unit.Figure, p processed) []working.Figure {
	sum := working.Figure{Name: name, Formula: seen(working.Processed, working.ProcessedNone, p.value), Result: result}
	sum.Inputs = []working.Input{errorInput("error", name, "kg", p.variance)}
	err := working.Step(name+errorOf, working.ProcessedError, math.Sqrt(p.variance), "kg")
	if !result.Known {
		err.Result = unit.None("kg", result.Reason)
	}
	for _, l := range p.lost {
		fed := working.Record{Kind: "feeding", ID: l.ID, At: l.At}
		sum.Rows = append(sum.Rows, working.Row{Record: fed, Group: fed.Kind, Inputs: []working.Input{
			working.Of("mass", l.kg, "kg", fed), t.left("left_before", l.start), t.left("left_after", l.end),
		}})
		err.Rows = append(err.Rows, working.Row{Record: fed, Group: fed.Kind, Inputs: []working.Input{
			{Name: "gone", Value: l.gone, Unit: "kg", Status: working.Computed},
		}})
	}
	for _, r := range p.seen.of {
		if r.seen == (eye{}) {
			continue // nobody looked: all of it was there
		}
		left := t.left("left", r.share)
		err.Rows = append(err.Rows, working.Row{Record: left.Record, Group: left.Record.Kind, Inputs: []working.Input{
			left, {Name: "judged", Value: r.kg, Unit: "kg", Status: working.Computed},
		}})
	}
	return []working.Figure{sum, err}
}

// left is a share in percent, with the check that saw it.
func (t trail) left(name string, s share) working.Input {
	if s.seen == (eye{}) {
		return working.Input{Name: name, Value: 100 * s.left, Unit: "%", Status: working.Computed, Source: "all of it"}
	}
	c := t.history[s.seen.check-1]
	return working.Of(name, 100*s.left, "%", working.Record{Kind: "check", ID: c.Check, At: c.At})
}

// workings says how the worm-days came about, and their standard error.
func (w wormDays) workings(result unit.Figure) (sum, err working.Figure) {
	sum = working.Figure{Name: wormName, Formula: working.WormDays, Result: result}
	sum.Inputs = []working.Input{errorInput("error", wormName, "kg.d", w.variance)}
	err = working.Step(wormName+errorOf, working.WormDaysError, math.Sqrt(w.variance), "kg.d")
	if !result.Known {
		err.Result = unit.None("kg.d", result.Reason)
	}
	for _, u := range w.uses {
		r := working.Record{Kind: u.kind, ID: u.id, At: u.at}
		counts := working.Input{Name: "days", Value: u.days, Unit: "d", Status: working.Computed}
		sum.Rows = append(sum.Rows, working.Row{Record: r, Group: r.Kind, Inputs: []working.Input{counts, working.Of("mass", u.kg, "kg", r)}})
		err.Rows = append(err.Rows, working.Row{Record: r, Group: r.Kind, Inputs: []working.Input{
			counts, {Name: "error", Value: math.Abs(u.err), Unit: "kg", Status: working.Practice, Record: r},
		}})
	}
	for _, d := range w.drifted {
		err.Rows = append(err.Rows, working.Row{Group: "days since the last known stock", Inputs: []working.Input{
			{Name: "mass", Value: d.kg, Unit: "kg", Status: working.Computed},
			{Name: "from", Value: d.from, Unit: "d", Status: working.Computed},
			{Name: "to", Value: d.to, Unit: "d", Status: working.Computed},
			{Name: "before", Value: d.before, Unit: "kg.d2", Status: working.Computed},
		}})
	}
	return sum, err
}

// Workings says how the density of so much stock on a surface came about; stock
// says what the stock was worked out as. The name is /density.
func Workings(stock working.Input, surface unit.Area, density unit.Figure) working.Figure {
	stock.Name = "stock"
	return working.Figure{
		Name: "/density", Formula: working.Density, Result: density,
		Inputs: []working.Input{stock, working.Of("surface", float64(surface), "m2", working.Record{})},
	}
}
