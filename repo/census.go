package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// censusRow is a row of censuses.
type censusRow struct {
	ClubID     string      `gorm:"column:club_id;primaryKey"`
	ID         string      `gorm:"column:id;primaryKey"`
	MovementID string      `gorm:"column:movement_id"`
	BinID      string      `gorm:"column:bin_id"`
	SpeciesID  string      `gorm:"column:species_id"`
	Moment     momentRow   `gorm:"embedded"`
	Samples    string      `gorm:"column:samples"` // JSON array of sampleJSON
	Typed      string      `gorm:"column:typed"`   // a censusTextJSON
	Apply      bool        `gorm:"column:apply"`
	MassMg     int64       `gorm:"column:mass_mg"`
	LowMg      int64       `gorm:"column:low_mg"`
	HighMg     int64       `gorm:"column:high_mg"`
	CV         float64     `gorm:"column:cv"`
	Worms      *unit.Count `gorm:"column:worms"`
	MeanMg     *float64    `gorm:"column:mean_mg"`
	BookMg     int64       `gorm:"column:book_mg"`
	PostedMg   int64       `gorm:"column:posted_mg"`
	Warnings   string      `gorm:"column:warnings"` // JSON array
	Note       string      `gorm:"column:note"`
	Recorded   recordedRow `gorm:"embedded"`
	Version    int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (censusRow) TableName() string { return "censuses" }

// sampleJSON is a sample as the column samples holds it.
type sampleJSON struct {
	Stratum   string      `json:"stratum"`
	AreaM2    float64     `json:"area_m2"`
	Worms     int64       `json:"worms"`
	MassMg    int64       `json:"mass_mg"`
	Adults    *unit.Count `json:"adults,omitempty"`
	Juveniles *unit.Count `json:"juveniles,omitempty"`
	Cocoons   *unit.Count `json:"cocoons,omitempty"`
}

func sampleToJSON(s service.Sample) sampleJSON {
	return sampleJSON{
		Stratum: s.Stratum, AreaM2: float64(s.Area), Worms: int64(s.Worms), MassMg: int64(s.Mass),
		Adults: s.Adults, Juveniles: s.Juveniles, Cocoons: s.Cocoons,
	}
}

func sampleFromJSON(s sampleJSON) service.Sample {
	return service.Sample{
		Stratum: s.Stratum, Area: unit.Area(s.AreaM2), Worms: unit.Count(s.Worms), Mass: unit.Mass(s.MassMg),
		Adults: s.Adults, Juveniles: s.Juveniles, Cocoons: s.Cocoons,
	}
}

// measureJSON is a measure as typed, in a JSON column.
type measureJSON struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

func measureToJSON(m unit.Measure) measureJSON { return measureJSON{m.Value, m.Unit} }

func measureFromJSON(m measureJSON) unit.Measure { return unit.Measure{Value: m.Value, Unit: m.Unit} }

// censusTextJSON is a keeper's figure as the column typed holds it.
type censusTextJSON struct {
	Estimate measureJSON `json:"estimate"`
	Low      measureJSON `json:"low"`
	High     measureJSON `json:"high"`
}

func censusTextToJSON(t service.CensusText) censusTextJSON {
	return censusTextJSON{
		Estimate: measureToJSON(t.Estimate), Low: measureToJSON(t.Low), High: measureToJSON(t.High),
	}
}

func censusTextFromJSON(t censusTextJSON) service.CensusText {
	return service.CensusText{
		Estimate: measureFromJSON(t.Estimate), Low: measureFromJSON(t.Low), High: measureFromJSON(t.High),
	}
}

func censusToRow(c service.Census) censusRow {
	return censusRow{
		ID:         string(c.ID),
		MovementID: string(c.Movement),
		BinID:      string(c.Bin),
		SpeciesID:  string(c.Species),
		Moment:     momentToRow(c.At),
		Samples:    toArray(each(c.Samples, sampleToJSON)),
		Typed:      toJSON(censusTextToJSON(c.Typed)),
		Apply:      c.Apply,
		MassMg:     int64(c.Mass),
		LowMg:      int64(c.Low),
		HighMg:     int64(c.High),
		CV:         c.CV,
		Worms:      c.Worms,
		MeanMg:     c.MeanMg,
		BookMg:     int64(c.Book),
		PostedMg:   int64(c.Posted),
		Warnings:   toArray(c.Warnings),
		Note:       c.Note,
		Recorded:   recordedToRow(c.Recorded),
		Version:    c.Version,
	}
}

func censusFromRow(r censusRow) service.Census {
	return service.Census{
		ID:       service.CensusID(r.ID),
		Movement: service.MovementID(r.MovementID),
		Bin:      service.BinID(r.BinID),
		Species:  service.SpeciesID(r.SpeciesID),
		At:       momentFromRow(r.Moment),
		Samples:  each(fromArray[sampleJSON](r.Samples), sampleFromJSON),
		Typed:    censusTextFromJSON(fromJSON[censusTextJSON](r.Typed)),
		Apply:    r.Apply,
		Mass:     unit.Mass(r.MassMg),
		Low:      unit.Mass(r.LowMg),
		High:     unit.Mass(r.HighMg),
		CV:       r.CV,
		Worms:    r.Worms,
		MeanMg:   r.MeanMg,
		Book:     unit.Mass(r.BookMg),
		Posted:   unit.Mass(r.PostedMg),
		Warnings: fromArray[string](r.Warnings),
		Note:     r.Note,
		Recorded: recordedFromRow(r.Recorded),
		Version:  r.Version,
	}
}

// newCensuses filters by bin and species, and by member on who recorded.
func newCensuses(db *gorm.DB) table[service.Census, service.CensusID, censusRow] {
	return table[service.Census, service.CensusID, censusRow]{
		db: db, row: censusToRow, value: censusFromRow, missing: service.ErrCensusNotFound,
		dated: true, columns: filters{bin: "bin_id", member: "recorded_by", species: "species_id"},
	}
}
