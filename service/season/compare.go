package season

import (
	"math"

	"lumbricary.example/service/unit"
)

// Comparison sets the total of a period beside that of an earlier one.
type Comparison struct {
	Code    string // of the earlier period
	Changes []Change
}

// Change is one figure of the total, now and before.
type Change struct {
	Name   string // as "fed-wet"
	Now    unit.Figure
	Before unit.Figure
	By     unit.Figure // Now − Before
	Ratio  unit.Figure // Now / Before
}

// Compare returns how the totals of now differ from those of before. There is
// no change where either figure is missing (its reason), nor anywhere when
// nothing was recorded in the earlier period ("no-records-before"); and no ratio
// to nothing ("nothing-before").
func Compare(now, before Report) Comparison {
	c := Comparison{Code: before.Period.Code}
	was := before.figures()
	for i, f := range now.figures() {
		if before.Empty {
			was[i].figure = unit.None(f.figure.Unit, "no-records-before")
		}
		c.Changes = append(c.Changes, Change{f.name, f.figure, was[i].figure, change(f.figure, was[i].figure), ratio(f.figure, was[i].figure)})
	}
	return c
}

type named struct {
	name   string
	figure unit.Figure
}

// figures lists what is compared.
func (r Report) figures() []named {
	const recorded = "recorded"
	kg := func(m unit.Mass) unit.Figure { return unit.Of(m.Kilograms(), "kg", recorded) }
	l, in := r.Total, r.Received
	intake := func(m unit.Mass) unit.Figure {
		if len(in.ByMaterial) == 0 {
			return unit.None("kg", "nothing-received")
		}
		return kg(m)
	}
	return []named{
		{"bins", unit.Of(float64(l.Bins), "{bins}", recorded)},
		{"received-wet", intake(in.Total.Net)},
		{"rejected-wet", intake(in.Total.Rejected)},
		{"diverted-wet", intake(in.Total.Diverted())},
		{"fed-wet", kg(l.Fed.FeedWet)},
		{"fed-dry", l.FedDry()},
		{"bedding-wet", kg(l.Fed.BeddingWet)},
		{"castings-wet", kg(l.Fed.CastingsWet)},
		{"castings-dry", l.CastingsDry()},
		{"yield-wet", l.Yields.Wet},
		{"yield-dry", l.Yields.Dry},
		{"yield-wet-with-bedding", l.Yields.WetWithBedding},
		{"yield-dry-with-bedding", l.Yields.DryWithBedding},
		{"rate", l.Rate.Figure},
		{"stock-end", kg(l.Stock.End)},
	}
}

// change returns a − b, rounded to 10⁻⁹ so that kilograms differ by whole
// milligrams. Where both have an interval, the distances from the difference
// to its limits are √((a − aₗ)² + (bₕ − b)²) and √((aₕ − a)² + (b − bₗ)²), the
// errors being independent.
func change(a, b unit.Figure) unit.Figure {
	const basis = "difference"
	switch {
	case !b.Known:
		return unit.None(a.Unit, b.Reason)
	case !a.Known:
		return unit.None(a.Unit, a.Reason)
	}
	d := math.Round((a.Value-b.Value)*1e9) / 1e9
	if a.Level == 0 || a.Level != b.Level {
		return unit.Of(d, a.Unit, basis)
	}
	down := math.Hypot(a.Value-a.Low, b.High-b.Value)
	up := math.Hypot(a.High-a.Value, b.Value-b.Low)
	return unit.Of(d, a.Unit, basis).Within(d-down, d+up, a.Level)
}

// ratio returns a / b.
func ratio(a, b unit.Figure) unit.Figure {
	const one = "1"
	switch {
	case !b.Known:
		return unit.None(one, b.Reason)
	case !a.Known:
		return unit.None(one, a.Reason)
	case b.Value == 0:
		return unit.None(one, "nothing-before")
	}
	return unit.Of(a.Value/b.Value, one, "ratio")
}
