package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// siteRow is a row of sites.
type siteRow struct {
	ClubID  string `gorm:"column:club_id;primaryKey"`
	ID      string `gorm:"column:id;primaryKey"`
	Name    string `gorm:"column:name"`
	Address string `gorm:"column:address"`
	OwnerID string `gorm:"column:owner_id"`
	Note    string `gorm:"column:note"`
	Created int64  `gorm:"column:created_at"`
	Version int64  `gorm:"column:version"`
}

// TableName returns the name of the table.
func (siteRow) TableName() string { return "sites" }

func siteToRow(s service.Site) siteRow {
	return siteRow{
		ID:      string(s.ID),
		Name:    s.Name,
		Address: s.Address,
		OwnerID: string(s.Owner),
		Note:    s.Note,
		Created: micros(s.CreatedAt),
		Version: s.Version,
	}
}

func siteFromRow(r siteRow) service.Site {
	return service.Site{
		ID:        service.SiteID(r.ID),
		Name:      r.Name,
		Address:   r.Address,
		Owner:     service.MemberID(r.OwnerID),
		Note:      r.Note,
		CreatedAt: fromMicros(r.Created),
		Version:   r.Version,
	}
}

// newSites filters by member on the owner.
func newSites(db *gorm.DB) table[service.Site, service.SiteID, siteRow] {
	return table[service.Site, service.SiteID, siteRow]{
		db: db, row: siteToRow, value: siteFromRow, missing: service.ErrSiteNotFound,
		columns: filters{member: "owner_id"},
	}
}
