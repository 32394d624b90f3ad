package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// originRow is a row of origins.
type originRow struct {
	ClubID    string  `gorm:"column:club_id;primaryKey"`
	ID        string  `gorm:"column:id;primaryKey"`
	Name      string  `gorm:"column:name"`
	Kind      string  `gorm:"column:kind"`
	SpeciesID string  `gorm:"column:species_id"`
	CultureID *string `gorm:"column:culture_id"`
	Note      string  `gorm:"column:note"`
	Created   int64   `gorm:"column:created_at"`
	Version   int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (originRow) TableName() string { return "origins" }

func originToRow(o service.Origin) originRow {
	return originRow{
		ID:        string(o.ID),
		Name:      o.Name,
		Kind:      string(o.Kind),
		SpeciesID: string(o.Species),
		CultureID: ref(o.Culture),
		Note:      o.Note,
		Created:   micros(o.CreatedAt),
		Version:   o.Version,
	}
}

func originFromRow(r originRow) service.Origin {
	return service.Origin{
		ID:        service.OriginID(r.ID),
		Name:      r.Name,
		Kind:      service.OriginKind(r.Kind),
		Species:   service.SpeciesID(r.SpeciesID),
		Culture:   unref[service.CultureID](r.CultureID),
		Note:      r.Note,
		CreatedAt: fromMicros(r.Created),
		Version:   r.Version,
	}
}

// newOrigins filters by kind and species.
func newOrigins(db *gorm.DB) table[service.Origin, service.OriginID, originRow] {
	return table[service.Origin, service.OriginID, originRow]{
		db: db, row: originToRow, value: originFromRow, missing: service.ErrOriginNotFound,
		columns: filters{species: "species_id", kind: "kind"},
	}
}

// cultureRow is a row of cultures.
type cultureRow struct {
	ClubID     string  `gorm:"column:club_id;primaryKey"`
	ID         string  `gorm:"column:id;primaryKey"`
	Name       string  `gorm:"column:name"`
	SpeciesID  string  `gorm:"column:species_id"`
	Note       string  `gorm:"column:note"`
	MergedInto *string `gorm:"column:merged_into"`
	Moved      string  `gorm:"column:moved_origins"` // JSON array of origin ids
	Published  bool    `gorm:"column:published"`
	Created    int64   `gorm:"column:created_at"`
	Version    int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (cultureRow) TableName() string { return "cultures" }

func cultureToRow(c service.Culture) cultureRow {
	return cultureRow{
		ID:         string(c.ID),
		Name:       c.Name,
		SpeciesID:  string(c.Species),
		Note:       c.Note,
		MergedInto: ref(c.MergedInto),
		Moved:      toArray(c.Moved),
		Published:  c.Published,
		Created:    micros(c.CreatedAt),
		Version:    c.Version,
	}
}

func cultureFromRow(r cultureRow) service.Culture {
	return service.Culture{
		ID:         service.CultureID(r.ID),
		Name:       r.Name,
		Species:    service.SpeciesID(r.SpeciesID),
		Note:       r.Note,
		MergedInto: unref[service.CultureID](r.MergedInto),
		Moved:      fromArray[service.OriginID](r.Moved),
		Published:  r.Published,
		CreatedAt:  fromMicros(r.Created),
		Version:    r.Version,
	}
}

// newCultures filters by species.
func newCultures(db *gorm.DB) table[service.Culture, service.CultureID, cultureRow] {
	return table[service.Culture, service.CultureID, cultureRow]{
		db: db, row: cultureToRow, value: cultureFromRow, missing: service.ErrCultureNotFound,
		columns: filters{species: "species_id"},
	}
}
