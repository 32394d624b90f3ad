package balance

import (
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

func grams(m unit.Mass) unit.Figure { return unit.Of(m.Grams(), "g", "book") }

func given(name string, m unit.Mass) working.Input {
	return working.Of(name, m.Grams(), "g", working.Record{})
}

// Working says how what lies of a material at the end came about. The name is
// /end_g.
func (x Pile) Working() working.Figure {
	return working.Figure{Name: "/end_g", Formula: working.Pile, Result: grams(x.End), Inputs: []working.Input{
		given("start", x.Start), given("received", x.Received), given("rejected", x.Rejected), given("residue", x.Residue), given("fed", x.Fed),
	}}
}

// Workings says how what is in store at the end came about, dry and wet. Names
// are /end/dry_g and /end/wet_g.
func (s Store) Workings() []working.Figure {
	dry := working.Figure{Name: "/end/dry_g", Formula: working.Total, Result: grams(s.End.Dry)}
	wet := working.Figure{Name: "/end/wet_g", Formula: working.Total, Result: grams(s.End.Wet)}
	add := func(what string, a Amount) {
		dry.Rows = append(dry.Rows, working.Row{Group: what, Inputs: []working.Input{given("amount", a.Dry)}})
		wet.Rows = append(wet.Rows, working.Row{Group: what, Inputs: []working.Input{given("amount", a.Wet)}})
	}
	add("start", s.Start)
	for _, f := range In() {
		add(string(f), s.Flows[f])
	}
	for _, f := range Out() {
		add("less "+string(f), Amount{}.minus(s.Flows[f]))
	}
	wet.Rows = append(wet.Rows, working.Row{Group: "water", Inputs: []working.Input{given("amount", s.Water)}})
	return []working.Figure{dry, wet}
}

// LostWorking says how what was lost in rework came about. The name is
// /lost_dry_g.
func (s Store) LostWorking() working.Figure {
	return working.Figure{Name: "/lost_dry_g", Formula: working.Lost, Result: grams(s.Lost()), Inputs: []working.Input{
		given("reworked_out", s.Flows[ReworkedOut].Dry), given("reworked_in", s.Flows[ReworkedIn].Dry),
	}}
}

// MoistureWorking says how the moisture of a batch came about; none of an empty
// one. The name is /moisture_pct.
func (c Contents) MoistureWorking() working.Figure {
	out := working.Figure{
		Name: "/moisture_pct", Formula: working.Moisture, Result: unit.None("%", "empty"),
		Inputs: []working.Input{given("wet", c.Wet), given("dry", c.Dry)},
	}
	if m, known := c.Moisture(); known {
		out.Result = unit.Of(float64(m), "%", "book")
	}
	return out
}
