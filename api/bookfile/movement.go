package bookfile

import (
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

func readMovement(r *reading, m Movement, parts []Movement) service.Movement {
	out := service.Movement{
		ID: service.MovementID(m.ID), Kind: journal.Kind(m.Kind), At: service.Moment{Text: m.At},
		ToBin: service.BinID(m.ToBin), FromBatch: service.BatchID(m.FromBatch), Terms: service.Terms(m.Terms), Party: m.Party,
		PriceMinor: m.PriceMinor, Currency: m.Currency, Cause: service.Cause(m.Cause), MaterialMass: r.grams(m.MaterialG, "material_g"),
		Reverses: service.MovementID(m.Reverses), Reason: m.Reason, Note: m.Note,
		Transfer: service.TransferID(m.Transfer), Leg: service.LegID(m.Leg), ToBatch: service.BatchID(m.ToBatch),
	}
	for i, p := range parts {
		out.Lines = append(out.Lines, service.Line{
			FromBin: service.BinID(p.FromBin), Origin: service.OriginID(p.Origin), Species: service.SpeciesID(p.Species),
			Typed:     r.measure(r.parts[i], p.Quantity, p.Unit, "quantity", "unit"),
			SizeClass: quantity.SizeClass(p.SizeClass), Density: told(p.DensityGPerL), SampleMg: told(p.SampleMg),
			Moisture: as[unit.Percent](p.MoisturePct), Booked: as[unit.Mass](p.BookedMg),
			FromBatch: service.BatchID(p.OutOfBatch), Castings: told(p.Castings), Material: told(p.Material),
			Dead: told(as[unit.Mass](p.DeadMg)), WeightLost: told(as[unit.Mass](p.WeightLostMg)),
			Missing: told(as[unit.Mass](p.MissingMg)), Returned: told(as[unit.Mass](p.ReturnedMg)),
		})
		if p.Quantity == nil && p.Unit == "" {
			r.missing(i, "quantity", "say how much was moved")
		}
	}
	return out
}

func writeMovement(r service.Row[service.Movement]) []Movement {
	m := r.Value
	whole := Movement{
		ID: string(m.ID), Kind: string(m.Kind), At: m.At.Text, By: r.By, ToBin: string(m.ToBin), FromBatch: string(m.FromBatch),
		Terms: string(m.Terms), Party: m.Party, PriceMinor: m.PriceMinor, Currency: m.Currency, Cause: string(m.Cause),
		MaterialG: ifAny(m.MaterialMass.Grams()), Reverses: string(m.Reverses), Reason: m.Reason, Note: m.Note,
		Transfer: string(m.Transfer), Leg: string(m.Leg), ToBatch: string(m.ToBatch),
	}
	if len(m.Lines) == 0 {
		return []Movement{whole}
	}
	var out []Movement
	for _, l := range m.Lines {
		row := whole
		row.FromBin, row.Origin, row.Species = string(l.FromBin), string(l.Origin), string(l.Species)
		row.Quantity, row.Unit = &l.Typed.Value, l.Typed.Unit
		row.SizeClass, row.DensityGPerL, row.SampleMg = string(l.SizeClass), ifAny(l.Density), ifAny(l.SampleMg)
		row.MoisturePct, row.BookedMg = as[float64](l.Moisture), as[int64](l.Booked)
		row.OutOfBatch, row.Castings, row.Material = string(l.FromBatch), ifAny(l.Castings), ifAny(l.Material)
		row.DeadMg, row.WeightLostMg = ifAny(int64(l.Dead)), ifAny(int64(l.WeightLost))
		row.MissingMg, row.ReturnedMg = ifAny(int64(l.Missing)), ifAny(int64(l.Returned))
		out = append(out, row)
	}
	return out
}
