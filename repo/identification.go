package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// identificationRow is a row of identifications.
type identificationRow struct {
	ClubID       string      `gorm:"column:club_id;primaryKey"`
	ID           string      `gorm:"column:id;primaryKey"`
	LotID        string      `gorm:"column:lot_id"`
	SpeciesID    string      `gorm:"column:species_id"`
	Moment       momentRow   `gorm:"embedded"`
	Method       string      `gorm:"column:method"`
	Specimens    int64       `gorm:"column:specimens"`
	IdentifiedBy string      `gorm:"column:identified_by"`
	Note         string      `gorm:"column:note"`
	Recorded     recordedRow `gorm:"embedded"`
	Voided       voidedRow   `gorm:"embedded"`
	Version      int64       `gorm:"column:version"`
}

// TableName returns the name of the table.
func (identificationRow) TableName() string { return "identifications" }

func identificationToRow(i service.Identification) identificationRow {
	return identificationRow{
		ID:           string(i.ID),
		LotID:        string(i.Lot),
		SpeciesID:    string(i.Species),
		Moment:       momentToRow(i.At),
		Method:       string(i.Method),
		Specimens:    i.Specimens,
		IdentifiedBy: i.IdentifiedBy,
		Note:         i.Note,
		Recorded:     recordedToRow(i.Recorded),
		Voided:       voidedToRow(i.Voided),
		Version:      i.Version,
	}
}

func identificationFromRow(r identificationRow) service.Identification {
	return service.Identification{
		ID:           service.IdentificationID(r.ID),
		Lot:          service.LotID(r.LotID),
		Species:      service.SpeciesID(r.SpeciesID),
		At:           momentFromRow(r.Moment),
		Method:       service.IdentificationMethod(r.Method),
		Specimens:    r.Specimens,
		IdentifiedBy: r.IdentifiedBy,
		Note:         r.Note,
		Recorded:     recordedFromRow(r.Recorded),
		Voided:       voidedFromRow(r.Voided),
		Version:      r.Version,
	}
}

// newIdentifications filters by species found, by record on the lot, and by
// member on who recorded; its lists leave out what was voided.
func newIdentifications(db *gorm.DB) table[service.Identification, service.IdentificationID, identificationRow] {
	return table[service.Identification, service.IdentificationID, identificationRow]{
		db: db, row: identificationToRow, value: identificationFromRow, missing: service.ErrIdentificationNotFound,
		dated: true, voids: true, columns: filters{record: "lot_id", species: "species_id", member: "recorded_by"},
	}
}
