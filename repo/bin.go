package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/unit"

	"gorm.io/gorm"
)

// binRow is a row of bins.
type binRow struct {
	ClubID           string  `gorm:"column:club_id;primaryKey"`
	ID               string  `gorm:"column:id;primaryKey"`
	Name             string  `gorm:"column:name"`
	Kind             string  `gorm:"column:kind"`
	SiteID           string  `gorm:"column:site_id"`
	KeeperID         string  `gorm:"column:keeper_id"`
	StandIns         string  `gorm:"column:stand_ins"` // JSON array of member ids
	SurfaceM2        float64 `gorm:"column:surface_m2"`
	DepthCM          float64 `gorm:"column:depth_cm"`
	Started          int64   `gorm:"column:started_at"`
	StartedPrecision string  `gorm:"column:started_precision"`
	Retired          int64   `gorm:"column:retired_at"`
	RetiredPrecision string  `gorm:"column:retired_precision"`
	RetiredWhy       string  `gorm:"column:retired_why"`
	Note             string  `gorm:"column:note"`
	Created          int64   `gorm:"column:created_at"`
	Version          int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (binRow) TableName() string { return "bins" }

func binToRow(b service.Bin) binRow {
	started, retired := momentToRow(b.Started), momentToRow(b.Retired)
	return binRow{
		ID:               string(b.ID),
		Name:             b.Name,
		Kind:             string(b.Kind),
		SiteID:           string(b.Site),
		KeeperID:         string(b.Keeper),
		StandIns:         toArray(b.StandIns),
		SurfaceM2:        float64(b.Surface),
		DepthCM:          b.DepthCM,
		Started:          started.At,
		StartedPrecision: started.Precision,
		Retired:          retired.At,
		RetiredPrecision: retired.Precision,
		RetiredWhy:       b.RetiredWhy,
		Note:             b.Note,
		Created:          micros(b.CreatedAt),
		Version:          b.Version,
	}
}

func binFromRow(r binRow) service.Bin {
	return service.Bin{
		ID:         service.BinID(r.ID),
		Name:       r.Name,
		Kind:       service.BinKind(r.Kind),
		Site:       service.SiteID(r.SiteID),
		Keeper:     service.MemberID(r.KeeperID),
		StandIns:   fromArray[service.MemberID](r.StandIns),
		Surface:    unit.Area(r.SurfaceM2),
		DepthCM:    r.DepthCM,
		Started:    momentFromRow(momentRow{r.Started, r.StartedPrecision}),
		Retired:    momentFromRow(momentRow{r.Retired, r.RetiredPrecision}),
		RetiredWhy: r.RetiredWhy,
		Note:       r.Note,
		CreatedAt:  fromMicros(r.Created),
		Version:    r.Version,
	}
}

// newBins filters by member on the keeper who answers for the bin.
func newBins(db *gorm.DB) table[service.Bin, service.BinID, binRow] {
	return table[service.Bin, service.BinID, binRow]{
		db: db, row: binToRow, value: binFromRow, missing: service.ErrBinNotFound,
		columns: filters{member: "keeper_id", kind: "kind"},
	}
}
