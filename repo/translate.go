package repo

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"net"
	"slices"
	"strings"

	"lumbricary.example/service"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// violations says what it means to break a constraint. A constraint that isn't
// here is a backstop: only a mistake of ours can break it.
var violations = map[string]*service.Error{
	"accounts_email_key":         service.ErrEmailTaken,
	"clubs_handle_key":           service.ErrHandleTaken,
	"members_account_key":        service.ErrMemberTaken,
	"members_name_key":           service.ErrMemberNameTaken,
	"sites_name_key":             service.ErrSiteNameTaken,
	"bins_name_key":              service.ErrBinNameTaken,
	"materials_name_key":         service.ErrMaterialNameTaken,
	"measures_name_key":          service.ErrMeasureNameTaken,
	"cultures_name_key":          service.ErrCultureNameTaken,
	"origins_name_key":           service.ErrOriginNameTaken,
	"batches_lot_number_key":     service.ErrLotNumberTaken,
	"lot_numbers_pkey":           service.ErrLotNumberTaken,
	"movements_reverses_key":     service.ErrReversedBefore,
	"books_never_negative_check": service.ErrMoreThanBook,

	"accounts_pkey":        service.ErrIDTaken,
	"clubs_pkey":           service.ErrIDTaken,
	"members_pkey":         service.ErrIDTaken,
	"invitations_pkey":     service.ErrIDTaken,
	"api_keys_pkey":        service.ErrIDTaken,
	"sites_pkey":           service.ErrIDTaken,
	"bins_pkey":            service.ErrIDTaken,
	"materials_pkey":       service.ErrIDTaken,
	"measures_pkey":        service.ErrIDTaken,
	"cultures_pkey":        service.ErrIDTaken,
	"origins_pkey":         service.ErrIDTaken,
	"batches_pkey":         service.ErrIDTaken,
	"receipts_pkey":        service.ErrIDTaken,
	"turnouts_pkey":        service.ErrIDTaken,
	"batch_steps_pkey":     service.ErrIDTaken,
	"reworks_pkey":         service.ErrIDTaken,
	"movements_pkey":       service.ErrIDTaken,
	"feedings_pkey":        service.ErrIDTaken,
	"checks_pkey":          service.ErrIDTaken,
	"censuses_pkey":        service.ErrIDTaken,
	"harvests_pkey":        service.ErrIDTaken,
	"transfers_pkey":       service.ErrIDTaken,
	"offers_pkey":          service.ErrIDTaken,
	"quarantines_pkey":     service.ErrIDTaken,
	"identifications_pkey": service.ErrIDTaken,
	"contacts_pkey":        service.ErrIDTaken,
	"clearings_pkey":       service.ErrIDTaken,
	"calendars_pkey":       service.ErrIDTaken,
	"webhooks_pkey":        service.ErrIDTaken,
	"deliveries_pkey":      service.ErrIDTaken,
}

// uniqueKeys names the unique keys by their columns, which is all that SQLite
// tells about them.
var uniqueKeys = map[string]string{
	"accounts.email":                             "accounts_email_key",
	"clubs.handle":                               "clubs_handle_key",
	"members.club_id, members.account_id":        "members_account_key",
	"members.club_id, members.name":              "members_name_key",
	"invitations.club_id, invitations.code_hash": "invitations_code_key",
	"api_keys.club_id, api_keys.hash":            "api_keys_hash_key",
	"calendars.club_id, calendars.hash":          "calendars_hash_key",
	"sites.club_id, sites.name":                  "sites_name_key",
	"bins.club_id, bins.name":                    "bins_name_key",
	"materials.club_id, materials.name":          "materials_name_key",
	"measures.club_id, measures.name":            "measures_name_key",
	"cultures.club_id, cultures.name":            "cultures_name_key",
	"origins.club_id, origins.name":              "origins_name_key",
	"batches.club_id, batches.lot_number":        "batches_lot_number_key",
	"movements.club_id, movements.seq":           "movements_seq_key",
	"audit_entries.club_id, audit_entries.seq":   "audit_entries_seq_key",
	"movements.club_id, movements.reverses":      "movements_reverses_key",
}

// errReference is what a broken foreign key means; SQLite doesn't say which.
const errReference = "the record names something that this club doesn't have"

// translate turns a driver error into the domain error it stands for. It is the
// only place that does. Errors: what the violations mean; ErrInvalid for a
// reference to nothing and for a text that can't be stored; ErrBusy;
// ErrNotReady; any other as it is.
func translate(err error) error {
	if err == nil {
		return nil
	}
	if _, ok := errors.AsType[*service.Error](err); ok {
		return err
	}
	if meaning := meaningOf(err); meaning != nil {
		return meaning.Because(err)
	}
	return err
}

func meaningOf(err error) *service.Error {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return meaningOfPG(e)
	}
	if e, ok := errors.AsType[*sqlite.Error](err); ok {
		return meaningOfSQLite(e)
	}
	if unreachable(err) {
		return service.ErrNotReady
	}
	return nil
}

// meaningOfPG goes by the five characters of SQLSTATE.
func meaningOfPG(e *pgconn.PgError) *service.Error {
	switch {
	case e.Code == "23503": // foreign_key_violation
		return service.ErrInvalid.With(errReference)
	case strings.HasPrefix(e.Code, "23"): // integrity constraints
		return violations[e.ConstraintName]
	case e.Code == "22021": // character_not_in_repertoire, as a NUL
		return service.ErrInvalid.With("a text has a character that can't be stored")
	case e.Code == "55P03": // lock_not_available
		return service.ErrBusy
	case strings.HasPrefix(e.Code, "08"), // connections
		strings.HasPrefix(e.Code, "53"),  // resources
		strings.HasPrefix(e.Code, "57P"), // shutdown, start-up
		e.Code == "3D000":                // no such database
		return service.ErrNotReady
	}
	return nil
}

// isReferred reports whether a row stays because another names it.
func isReferred(err error) bool {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return e.Code == "23503" // foreign_key_violation
	}
	e, ok := errors.AsType[*sqlite.Error](err)
	return ok && e.Code() == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY
}

func meaningOfSQLite(e *sqlite.Error) *service.Error {
	switch e.Code() {
	case sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY:
		return service.ErrInvalid.With(errReference)
	case sqlite3.SQLITE_CONSTRAINT_UNIQUE, sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY, sqlite3.SQLITE_CONSTRAINT_CHECK:
		return violations[broken(e)]
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
		return service.ErrNotReady
	}
	return nil
}

// broken returns the name of the constraint that was broken; empty if none was
// or nobody says.
func broken(err error) string {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return e.ConstraintName
	}
	e, ok := errors.AsType[*sqlite.Error](err)
	if !ok {
		return ""
	}
	_, what, _ := strings.Cut(e.Error(), "constraint failed: ")
	if _, more, ok := strings.Cut(what, "constraint failed: "); ok {
		what = more
	}
	what, _, _ = strings.Cut(what, " (")
	switch e.Code() {
	case sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY:
		table, _, _ := strings.Cut(what, ".")
		return table + "_pkey"
	case sqlite3.SQLITE_CONSTRAINT_UNIQUE:
		return uniqueKeys[what]
	}
	return what
}

// retryable reports whether the same transaction may well succeed when it is
// run again.
func retryable(err error) bool {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return e.Code == "40001" || e.Code == "40P01" || // serialization_failure, deadlock_detected
			e.ConstraintName == "monthly_totals_pkey" // two made the first total of a month
	}
	if e, ok := errors.AsType[*sqlite.Error](err); ok {
		return slices.Contains([]int{sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}, e.Code()&0xff)
	}
	return false
}

// waitedTooLong reports whether a lock wasn't free in time.
func waitedTooLong(err error) bool {
	e, ok := errors.AsType[*pgconn.PgError](err)
	return ok && e.Code == "55P03"
}

// unreachable reports whether err says that the database doesn't answer; that
// the caller gave up says nothing about it.
func unreachable(err error) bool {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return false
	}
	if errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone) {
		return true
	}
	_, connecting := errors.AsType[*pgconn.ConnectError](err)
	_, talking := errors.AsType[net.Error](err)
	return connecting || talking
}
