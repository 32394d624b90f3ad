package service

import (
	"context"
	"regexp"
	"time"
)

// Hemisphere decides which months a season has.
type Hemisphere string

// The hemispheres. Clubs in the tropics report by quarters and may choose
// either.
const (
	North Hemisphere = "north"
	South Hemisphere = "south"
)

// UnitSystem is what the club reads its figures in.
type UnitSystem string

// The unit systems.
const (
	Metric      UnitSystem = "metric"
	USCustomary UnitSystem = "us"
)

// Club is the tenant: a club or a farm.
type Club struct {
	ID             ClubID
	Handle         string // public name in addresses: a–z, 0–9, hyphens
	Name           string
	TimeZone       string // IANA name
	Hemisphere     Hemisphere
	Units          UnitSystem
	Currency       string // ISO 4217
	RetentionYears int
	CreatedAt      time.Time
}

// Zone returns the club's time zone. A stored club has a valid one.
func (c Club) Zone() *time.Location {
	zone, err := time.LoadLocation(c.TimeZone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// Clubs are the use-cases on clubs themselves.
type Clubs struct{ *Desk }

var handleForm = regexp.MustCompile(`^[a-z0-9](?:[a-z0-9-]{1,38}[a-z0-9])$`)

// Found starts a club whose first steward is the account. Empty settings become
// metric, northern, 10 years. Errors: ErrInvalid, ErrHandleTaken, ErrIDTaken.
func (s Clubs) Found(ctx context.Context, founder Account, c Club) (Club, Member, error) {
	now := s.Now().Truncate(time.Microsecond)
	c.CreatedAt = now
	if c.Hemisphere == "" {
		c.Hemisphere = North
	}
	if c.Units == "" {
		c.Units = Metric
	}
	if c.RetentionYears == 0 {
		c.RetentionYears = 10
	}
	if c.ID == "" {
		c.ID = ClubID(s.NewID())
	}
	if err := c.validate(); err != nil {
		return Club{}, Member{}, err
	}
	m := Member{ID: MemberID(s.NewID()), Account: founder.ID, Name: founder.Name, Role: Steward, CreatedAt: now, Version: 1}
	err := s.Store.UpdateShared(ctx, func(sh Shared) error { return sh.Clubs.Insert(c, m) })
	return c, m, err
}

// Founding is the operator's word on who may found a club by the API.
type Founding string

// The policies.
const (
	FoundingFirst  Founding = "first" // the first account only
	FoundingOpen   Founding = "open"
	FoundingClosed Founding = "closed"
)

// FoundAs is Found for an account that asks by the API. Errors: as Found, and
// ErrFoundingClosed, ErrSignIn.
func (s Clubs) FoundAs(ctx context.Context, id AccountID, c Club) (Club, Member, error) {
	var founder Account
	err := s.Store.ViewShared(ctx, func(sh Shared) (err error) {
		if founder, err = sh.Accounts.ByID(id); err != nil {
			return ErrSignIn
		}
		n, err := sh.Accounts.Count()
		if s.Founding == FoundingClosed || s.Founding != FoundingOpen && n > 1 {
			return ErrFoundingClosed
		}
		return err
	})
	if err != nil {
		return Club{}, Member{}, err
	}
	return s.Found(ctx, founder, c)
}

// Get returns the actor's club. Errors: ErrClubNotFound.
func (s Clubs) Get(ctx context.Context, a Actor) (Club, error) {
	return read(ctx, s.Desk, a, func(w *work) (Club, error) { return w.Club, nil })
}

func (c Club) validate() error {
	var faults Faults
	if !validID(string(c.ID)) {
		faults.Add("/id", "format", "an id is a UUID in lower case")
	}
	if !handleForm.MatchString(c.Handle) {
		faults.Add("/handle", "format", "a handle has 3 to 40 of a-z, 0-9 and hyphens, with no hyphen at its ends")
	}
	checkName(&faults, "/name", c.Name)
	if _, err := time.LoadLocation(c.TimeZone); err != nil || c.TimeZone == "" || c.TimeZone == "Local" {
		faults.Add("/time_zone", "unknown", "use an IANA time zone, as Europe/Lisbon")
	}
	checkWord(&faults, "/hemisphere", c.Hemisphere, North, South)
	checkWord(&faults, "/units", c.Units, Metric, USCustomary)
	if !currencyForm.MatchString(c.Currency) {
		faults.Add("/currency", "format", "use an ISO 4217 code of three capital letters, as EUR")
	}
	if c.RetentionYears < 1 || c.RetentionYears > 100 {
		faults.Add("/retention_years", "range", "use 1 to 100 years")
	}
	return faults.Err()
}

var currencyForm = regexp.MustCompile(`^[A-Z]{3}$`)
