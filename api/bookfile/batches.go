package bookfile

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

func readReceipt(r *reading, c Receipt, _ []Receipt) service.Receipt {
	return service.Receipt{
		ID: service.ReceiptID(c.ID), Material: service.MaterialID(c.Material), At: service.Moment{Text: c.At},
		From: c.From, FromMember: service.MemberID(c.FromMember),
		Typed:   r.measure(r.line, c.Net, c.NetUnit, "net", "net_unit"),
		Gross:   r.measure(r.line, c.Gross, c.GrossUnit, "gross", "gross_unit"),
		Tare:    r.measure(r.line, c.Tare, c.TareUnit, "tare", "tare_unit"),
		Measure: service.MeasureID(c.Measure), Count: c.Count,
		RejectedTyped: r.measure(r.line, c.Rejected, c.RejectedUnit, "rejected", "rejected_unit"), RejectedWhy: c.RejectedWhy,
		ResidueTyped: r.measure(r.line, c.Residue, c.ResidueUnit, "residue", "residue_unit"), Animal: c.AnimalOrigin,
		Heat:  r.heat(c.HeatWhat, c.Temperature, c.TemperatureUnit, c.Hours),
		Basis: service.Basis(c.Basis), Note: c.Note,
	}
}

// heat reads a treatment with heat.
func (r *reading) heat(what string, value *float64, code string, hours *float64) service.Heat {
	return service.Heat{What: what, Value: r.measure(r.line, value, code, "temperature", "temperature_unit"), Hours: hours}
}

func writeReceipt(r service.Row[service.Receipt]) []Receipt {
	c := r.Value
	out := Receipt{
		ID: string(c.ID), Material: string(c.Material), At: c.At.Text, By: r.By, From: c.From, FromMember: string(c.FromMember),
		Measure: string(c.Measure), Count: c.Count, RejectedWhy: c.RejectedWhy, AnimalOrigin: c.Animal,
		HeatWhat: c.Heat.What, Hours: c.Heat.Hours, Basis: string(c.Basis), Note: c.Note,
	}
	out.Net, out.NetUnit = typed(c.Typed)
	out.Gross, out.GrossUnit = typed(c.Gross)
	out.Tare, out.TareUnit = typed(c.Tare)
	out.Rejected, out.RejectedUnit = typed(c.RejectedTyped)
	out.Residue, out.ResidueUnit = typed(c.ResidueTyped)
	out.Temperature, out.TemperatureUnit = typed(c.Heat.Value)
	return []Receipt{out}
}

func readTurnout(_ *reading, c Turnout, _ []Turnout) service.Turnout {
	return service.Turnout{ID: service.TurnoutID(c.ID), At: service.Moment{Text: c.At}, Households: c.Households, Hours: c.VolunteerHours}
}

func writeTurnout(r service.Row[service.Turnout]) []Turnout {
	t := r.Value
	return []Turnout{{ID: string(t.ID), At: t.At.Text, By: r.By, Households: t.Households, VolunteerHours: t.Hours}}
}

func readRework(r *reading, c Rework, parts []Rework) service.Rework {
	out := service.Rework{ID: service.ReworkID(c.ID), Kind: service.ReworkKind(c.Kind), At: service.Moment{Text: c.At}, Note: c.Note}
	for i, p := range parts {
		part := service.ReworkPart{
			Batch: service.BatchID(p.Batch), Moisture: as[unit.Percent](p.MoisturePct),
			Wet: told(as[unit.Mass](p.WetMg)), Dry: told(as[unit.Mass](p.DryMg)), Assumed: told(p.Assumed),
			Typed: r.measure(r.parts[i], p.Quantity, p.Unit, "quantity", "unit"),
		}
		switch {
		case p.ComesOut == nil:
			r.missing(i, "comes_out", "say whether this goes in (false) or comes out (true)")
		case *p.ComesOut:
			out.Into = append(out.Into, part)
		default:
			out.From = append(out.From, part)
		}
	}
	return out
}

func writeRework(r service.Row[service.Rework]) []Rework {
	var out []Rework
	add := func(comesOut bool, parts []service.ReworkPart) {
		for _, p := range parts {
			row := Rework{
				ID: string(r.Value.ID), Kind: string(r.Value.Kind), At: r.Value.At.Text, By: r.By, Batch: string(p.Batch), ComesOut: &comesOut,
				MoisturePct: as[float64](p.Moisture), WetMg: as[int64](&p.Wet), DryMg: as[int64](&p.Dry), Assumed: &p.Assumed, Note: r.Value.Note,
			}
			row.Quantity, row.Unit = typed(p.Typed)
			out = append(out, row)
		}
	}
	add(false, r.Value.From)
	add(true, r.Value.Into)
	return out
}

func readBatchStep(r *reading, c BatchStep, _ []BatchStep) service.BatchStep {
	out := service.BatchStep{
		ID: service.BatchStepID(c.ID), Batch: service.BatchID(c.Batch), Kind: service.StepKind(c.Kind), At: service.Moment{Text: c.At},
		Moisture: as[unit.Percent](c.MoisturePct), Typed: r.measure(r.line, c.Mass, c.MassUnit, "mass", "mass_unit"),
		Bags: told(c.Bags), BagsLeft: told(c.Bags), Heat: r.heat(c.What, c.Temperature, c.TemperatureUnit, c.Hours),
		Parameter: c.Parameter, Sign: service.Sign(c.Sign), Value: c.Value, Unit: c.Unit, Method: c.Method, Laboratory: c.Laboratory,
		Expires: service.Day(c.Expires), Note: c.Note,
	}
	if c.BagsLeft != nil {
		out.BagsLeft = *c.BagsLeft
	}
	return out
}

func writeBatchStep(r service.Row[service.BatchStep]) []BatchStep {
	s := r.Value
	out := BatchStep{
		ID: string(s.ID), Batch: string(s.Batch), Kind: string(s.Kind), At: s.At.Text, By: r.By, MoisturePct: as[float64](s.Moisture),
		Bags: ifAny(s.Bags), What: s.Heat.What, Hours: s.Heat.Hours, Parameter: s.Parameter, Sign: string(s.Sign), Value: s.Value,
		Unit: s.Unit, Method: s.Method, Laboratory: s.Laboratory, Expires: string(s.Expires), Note: s.Note,
	}
	if s.Bags > 0 {
		out.BagsLeft = &s.BagsLeft
	}
	out.Mass, out.MassUnit = typed(s.Typed)
	out.Temperature, out.TemperatureUnit = typed(s.Heat.Value)
	return []BatchStep{out}
}
