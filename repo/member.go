package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// memberRow is a row of members.
type memberRow struct {
	ClubID    string  `gorm:"column:club_id;primaryKey"`
	ID        string  `gorm:"column:id;primaryKey"`
	AccountID *string `gorm:"column:account_id"`
	Name      string  `gorm:"column:name"`
	Public    string  `gorm:"column:public_name"`
	Role      string  `gorm:"column:role"`
	Created   int64   `gorm:"column:created_at"`
	Left      int64   `gorm:"column:left_at"`
	Version   int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (memberRow) TableName() string { return "members" }

func memberToRow(m service.Member) memberRow {
	return memberRow{
		ID:        string(m.ID),
		AccountID: ref(m.Account),
		Name:      m.Name,
		Public:    m.PublicName,
		Role:      string(m.Role),
		Created:   micros(m.CreatedAt),
		Left:      micros(m.LeftAt),
		Version:   m.Version,
	}
}

func memberFromRow(r memberRow) service.Member {
	return service.Member{
		ID:         service.MemberID(r.ID),
		Account:    unref[service.AccountID](r.AccountID),
		Name:       r.Name,
		PublicName: r.Public,
		Role:       service.Role(r.Role),
		CreatedAt:  fromMicros(r.Created),
		LeftAt:     fromMicros(r.Left),
		Version:    r.Version,
	}
}

// members implements service.MemberRepo.
type members struct {
	table[service.Member, service.MemberID, memberRow]
}

// newMembers filters by kind on the role.
func newMembers(db *gorm.DB) members {
	return members{table[service.Member, service.MemberID, memberRow]{
		db: db, row: memberToRow, value: memberFromRow, missing: service.ErrMemberNotFound,
		columns: filters{kind: "role"},
	}}
}

// ByAccount implements service.MemberRepo. Errors: ErrMemberNotFound.
func (m members) ByAccount(id service.AccountID) (service.Member, error) {
	return m.one("account_id = ?", string(id))
}
