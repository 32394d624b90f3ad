package bookfile

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

func readSettings(_ *reading, s Settings, _ []Settings) service.Settings {
	return service.Settings{
		Hemisphere: service.Hemisphere(s.Hemisphere), Units: service.UnitSystem(s.Units), SeasonBy: service.SeasonRule(s.SeasonBy),
		RetentionYears: s.RetentionYears, PromiseDays: s.PromiseDays, QuarantineDays: s.QuarantineDays, CopyPct: s.CopyPct,
	}
}

func writeSettings(r service.Row[service.Settings]) []Settings {
	s := r.Value
	return []Settings{{
		string(s.Hemisphere), string(s.Units), string(s.SeasonBy), s.RetentionYears, s.PromiseDays, s.QuarantineDays, s.CopyPct,
	}}
}

func readMember(_ *reading, m Member, _ []Member) service.Member {
	return service.Member{ID: service.MemberID(m.ID), Name: m.Name, Role: service.Role(m.Role)}
}

func writeMember(r service.Row[service.Member]) []Member {
	return []Member{{ID: string(r.Value.ID), Name: r.Value.Name, Role: string(r.Value.Role)}}
}

func readSite(_ *reading, s Site, _ []Site) service.Site {
	return service.Site{ID: service.SiteID(s.ID), Name: s.Name, Address: s.Address, Owner: service.MemberID(s.Owner), Note: s.Note}
}

func writeSite(r service.Row[service.Site]) []Site {
	s := r.Value
	return []Site{{ID: string(s.ID), Name: s.Name, Address: s.Address, Owner: string(s.Owner), Note: s.Note}}
}

func readMaterial(_ *reading, m Material, _ []Material) service.Material {
	return service.Material{
		ID: service.MaterialID(m.ID), Name: m.Name, Kind: service.MaterialKind(m.Kind), Feedstock: m.Feedstock,
		Moisture: as[unit.Percent](m.MoisturePct), NitrogenPct: m.NitrogenPct, CarbonRatio: m.CarbonRatio,
		DensityGPerL: m.DensityGPerL, AnimalOrigin: told(m.AnimalOrigin), Slow: told(m.Slow), Note: m.Note,
	}
}

func writeMaterial(r service.Row[service.Material]) []Material {
	m := r.Value
	return []Material{{
		ID: string(m.ID), Name: m.Name, Kind: string(m.Kind), Feedstock: m.Feedstock,
		MoisturePct: as[float64](m.Moisture), NitrogenPct: m.NitrogenPct, CarbonRatio: m.CarbonRatio,
		DensityGPerL: m.DensityGPerL, AnimalOrigin: &m.AnimalOrigin, Slow: &m.Slow, Note: m.Note,
	}}
}

func readMeasure(r *reading, m Measure, _ []Measure) service.Measure {
	return service.Measure{
		ID: service.MeasureID(m.ID), Name: m.Name, Note: m.Note,
		Volume: r.measure(r.line, m.Volume, m.VolumeUnit, "volume", "volume_unit"),
		Tare:   r.measure(r.line, m.Tare, m.TareUnit, "tare", "tare_unit"),
	}
}

func writeMeasure(r service.Row[service.Measure]) []Measure {
	m := r.Value
	out := Measure{ID: string(m.ID), Name: m.Name, Note: m.Note}
	out.Volume, out.VolumeUnit = typed(m.Volume)
	out.Tare, out.TareUnit = typed(m.Tare)
	return []Measure{out}
}

// typed writes a quantity; one that isn't told is nothing.
func typed(m unit.Measure) (*float64, string) {
	if m.Unit == "" {
		return nil, ""
	}
	return &m.Value, m.Unit
}

func readCulture(_ *reading, c Culture, _ []Culture) service.Culture {
	out := service.Culture{
		ID: service.CultureID(c.ID), Name: c.Name, Species: service.SpeciesID(c.Species), Note: c.Note, MergedInto: service.CultureID(c.MergedInto),
		Published: told(c.Published),
	}
	for _, o := range c.MovedOrigins {
		out.Moved = append(out.Moved, service.OriginID(o))
	}
	return out
}

func writeCulture(r service.Row[service.Culture]) []Culture {
	c := r.Value
	out := Culture{ID: string(c.ID), Name: c.Name, Species: string(c.Species), Note: c.Note, MergedInto: string(c.MergedInto), Published: &c.Published}
	for _, o := range c.Moved {
		out.MovedOrigins = append(out.MovedOrigins, string(o))
	}
	return []Culture{out}
}

func readOrigin(_ *reading, o Origin, _ []Origin) service.Origin {
	return service.Origin{
		ID: service.OriginID(o.ID), Name: o.Name, Kind: service.OriginKind(o.Kind),
		Species: service.SpeciesID(o.Species), Culture: service.CultureID(o.Culture), Note: o.Note,
	}
}

func writeOrigin(r service.Row[service.Origin]) []Origin {
	o := r.Value
	return []Origin{{
		ID: string(o.ID), Name: o.Name, Kind: string(o.Kind), Species: string(o.Species), Culture: string(o.Culture), Note: o.Note,
	}}
}

func readBin(_ *reading, b Bin, _ []Bin) service.Bin {
	out := service.Bin{
		ID: service.BinID(b.ID), Name: b.Name, Kind: service.BinKind(b.Kind), Site: service.SiteID(b.Site),
		Keeper: service.MemberID(b.Keeper), Surface: told(as[unit.Area](b.SurfaceM2)), DepthCM: told(b.DepthCM),
		Started: service.Moment{Text: b.Started}, Retired: service.Moment{Text: b.Retired}, RetiredWhy: b.RetiredWhy, Note: b.Note,
	}
	for _, m := range b.StandIns {
		out.StandIns = append(out.StandIns, service.MemberID(m))
	}
	return out
}

func writeBin(r service.Row[service.Bin]) []Bin {
	b := r.Value
	out := Bin{
		ID: string(b.ID), Name: b.Name, Kind: string(b.Kind), Site: string(b.Site), Keeper: string(b.Keeper),
		SurfaceM2: ifAny(float64(b.Surface)), DepthCM: ifAny(b.DepthCM),
		Started: b.Started.Text, Retired: b.Retired.Text, RetiredWhy: b.RetiredWhy, Note: b.Note,
	}
	for _, m := range b.StandIns {
		out.StandIns = append(out.StandIns, string(m))
	}
	return []Bin{out}
}

func readBatch(_ *reading, b Batch, _ []Batch) service.Batch {
	return service.Batch{
		ID: service.BatchID(b.ID), LotNumber: b.LotNumber, Product: service.Product(b.Product), MeshMM: told(b.MeshMM), Note: b.Note,
	}
}

func writeBatch(r service.Row[service.Batch]) []Batch {
	b := r.Value
	return []Batch{{
		ID: string(b.ID), LotNumber: b.LotNumber, Product: string(b.Product), MeshMM: ifAny(b.MeshMM), Note: b.Note,
	}}
}
