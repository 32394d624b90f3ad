package service

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/due"
	"lumbricary.example/service/unit"
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
type UnitSystem = unit.System

// The unit systems.
const (
	Metric      = unit.Metric
	USCustomary = unit.USCustomary
)

// SeasonRule is what the club's current season is.
type SeasonRule string

// The rules.
const (
	BySeasons  SeasonRule = "seasons"  // meteorological, by hemisphere
	ByQuarters SeasonRule = "quarters" // of the calendar year
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
	SeasonBy       SeasonRule
	PromiseDays    int      // how long stock is kept for a transfer
	AllowedOrigins []string // web pages that may call the private interface
	ClosedUntil    Day      // the last day of the closed books; empty: all is open
	ClosedWhy      string   // why that day was set
	QuarantineDays int      // of an arrival in an empty bin; 0: none begins by itself
	CopyPct        int      // from how many per cent of a culture a lot is a copy of it
	Due            due.Rules
	PublishSeason  bool // everybody may read the figures of its seasons …
	PublishOffers  bool // … and its offers
	CreatedAt      time.Time
	Version        int64
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
type Clubs struct {
	*Desk
	gate Gate
}

var handleForm = regexp.MustCompile(`^[a-z0-9](?:[a-z0-9-]{1,38}[a-z0-9])$`)

// Found starts a club whose first steward is the account. Empty settings become
// metric, northern, 10 years, by seasons, promises of 14 days, copies from 80 %, due.Default. Errors: ErrInvalid, ErrHandleTaken, ErrIDTaken.
func (s Clubs) Found(ctx context.Context, founder Account, c Club) (Club, Member, error) {
	return s.found(ctx, founder, c, func(Shared) error { return nil })
}

// found is Found where admit lets it, in the same transaction. Errors: those of
// Found, admit's.
func (s Clubs) found(ctx context.Context, founder Account, c Club, admit func(Shared) error) (Club, Member, error) {
	now := s.Now().Truncate(time.Microsecond)
	c.CreatedAt, c.Version = now, 1
	if c.SeasonBy == "" {
		c.SeasonBy = BySeasons
	}
	if c.Hemisphere == "" {
		c.Hemisphere = North
	}
	if c.Units == "" {
		c.Units = Metric
	}
	if c.RetentionYears == 0 {
		c.RetentionYears = 10
	}
	if c.PromiseDays == 0 {
		c.PromiseDays = 14
	}
	if c.CopyPct == 0 {
		c.CopyPct = 80
	}
	if c.Due == (due.Rules{}) {
		c.Due = due.Default()
	}
	if c.ID == "" {
		c.ID = ClubID(s.NewID())
	}
	if err := c.validate(); err != nil {
		return Club{}, Member{}, err
	}
	m := Member{ID: MemberID(s.NewID()), Account: founder.ID, Name: founder.Name, Role: Steward, CreatedAt: now, Version: 1}
	err := s.Store.UpdateShared(ctx, func(sh Shared) error {
		if err := admit(sh); err != nil {
			return err
		}
		return sh.Clubs.Insert(c, m)
	})
	return c, m, err
}

// Get returns the actor's club. Errors: ErrClubNotFound; ErrForbidden for an API
// key that isn't for reading.
func (s Clubs) Get(ctx context.Context, a Actor) (Club, error) {
	return read(ctx, s.Desk, a, func(w *work) (Club, error) { return w.Club, nil })
}

// Custom is how a club reads what it is shown.
type Custom struct {
	Zone  *time.Location
	Units UnitSystem
}

// Custom returns the custom of the actor's club, in which answers to every actor
// are written. Errors: ErrClubNotFound.
func (s Clubs) Custom(ctx context.Context, a Actor) (Custom, error) {
	return view(ctx, s.Desk, a, func(w *work) (Custom, error) { return Custom{w.zone, w.Club.Units}, nil })
}

// Change replaces the settings of the actor's club, whose version must be the
// one that the caller saw; its id, handle and founding stay. Errors:
// ErrClubNotFound, ErrForbidden for all but stewards, ErrInvalid, ErrStale.
func (s Clubs) Change(ctx context.Context, a Actor, version int64, c Club) (Club, error) {
	c.Version = version
	return write(ctx, s.Desk, a, func(w *work) (Club, error) { return w.changeClub(c) })
}

// changeClub replaces the settings of the member's club, whose version must be
// c.Version; its id, handle and founding stay, and what is closed. Errors: ErrForbidden, ErrInvalid,
// ErrStale.
func (w *work) changeClub(c Club) (Club, error) {
	if err := w.may(ChangeClub); err != nil {
		return Club{}, err
	}
	c.ID, c.Handle, c.CreatedAt = w.Club.ID, w.Club.Handle, w.Club.CreatedAt
	c.ClosedUntil, c.ClosedWhy = w.Club.ClosedUntil, w.Club.ClosedWhy
	if err := c.validate(); err != nil {
		return Club{}, err
	}
	if err := w.Settings.Update(c); err != nil {
		return Club{}, err
	}
	c.Version++
	return c, nil
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
	if c.PromiseDays < 1 || c.PromiseDays > 365 {
		faults.Add("/promise_days", "range", "use 1 to 365 days")
	}
	if c.QuarantineDays < 0 || c.QuarantineDays > maxQuarantineDays {
		faults.Add("/quarantine_days", "range", "use 0 to %d days", maxQuarantineDays)
	}
	if c.CopyPct < 50 || c.CopyPct > 100 {
		faults.Add("/copy_pct", "range", "use a whole number from 50 to 100")
	}
	checkWord(&faults, "/season_by", c.SeasonBy, BySeasons, ByQuarters)
	checkOrigins(&faults, "/allowed_origins", c.AllowedOrigins)
	checkDueRules(&faults, "/due", c.Due)
	return faults.Err()
}

var currencyForm = regexp.MustCompile(`^[A-Z]{3}$`)

// maxOrigins is how many web pages a club may let in.
const maxOrigins = 20

// originForm is an origin as browsers send it (RFC 6454, section 6.2): no path,
// no port that is the scheme's own.
var originForm = regexp.MustCompile(`^(?:https://[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?|http://(?:localhost|127\.0\.0\.1|\[::1\]))(?::[1-9][0-9]{0,4})?$`)

// checkOrigins notes a fault for each text that is no origin, or comes twice.
// Plain http is for programs on the caller's own machine.
func checkOrigins(faults *Faults, pointer string, origins []string) {
	if len(origins) > maxOrigins {
		faults.Add(pointer, "range", "a club lets in %d origins at most", maxOrigins)
	}
	for i, o := range origins {
		at := fmt.Sprintf("%s/%d", pointer, i)
		switch {
		case !originForm.MatchString(o) || len(o) > maxOriginBytes || strings.HasSuffix(o, ":443") || strings.HasPrefix(o, "http:") && strings.HasSuffix(o, ":80"):
			faults.Add(at, "format", "give an origin in lower case, as https://club.example, without a path")
		case slices.Contains(origins[:i], o):
			faults.Add(at, "repeated", "give each origin once")
		}
	}
}

// maxOriginBytes is as long as a name of the DNS with scheme and port.
const maxOriginBytes = 270
