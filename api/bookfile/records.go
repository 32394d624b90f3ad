package bookfile

import (
	"cmp"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

func readFeeding(r *reading, f Feeding, parts []Feeding) service.Feeding {
	out := service.Feeding{
		ID: service.FeedingID(f.ID), Bin: service.BinID(f.Bin), At: service.Moment{Text: f.At},
		Placement: service.Placement(f.Placement), Preparation: service.Preparation(f.Preparation), Note: f.Note,
	}
	for i, p := range parts {
		out.Items = append(out.Items, service.FeedingItem{
			Material: service.MaterialID(p.Material), Moisture: as[unit.Percent](p.MoisturePct),
			Typed:   r.measure(r.parts[i], p.Quantity, p.Unit, "quantity", "unit"),
			Measure: service.MeasureID(p.Measure), Count: p.Count, Receipt: service.ReceiptID(p.Receipt),
		})
		if p.Quantity == nil && p.Unit == "" && p.Count == nil {
			r.missing(i, "quantity", "say how much of the material it was")
		}
	}
	return out
}

func writeFeeding(r service.Row[service.Feeding]) []Feeding {
	f := r.Value
	var out []Feeding
	for _, it := range f.Items {
		row := Feeding{
			ID: string(f.ID), Bin: string(f.Bin), At: f.At.Text, By: r.By,
			Material: string(it.Material), Measure: string(it.Measure), Count: it.Count, Receipt: string(it.Receipt), MoisturePct: as[float64](it.Moisture),
			Placement: string(f.Placement), Preparation: string(f.Preparation), Note: f.Note,
		}
		row.Quantity, row.Unit = typed(it.Typed)
		out = append(out, row)
	}
	return out
}

func readCheck(r *reading, c Check, _ []Check) service.Check {
	out := service.Check{
		ID: service.CheckID(c.ID), Bin: service.BinID(c.Bin), At: service.Moment{Text: c.At},
		Moisture: as[unit.Percent](c.MoisturePct), Squeeze: service.Squeeze(c.Squeeze), PH: c.PH, Ammonia: c.Ammonia,
		LeftoverAll: as[unit.Percent](c.LeftoverPct), WormsAt: service.WormsAt(c.WormsAt), Pests: c.Pests,
		Beaded: c.Beaded, Escape: c.Escape, Leachate: as[unit.Volume](c.LeachateL), Cover: c.Cover, Note: c.Note,
	}
	if q := r.measure(r.line, c.Temperature, c.TemperatureUnit, "temperature", "temperature_unit"); q.Unit != "" && c.Temperature != nil {
		t, err := q.Temperature()
		switch {
		case unit.DimensionOf(q.Unit) != unit.DimTemperature:
			r.fault("temperature_unit", "unit", err.Error())
		case err != nil:
			r.fault("temperature", "range", err.Error())
		}
		out.Temperature = &t
	}
	for _, l := range c.Leftovers {
		if l.LeftPct == nil {
			r.fault("leftovers", "required", "say what percentage is left of each feeding, as feeding:percent")
		}
		out.Leftovers = append(out.Leftovers, service.Leftover{Feeding: service.FeedingID(l.Feeding), Percent: unit.Percent(told(l.LeftPct))})
	}
	return out
}

func writeCheck(r service.Row[service.Check]) []Check {
	c := r.Value
	out := Check{
		ID: string(c.ID), Bin: string(c.Bin), At: c.At.Text, By: r.By, Temperature: as[float64](c.Temperature),
		MoisturePct: as[float64](c.Moisture), Squeeze: string(c.Squeeze), PH: c.PH, Ammonia: c.Ammonia,
		LeftoverPct: as[float64](c.LeftoverAll), WormsAt: string(c.WormsAt), Pests: c.Pests,
		Beaded: c.Beaded, Escape: c.Escape, LeachateL: as[float64](c.Leachate), Cover: c.Cover, Note: c.Note,
	}
	if c.Temperature != nil {
		out.TemperatureUnit = "Cel"
	}
	for _, l := range c.Leftovers {
		pct := float64(l.Percent)
		out.Leftovers = append(out.Leftovers, Leftover{Feeding: string(l.Feeding), LeftPct: &pct})
	}
	return []Check{out}
}

func readCensus(r *reading, c Census, _ []Census) service.Census {
	out := service.Census{
		ID: service.CensusID(c.ID), Bin: service.BinID(c.Bin), Species: service.SpeciesID(c.Species), At: service.Moment{Text: c.At},
		Apply: told(c.Apply), Note: c.Note, Samples: r.samples(c.Samples),
	}
	if len(c.Samples) > 0 && cmp.Or(c.Estimate, c.Low, c.High) == nil && c.Unit == "" {
		return out
	}
	out.Typed = service.CensusText{
		Estimate: r.measure(r.line, c.Estimate, c.Unit, "estimate", "unit"),
		Low:      r.measure(r.line, c.Low, c.Unit, "low", "unit"),
		High:     r.measure(r.line, c.High, c.Unit, "high", "unit"),
	}
	if c.Estimate == nil && c.Unit == "" && len(r.faults) == 0 {
		r.fault("estimate", "required", "give an estimate with low and high, or samples")
	}
	return out
}

// samples reads the samples of a census.
func (r *reading) samples(all []Sample) (out []service.Sample) {
	for _, s := range all {
		if s.AreaM2 == nil || s.Worms == nil {
			r.fault("samples", "required", "a sample has at least its area in m2 and the worms counted, as /0.04/52")
		}
		out = append(out, service.Sample{
			Stratum: s.Stratum, Area: told(as[unit.Area](s.AreaM2)), Worms: told(as[unit.Count](s.Worms)), Mass: r.grams(s.MassG, "samples"),
			Adults: as[unit.Count](s.Adults), Juveniles: as[unit.Count](s.Juveniles), Cocoons: as[unit.Count](s.Cocoons),
		})
	}
	return out
}

func writeCensus(r service.Row[service.Census]) []Census {
	c := r.Value
	out := Census{
		ID: string(c.ID), Bin: string(c.Bin), Species: string(c.Species), At: c.At.Text, By: r.By, Apply: &c.Apply, Note: c.Note,
	}
	if c.Typed.Estimate.Unit != "" {
		out.Estimate, out.Low, out.High, out.Unit = &c.Typed.Estimate.Value, &c.Typed.Low.Value, &c.Typed.High.Value, c.Typed.Estimate.Unit
	}
	for _, s := range c.Samples {
		area, worms := float64(s.Area), int64(s.Worms)
		out.Samples = append(out.Samples, Sample{
			Stratum: s.Stratum, AreaM2: &area, Worms: &worms, MassG: ifAny(s.Mass.Grams()),
			Adults: as[int64](s.Adults), Juveniles: as[int64](s.Juveniles), Cocoons: as[int64](s.Cocoons),
		})
	}
	return []Census{out}
}

func readHarvest(r *reading, h Harvest, parts []Harvest) service.Harvest {
	out := service.Harvest{
		ID: service.HarvestID(h.ID), Bin: service.BinID(h.Bin), At: service.Moment{Text: h.At}, Full: told(h.Full),
		Method: service.HarvestMethod(h.Method), MeshMM: told(h.MeshMM), Moisture: as[unit.Percent](h.MoisturePct),
		Typed: r.measure(r.line, h.Quantity, h.Unit, "quantity", "unit"),
		Batch: service.BatchID(h.Batch), PutBack: r.grams(h.PutBackG, "put_back_g"), WormsTo: service.BinID(h.WormsTo), Note: h.Note,
	}
	for i, p := range parts {
		out.Worms = append(out.Worms, service.Line{
			Species: service.SpeciesID(p.WormsSpecies), Booked: as[unit.Mass](p.WormsBookedMg),
			Typed: r.measure(r.parts[i], p.WormsQuantity, p.WormsUnit, "worms_quantity", "worms_unit"),
		})
	}
	return out
}

// writeHarvest tells on the first row what the harvest's rows share.
func writeHarvest(r service.Row[service.Harvest]) []Harvest {
	h := r.Value
	out := []Harvest{{
		ID: string(h.ID), Bin: string(h.Bin), At: h.At.Text, By: r.By, Full: &h.Full, Method: string(h.Method),
		MeshMM: ifAny(h.MeshMM), MoisturePct: as[float64](h.Moisture), Batch: string(h.Batch),
		PutBackG: ifAny(h.PutBack.Grams()), WormsTo: string(h.WormsTo), Note: h.Note,
	}}
	if h.Typed.Unit != "" {
		out[0].Quantity, out[0].Unit = &h.Typed.Value, h.Typed.Unit
	}
	for i, l := range h.Worms {
		if i > 0 {
			out = append(out, out[0])
		}
		out[i].WormsSpecies, out[i].WormsQuantity, out[i].WormsUnit = string(l.Species), &l.Typed.Value, l.Typed.Unit
		out[i].WormsBookedMg = as[int64](l.Booked)
	}
	return out
}
