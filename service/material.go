package service

import (
	"time"

	"lumbricary.example/service/reference"
	"lumbricary.example/service/unit"
)

// MaterialKind says what a material is for.
type MaterialKind string

// The kinds of material.
const (
	FeedMaterial      MaterialKind = "feed"
	BeddingMaterial   MaterialKind = "bedding"
	AmendmentMaterial MaterialKind = "amendment" // grit, lime
)

// Material is a feedstock, a bedding or an amendment as the club knows it.
type Material struct {
	ID           MaterialID
	Name         string
	Kind         MaterialKind
	Feedstock    string        // entry of the reference table its figures come from; may be empty
	Moisture     *unit.Percent // of wet mass
	NitrogenPct  *float64      // of dry mass
	CarbonRatio  *float64      // C:N, mass to mass
	DensityGPerL *float64      // bulk density
	AnimalOrigin bool
	Slow         bool // stones, woody peel: decays slowly
	Note         string
	CreatedAt    time.Time
	Version      int64
}

// addMaterial adds a material; figures that are not given come from the
// feedstock named. Errors: ErrForbidden, ErrInvalid, ErrMaterialNameTaken.
func (w *work) addMaterial(m Material) (Material, error) {
	if err := w.may(AddMaterial); err != nil {
		return Material{}, err
	}
	var faults Faults
	m.ID = MaterialID(w.id(string(m.ID), &faults))
	w.checkMaterial(&faults, &m)
	if err := faults.Err(); err != nil {
		return Material{}, err
	}
	m.CreatedAt, m.Version = w.now, 1
	return m, w.Materials.Insert(m)
}

// checkMaterial notes what is wrong with a material, after it has taken from its
// feedstock what was not told.
func (w *work) checkMaterial(faults *Faults, m *Material) {
	if m.Feedstock != "" {
		f, ok := w.desk.Reference.FeedstockByID(m.Feedstock)
		if !ok {
			faults.Add("/feedstock", "unknown", "the reference table has no such feedstock")
		}
		m.fill(f)
	}
	checkName(faults, "/name", m.Name)
	checkWord(faults, "/kind", m.Kind, FeedMaterial, BeddingMaterial, AmendmentMaterial)
	checkRange(faults, "/moisture_pct", m.Moisture, 0, 99.9)
	checkRange(faults, "/nitrogen_pct", m.NitrogenPct, 0, 100)
	checkRange(faults, "/carbon_ratio", m.CarbonRatio, 0, 10_000)
	checkRange(faults, "/density_g_per_l", m.DensityGPerL, 1, 5000)
	checkNote(faults, "/note", m.Note)
}

// changeMaterial changes a material: what was fed before keeps the mass that it
// was booked with, and takes the new figures. Errors: ErrForbidden, ErrInvalid,
// ErrMaterialNameTaken, ErrStale.
func (w *work) changeMaterial(old, m Material) (Material, error) {
	if err := w.may(AddMaterial); err != nil {
		return Material{}, err
	}
	var faults Faults
	if w.checkMaterial(&faults, &m); len(faults) > 0 {
		return Material{}, faults.Err()
	}
	m.CreatedAt, m.Version = old.CreatedAt, old.Version
	return put(w.Materials, old, m)
}

// dropMaterial removes a material that was never fed. Errors: ErrForbidden,
// ErrInUse, ErrStale.
func (w *work) dropMaterial(m Material) (Material, error) {
	if err := w.may(AddMaterial); err != nil {
		return Material{}, err
	}
	return m, w.Materials.Delete(m)
}

// fill takes from the reference table what was not told.
func (m *Material) fill(f reference.Feedstock) {
	if m.Kind == "" {
		m.Kind = MaterialKind(f.Kind)
	}
	if m.Name == "" {
		m.Name = f.Name
	}
	if m.Moisture == nil && f.MoisturePct != nil {
		p := unit.Percent(*f.MoisturePct)
		m.Moisture = &p
	}
	if m.NitrogenPct == nil {
		m.NitrogenPct = f.NitrogenPct
	}
	if m.CarbonRatio == nil {
		m.CarbonRatio = f.CarbonRatio
	}
	if d, ok := f.Density(); ok && m.DensityGPerL == nil {
		m.DensityGPerL = &d
	}
}
