package repo

import (
	"lumbricary.example/service"
	"lumbricary.example/service/due"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// clubRow is a row of clubs.
type clubRow struct {
	ID             string `gorm:"primaryKey"`
	Handle         string
	Name           string
	TimeZone       string
	Hemisphere     string
	Units          string
	Currency       string
	RetentionYears int64
	SeasonBy       string
	PromiseDays    int64
	AllowedOrigins string // JSON array
	ClosedUntil    string
	ClosedWhy      string
	QuarantineDays int64
	CopyPct        int64
	DueRules       string // JSON; empty: due.Default
	PublishSeason  bool
	PublishOffers  bool
	CreatedAt      int64 `gorm:"autoCreateTime:false"`
	Version        int64
}

// TableName implements gorm's Tabler.
func (clubRow) TableName() string { return "clubs" }

func clubRowOf(c service.Club) clubRow {
	return clubRow{
		ID: string(c.ID), Handle: c.Handle, Name: c.Name, TimeZone: c.TimeZone,
		Hemisphere: string(c.Hemisphere), Units: string(c.Units), Currency: c.Currency,
		RetentionYears: int64(c.RetentionYears), SeasonBy: string(c.SeasonBy), PromiseDays: int64(c.PromiseDays), AllowedOrigins: toArray(c.AllowedOrigins),
		ClosedUntil: string(c.ClosedUntil), ClosedWhy: c.ClosedWhy, QuarantineDays: int64(c.QuarantineDays), CopyPct: int64(c.CopyPct), DueRules: toJSON(c.Due),
		PublishSeason: c.PublishSeason, PublishOffers: c.PublishOffers,
		CreatedAt: micros(c.CreatedAt), Version: c.Version,
	}
}

func (r clubRow) club() service.Club {
	return service.Club{
		ID: service.ClubID(r.ID), Handle: r.Handle, Name: r.Name, TimeZone: r.TimeZone,
		Hemisphere: service.Hemisphere(r.Hemisphere), Units: service.UnitSystem(r.Units), Currency: r.Currency,
		RetentionYears: int(r.RetentionYears), SeasonBy: service.SeasonRule(r.SeasonBy), PromiseDays: int(r.PromiseDays), AllowedOrigins: fromArray[string](r.AllowedOrigins),
		ClosedUntil: service.Day(r.ClosedUntil), ClosedWhy: r.ClosedWhy, QuarantineDays: int(r.QuarantineDays), CopyPct: int(r.CopyPct), Due: dueRules(r.DueRules),
		PublishSeason: r.PublishSeason, PublishOffers: r.PublishOffers,
		CreatedAt: fromMicros(r.CreatedAt), Version: r.Version,
	}
}

// dueRules reads the rules of a club, which has the default ones until it changes
// any.
func dueRules(text string) due.Rules {
	if text == "" {
		return due.Default()
	}
	return fromJSON[due.Rules](text)
}

// membershipRow is a row of memberships.
type membershipRow struct {
	AccountID string `gorm:"primaryKey"`
	ClubID    string `gorm:"primaryKey"`
}

// TableName implements gorm's Tabler.
func (membershipRow) TableName() string { return "memberships" }

// clubs implements service.ClubRepo.
type clubs struct {
	db     *gorm.DB
	within func(service.ClubID, func(*gorm.DB) error) error // the door of a new club
}

// Insert implements service.ClubRepo. Errors: ErrHandleTaken, ErrIDTaken.
func (s clubs) Insert(c service.Club, founder service.Member) error {
	r := clubRowOf(c)
	if err := s.db.Create(&r).Error; err != nil {
		return translate(err)
	}
	if founder.Account != "" {
		if err := s.Join(c.ID, founder.Account); err != nil {
			return err
		}
	}
	return s.within(c.ID, func(db *gorm.DB) error {
		if err := newMembers(db).Insert(founder); err != nil {
			return err
		}
		return totals{db}.Replace(nil)
	})
}

// ByRef implements service.ClubRepo. A club whose id is ref comes before one
// whose handle it is. Errors: ErrClubNotFound.
func (s clubs) ByRef(ref string) (service.Club, error) {
	found, err := s.list("id = ? OR handle = ?", ref, ref)
	for _, c := range found {
		if string(c.ID) == ref {
			return c, nil
		}
	}
	return first(found, err)
}

// byID finds a club by its id. Errors: ErrClubNotFound.
func (s clubs) byID(id service.ClubID) (service.Club, error) {
	return first(s.list("id = ?", string(id)))
}

// All implements service.ClubRepo. Errors: the driver's.
func (s clubs) All() ([]service.Club, error) { return s.list("id <> ?", "") }

// Of implements service.ClubRepo. Errors: the driver's.
func (s clubs) Of(account service.AccountID) ([]service.Club, error) {
	var ids []string
	err := s.db.Model(new(membershipRow)).Where("account_id = ?", string(account)).Pluck("club_id", &ids).Error
	if err != nil || len(ids) == 0 {
		return nil, translate(err)
	}
	return s.list("id IN ?", ids)
}

// Join implements service.ClubRepo. Joining twice is joining. Errors:
// ErrInvalid when there is no such club or account.
func (s clubs) Join(club service.ClubID, account service.AccountID) error {
	r := membershipRow{AccountID: string(account), ClubID: string(club)}
	return translate(s.db.Clauses(clause.OnConflict{DoNothing: true}).Create(&r).Error)
}

// Leave implements service.ClubRepo. Errors: the driver's.
func (s clubs) Leave(account service.AccountID) error {
	return translate(s.db.Where("account_id = ?", string(account)).Delete(new(membershipRow)).Error)
}

// list returns the clubs that meet a condition, by handle. Errors: the driver's.
func (s clubs) list(condition string, values ...any) ([]service.Club, error) {
	var rows []clubRow
	if err := s.db.Where(condition, values...).Order("handle").Find(&rows).Error; err != nil {
		return nil, translate(err)
	}
	out := make([]service.Club, len(rows))
	for i, r := range rows {
		out[i] = r.club()
	}
	return out, nil
}

// first returns the first of found. Errors: ErrClubNotFound, err.
func first(found []service.Club, err error) (service.Club, error) {
	switch {
	case err != nil:
		return service.Club{}, err
	case len(found) == 0:
		return service.Club{}, service.ErrClubNotFound
	}
	return found[0], nil
}

// settings implements service.SettingsRepo: it reaches the row of one club.
type settings struct {
	db   *gorm.DB // through the door of the shared tables
	club service.ClubID
}

// Update implements service.SettingsRepo. Errors: ErrStale, the driver's.
func (s settings) Update(c service.Club) error {
	r := clubRowOf(c)
	r.Version++
	done := s.db.Model(new(clubRow)).Where("id = ? AND version = ?", string(s.club), c.Version).
		Select("*").Omit("id", "handle", "created_at").Updates(&r)
	if done.Error == nil && done.RowsAffected == 0 {
		return service.ErrStale
	}
	return translate(done.Error)
}
