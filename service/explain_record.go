package service

import (
	"context"
	"fmt"
	"slices"
	"time"

	"lumbricary.example/service/census"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
	"lumbricary.example/service/yields"
)

// ExplainMovement says how the masses of a movement's lines came about from what
// was typed. Errors: ErrClubNotFound, ErrForbidden.
func (s Reports) ExplainMovement(ctx context.Context, a Actor, m Movement) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]working.Figure, error) { return w.linesWorking("/lines", m.Lines, m.FromBatch, m.At) })
}

// ExplainHarvest says how the dry matter of a harvest and the masses of its worms
// came about. Errors: ErrClubNotFound, ErrForbidden.
func (s Reports) ExplainHarvest(ctx context.Context, a Actor, h Harvest) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]working.Figure, error) {
		lines := slices.Clone(h.Worms)
		for i := range lines {
			lines[i].FromBin = h.Bin
		}
		out, err := w.linesWorking("/worms", lines, "", h.At)
		if h.Wet > 0 {
			out = append(out, dryWorking("/dry_g", h.Wet, castingsMoisture(h), h.Dry))
		}
		return out, err
	})
}

// dryWorking says how a booked dry mass came about.
func dryWorking(name string, wet unit.Mass, m yields.Moisture, dry unit.Mass) working.Figure {
	return working.Figure{
		Name: name, Formula: working.Dry, Result: unit.Of(dry.Grams(), "g", m.Basis+"-moisture"),
		Inputs: []working.Input{working.Of("wet", wet.Grams(), "g", working.Record{}), m.Input(working.Record{})},
	}.Checked(rounding)
}

// rounding is that of a booked mass, in g.
const rounding = 0.001

// linesWorking says how the masses of lines came about.
func (w *work) linesWorking(at string, lines []Line, batch BatchID, moment Moment) ([]working.Figure, error) {
	var out []working.Figure
	taken := map[BinID]map[SpeciesID]unit.Mass{}
	for i, l := range lines {
		f, err := w.lineWorking(l, batch, moment, taken)
		if err != nil {
			return nil, err
		}
		out = append(out, working.Under(fmt.Sprintf("%s/%d", at, i), []working.Figure{f})...)
	}
	return out, nil
}

func (w *work) lineWorking(l Line, batch BatchID, at Moment, taken map[BinID]map[SpeciesID]unit.Mass) (working.Figure, error) {
	typed := quantity.Typed{Measure: l.Typed, DensityGPerL: l.Density}
	r := quantity.Resolved{Mass: l.Mass, Basis: l.Basis, Count: l.Worms, MeanMg: l.MeanMg, MeanBasis: l.MeanBasis}
	share := unit.DimensionOf(l.Typed.Unit) == unit.DimShare
	if batch != "" && !share {
		moisture, err := w.castingsMoistureAt(batch, at, l.Moisture)
		wet, typedErr := l.Typed.Mass()
		if typedErr != nil {
			return typed.Working(r, 0, ""), err
		}
		f := dryWorking("/mass_g", wet, moisture, l.Mass)
		return f, err
	}
	book, err := w.bookBefore(l, batch, at, taken[l.FromBin][l.Species])
	if taken[l.FromBin] == nil {
		taken[l.FromBin] = map[SpeciesID]unit.Mass{}
	}
	taken[l.FromBin][l.Species] += l.Mass
	return typed.Working(r, book, w.meanStatus(l.Species)), err
}

// castingsMoistureAt is the moisture of castings of a batch, and how it is known.
func (w *work) castingsMoistureAt(batch BatchID, at Moment, measured *unit.Percent) (yields.Moisture, error) {
	m, err := w.moistureOf(batch, at.Time, measured)
	basis := yields.Measured
	if measured == nil {
		basis = yields.Default
		c, err := w.contents(batch, at.Time)
		if _, known := c.Moisture(); known {
			basis = yields.Material
		}
		if err != nil {
			return yields.Moisture{}, err
		}
	}
	return yields.Moisture{Known: true, Percent: m, Basis: basis}, err
}

// bookBefore is what a share was of: the book before the moment, less what other
// lines took.
func (w *work) bookBefore(l Line, batch BatchID, at Moment, taken unit.Mass) (unit.Mass, error) {
	switch {
	case unit.DimensionOf(l.Typed.Unit) != unit.DimShare:
		return 0, nil
	case batch != "":
		book, err := w.castingsIn(batch, at.Time)
		return book + l.Mass, err
	}
	stock, err := w.Movements.StockOf(l.FromBin, at.Time)
	return stock[l.Species] - taken, err
}

// meanStatus says how sure the mean mass of a species is.
func (w *work) meanStatus(species SpeciesID) working.Status {
	s, _ := w.desk.Reference.SpeciesByID(string(species))
	return working.Status(s.AdultMassStatus())
}

// ExplainFeeding says how the wet masses of a feeding came about. Errors:
// ErrClubNotFound, ErrForbidden.
func (s Reports) ExplainFeeding(ctx context.Context, a Actor, f Feeding) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) (out []working.Figure, err error) {
		for i, it := range f.Items {
			x, err := w.wetWorking(it, it.Wet)
			if err != nil {
				return nil, err
			}
			x.Name = fmt.Sprintf("/items/%d/wet_g", i)
			out = append(out, x)
		}
		return out, nil
	})
}

// ExplainReceipt says how the masses of a receipt came about. Errors:
// ErrClubNotFound, ErrForbidden.
func (s Reports) ExplainReceipt(ctx context.Context, a Actor, r Receipt) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) (out []working.Figure, err error) {
		for _, x := range []struct {
			name string
			item FeedingItem
			mass unit.Mass
		}{
			{"/net_g", FeedingItem{Material: r.Material, Typed: r.Typed, Measure: r.Measure, Count: r.Count}, r.Net},
			{"/rejected_g", FeedingItem{Material: r.Material, Typed: r.RejectedTyped}, r.Rejected},
			{"/residue_g", FeedingItem{Material: r.Material, Typed: r.ResidueTyped}, r.Residue},
		} {
			if x.name == "/net_g" && r.Gross.Unit != "" {
				f, err := w.tareWorking(r.Gross, r.Tare, r.Measure, r.Net)
				if err != nil {
					return nil, err
				}
				f.Name = x.name
				out = append(out, f)
				continue
			}
			f, err := w.wetWorking(x.item, x.mass)
			if err != nil {
				return nil, err
			}
			f.Name = x.name
			out = append(out, f)
		}
		return out, nil
	})
}

// wetWorking says how the wet mass of a material came about: from a mass, a
// volume, a measure filled, or gross less a measure's tare.
func (w *work) wetWorking(it FeedingItem, wet unit.Mass) (working.Figure, error) {
	m, err := w.Materials.Get(it.Material)
	if err != nil {
		return working.Figure{}, err
	}
	var v Measure
	if it.Measure != "" {
		if v, err = w.Measures.Get(it.Measure); err != nil {
			return working.Figure{}, err
		}
	}
	material := working.Record{Kind: "material", ID: string(it.Material)}
	density := working.Input{}
	if m.DensityGPerL != nil {
		density = working.Of("density", *m.DensityGPerL, "g/L", material)
	}
	out := working.Figure{Formula: working.Weighed, Result: unit.Of(wet.Grams(), "g", "recorded")}
	switch {
	case it.Count != nil:
		out.Formula = working.Filled
		l, err := v.Volume.Volume()
		if err != nil {
			l = 0 // nobody knows any more what it holds: the caveat says so
		}
		out.Inputs = []working.Input{
			working.Of("count", *it.Count, "1", working.Record{}),
			working.Of("volume", float64(l), "L", working.Record{Kind: "measure", ID: string(v.ID)}), density,
		}
	case it.Measure != "" && unit.DimensionOf(it.Typed.Unit) == unit.DimMass:
		return w.tareWorking(it.Typed, unit.Measure{}, it.Measure, wet)
	case unit.DimensionOf(it.Typed.Unit) == unit.DimVolume:
		out.Formula = working.Poured
		l, err := it.Typed.Volume()
		out.Inputs = []working.Input{working.Of("volume", float64(l), "L", working.Record{}), density}
		if err != nil {
			return out, err
		}
	default:
		typed, err := massOf(it.Typed)
		out.Inputs = []working.Input{working.Of("weighed", typed.Grams(), "g", working.Record{})}
		if err != nil {
			return out, err
		}
	}
	return out.Checked(rounding), nil
}

// massOf is a mass as typed, 0 where nothing was.
func massOf(m unit.Measure) (unit.Mass, error) {
	if m.Unit == "" {
		return 0, nil
	}
	return m.Mass()
}

// tareWorking says how a net mass came about: from gross less the tare, typed or
// a measure's.
func (w *work) tareWorking(gross, tare unit.Measure, measure MeasureID, net unit.Mass) (working.Figure, error) {
	out := working.Figure{Formula: working.LessTare, Result: unit.Of(net.Grams(), "g", "weighed")}
	from := working.Record{}
	if measure != "" && tare.Unit == "" {
		v, err := w.Measures.Get(measure)
		if err != nil {
			return out, err
		}
		tare, from = v.Tare, working.Record{Kind: "measure", ID: string(measure)}
	}
	both, err := massOf(gross)
	if err != nil {
		return out, err
	}
	empty, err := massOf(tare)
	out.Inputs = []working.Input{working.Of("gross", both.Grams(), "g", working.Record{}), working.Of("tare", empty.Grams(), "g", from)}
	return out.Checked(rounding), err
}

// ExplainRework says how the dry masses and the loss of a rework came about.
// Errors: ErrClubNotFound, ErrForbidden.
func (s Reports) ExplainRework(ctx context.Context, a Actor, r Rework) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(*work) ([]working.Figure, error) { return r.workings(), nil })
}

// workings says how dry masses follow from wet ones, and the loss from both. The
// moisture of a part that nobody measured is what its masses say.
func (r Rework) workings() []working.Figure {
	var out []working.Figure
	var lost working.Figure
	lost.Name, lost.Formula = "/lost_dry_g", working.Lost
	sum := func(at, name string, parts []ReworkPart) {
		var dry unit.Mass
		for i, p := range parts {
			m := yields.Moisture{Known: true, Basis: yields.Material}
			if p.Moisture != nil {
				m.Percent, m.Basis = *p.Moisture, yields.Measured
			} else if p.Wet > 0 {
				m.Percent = unit.Percent(100 * float64(p.Wet-p.Dry) / float64(p.Wet))
			}
			out = append(out, dryWorking(fmt.Sprintf("%s/%d/dry_g", at, i), p.Wet, m, p.Dry))
			dry += p.Dry
		}
		lost.Inputs = append(lost.Inputs, working.Of(name, dry.Grams(), "g", working.Record{}))
		lost.Result = unit.Of(lost.Inputs[0].Value-dry.Grams(), "g", "book")
	}
	sum("/from", "reworked_out", r.From)
	sum("/into", "reworked_in", r.Into)
	return append(out, lost)
}

// ExplainLot says how the shares of a lot came about. Errors: ErrClubNotFound,
// ErrForbidden.
func (s Reports) ExplainLot(ctx context.Context, a Actor, l Lot) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]working.Figure, error) { return w.lotWorkings(l) })
}

func (w *work) lotWorkings(l Lot) ([]working.Figure, error) {
	var ids []LotID
	for _, p := range l.Parents {
		if p.Lot != "" {
			ids = append(ids, LotID(p.Lot))
		}
	}
	slices.Sort(ids)
	parents, err := w.Lots.Some(slices.Compact(ids))
	shares := map[string]lineage.Shares{}
	for _, p := range parents {
		shares[p.ID] = p.Shares
	}
	return l.Workings(shares), err
}

// ExplainCensus says how what a census found came about: from its samples, or as
// the keeper's own figure. Errors: ErrClubNotFound, ErrForbidden, ErrBinNotFound.
func (s Reports) ExplainCensus(ctx context.Context, a Actor, c Census) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) ([]working.Figure, error) {
		record := working.Record{Kind: "census", ID: string(c.ID), At: c.At.Time}
		if len(c.Samples) == 0 {
			return []working.Figure{census.KeepersWorking(c.Mass, c.Low, c.High, record)}, nil
		}
		bin, err := w.Bins.Get(c.Bin)
		if err != nil {
			return nil, err
		}
		mean, err := w.meanMass(c.Bin, c.Species, c.At.Time.Add(-time.Microsecond))
		if err != nil {
			return nil, err
		}
		found := c
		r, err := found.fromSamples(bin, mean)
		if err != nil || !r.Mass.Known {
			return []working.Figure{census.KeepersWorking(c.Mass, c.Low, c.High, record)}, nil //nolint:nilerr // the bin has no surface any more: the recorded figure stands
		}
		found.take(r)
		out := r.Workings(record, mean.Basis, w.meanStatus(c.Species))
		out[0].Result = unit.Of(c.Mass.Grams(), "g", "census").Within(c.Low.Grams(), c.High.Grams(), census.Level)
		if found.Mass != c.Mass || found.Low != c.Low || found.High != c.High {
			out = out[:1]
			out[0].Caveat = working.ChangedSince
			for i := range out[0].Inputs {
				out[0].Inputs[i].Figure = ""
			}
		}
		return out, nil
	})
}
