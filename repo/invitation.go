package repo

import (
	"lumbricary.example/service"

	"gorm.io/gorm"
)

// invitationRow is a row of invitations.
type invitationRow struct {
	ClubID    string  `gorm:"column:club_id;primaryKey"`
	ID        string  `gorm:"column:id;primaryKey"`
	MemberID  *string `gorm:"column:member_id"`
	Email     string  `gorm:"column:email"`
	Name      string  `gorm:"column:name"`
	Role      string  `gorm:"column:role"`
	CodeHash  string  `gorm:"column:code_hash"`
	InvitedBy string  `gorm:"column:invited_by"`
	Created   int64   `gorm:"column:created_at"`
	Expires   int64   `gorm:"column:expires_at"`
	Used      int64   `gorm:"column:used_at"`
	Revoked   int64   `gorm:"column:revoked_at"`
	Version   int64   `gorm:"column:version"`
}

// TableName returns the name of the table.
func (invitationRow) TableName() string { return "invitations" }

func invitationToRow(i service.Invitation) invitationRow {
	return invitationRow{
		ID:        string(i.ID),
		MemberID:  ref(i.Member),
		Email:     i.Email,
		Name:      i.Name,
		Role:      string(i.Role),
		CodeHash:  i.CodeHash,
		InvitedBy: string(i.InvitedBy),
		Created:   micros(i.CreatedAt),
		Expires:   micros(i.ExpiresAt),
		Used:      micros(i.UsedAt),
		Revoked:   micros(i.RevokedAt),
		Version:   i.Version,
	}
}

func invitationFromRow(r invitationRow) service.Invitation {
	return service.Invitation{
		ID:        service.InvitationID(r.ID),
		Member:    unref[service.MemberID](r.MemberID),
		Email:     r.Email,
		Name:      r.Name,
		Role:      service.Role(r.Role),
		CodeHash:  r.CodeHash,
		InvitedBy: service.MemberID(r.InvitedBy),
		CreatedAt: fromMicros(r.Created),
		ExpiresAt: fromMicros(r.Expires),
		UsedAt:    fromMicros(r.Used),
		RevokedAt: fromMicros(r.Revoked),
		Version:   r.Version,
	}
}

// invitations implements service.InvitationRepo.
type invitations struct {
	table[service.Invitation, service.InvitationID, invitationRow]
}

// newInvitations filters by member on who joins, by kind on the role.
func newInvitations(db *gorm.DB) invitations {
	return invitations{table[service.Invitation, service.InvitationID, invitationRow]{
		db: db, row: invitationToRow, value: invitationFromRow, missing: service.ErrInvitationNotFound,
		columns: filters{member: "member_id", kind: "role"},
	}}
}

// ByCode implements service.InvitationRepo. Errors: ErrInvitationNotFound.
func (i invitations) ByCode(hash string) (service.Invitation, error) {
	return i.one("code_hash = ?", hash)
}
