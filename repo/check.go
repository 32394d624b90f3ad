package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// checkRow is a row of checks.
type checkRow struct {
	ClubID       string        `gorm:"column:club_id;primaryKey"`
	ID           string        `gorm:"column:id;primaryKey"`
	BinID        string        `gorm:"column:bin_id"`
	Moment       momentRow     `gorm:"embedded"`
	TemperatureC *unit.Celsius `gorm:"column:temperature_c"`
	MoisturePct  *unit.Percent `gorm:"column:moisture_pct"`
	Squeeze      string        `gorm:"column:squeeze"`
	PH           *float64      `gorm:"column:ph"`
	Ammonia      *bool         `gorm:"column:ammonia"`
	LeftoverPct  *unit.Percent `gorm:"column:leftover_pct"`
	Leftovers    string        `gorm:"column:leftovers"` // JSON array of leftoverJSON
	WormsAt      string        `gorm:"column:worms_at"`
	Pests        string        `gorm:"column:pests"` // JSON array
	Beaded       *bool         `gorm:"column:beaded"`
	Escape       *bool         `gorm:"column:escaped"`
	LeachateL    *unit.Volume  `gorm:"column:leachate_l"`
	Cover        string        `gorm:"column:cover"`
	Note         string        `gorm:"column:note"`
	Recorded     recordedRow   `gorm:"embedded"`
	Voided       voidedRow     `gorm:"embedded"`
	Version      int64         `gorm:"column:version"`
}

// TableName returns the name of the table.
func (checkRow) TableName() string { return "checks" }

// leftoverJSON is a leftover as the column leftovers holds it.
type leftoverJSON struct {
	Feeding string  `json:"feeding"`
	Percent float64 `json:"percent"`
}

func leftoverToJSON(l service.Leftover) leftoverJSON {
	return leftoverJSON{Feeding: string(l.Feeding), Percent: float64(l.Percent)}
}

func leftoverFromJSON(l leftoverJSON) service.Leftover {
	return service.Leftover{Feeding: service.FeedingID(l.Feeding), Percent: unit.Percent(l.Percent)}
}

func checkToRow(c service.Check) checkRow {
	return checkRow{
		ID:           string(c.ID),
		BinID:        string(c.Bin),
		Moment:       momentToRow(c.At),
		TemperatureC: c.Temperature,
		MoisturePct:  c.Moisture,
		Squeeze:      string(c.Squeeze),
		PH:           c.PH,
		Ammonia:      c.Ammonia,
		LeftoverPct:  c.LeftoverAll,
		Leftovers:    toArray(each(c.Leftovers, leftoverToJSON)),
		WormsAt:      string(c.WormsAt),
		Pests:        toArray(c.Pests),
		Beaded:       c.Beaded,
		Escape:       c.Escape,
		LeachateL:    c.Leachate,
		Cover:        c.Cover,
		Note:         c.Note,
		Recorded:     recordedToRow(c.Recorded),
		Voided:       voidedToRow(c.Voided),
		Version:      c.Version,
	}
}

func checkFromRow(r checkRow) service.Check {
	return service.Check{
		ID:          service.CheckID(r.ID),
		Bin:         service.BinID(r.BinID),
		At:          momentFromRow(r.Moment),
		Temperature: r.TemperatureC,
		Moisture:    r.MoisturePct,
		Squeeze:     service.Squeeze(r.Squeeze),
		PH:          r.PH,
		Ammonia:     r.Ammonia,
		LeftoverAll: r.LeftoverPct,
		Leftovers:   each(fromArray[leftoverJSON](r.Leftovers), leftoverFromJSON),
		WormsAt:     service.WormsAt(r.WormsAt),
		Pests:       fromArray[string](r.Pests),
		Beaded:      r.Beaded,
		Escape:      r.Escape,
		Leachate:    r.LeachateL,
		Cover:       r.Cover,
		Note:        r.Note,
		Recorded:    recordedFromRow(r.Recorded),
		Voided:      voidedFromRow(r.Voided),
		Version:     r.Version,
	}
}

// newChecks filters by bin, and by member on who recorded; its lists leave out
// what was voided.
func newChecks(db *gorm.DB) table[service.Check, service.CheckID, checkRow] {
	return table[service.Check, service.CheckID, checkRow]{
		db: db, row: checkToRow, value: checkFromRow, missing: service.ErrCheckNotFound,
		dated: true, voids: true, columns: filters{bin: "bin_id", member: "recorded_by"},
	}
}
