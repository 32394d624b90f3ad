package repo

import (
	"context"
	"errors"
	"io"

	"lumbricary.example/service"
	"lumbricary.example/service/archive"

	"gorm.io/gorm"
)

// inArchive names the club tables whose rows an archive carries.
var inArchive = set(
	"members", "api_keys", "sites", "bins", "materials", "measures", "receipts", "cultures", "origins", "batches",
	"lot_numbers", "reworks", "rework_parts", "batch_steps", "movements", "postings", "quarantines", "identifications",
	"late_entries", "feedings", "feeding_items", "checks", "censuses", "harvests", "transfers", "transfer_places", "offers",
	"turnouts", "contacts", "contact_bins", "clearings",
	"audit_entries", "erasures",
)

// notInArchive says of the other club tables why theirs stay out.
var notInArchive = map[string]string{
	"invitations":      "hashes of codes, and e-mail addresses of people who are no members",
	"idempotency_keys": "answers that are kept for a week, under accounts of this service",
	"books":            "derived from the journal",
	"lots":             "derived from the journal",
	"lot_parents":      "derived from the journal",
	"bin_events":       "derived from the records",
	"monthly_totals":   "derived from the records",
	"calendars":        "links that let in to this service",
	"webhooks":         "addresses that this service tells, with secrets of its key",
	"deliveries":       "what this service told them",
}

// insteadOf tells what an archive has in the place of what a column holds: a member
// travels without account and without its word that it may be named in public, and an API key that the audit names as one that
// ended and that nobody has.
var insteadOf = map[string]map[string]string{
	"members":  {"account_id": "NULL", "public_name": "''"},
	"api_keys": {"hash": "'none:' || id", "revoked_at": "COALESCE(NULLIF(revoked_at, 0), NULLIF(last_used_at, 0), created_at)"},
}

// clubPart is the part with the club's own row, which comes first.
const clubPart = "clubs"

// stored implements service.Rows.
type stored struct {
	copier
	club   service.ClubID
	schema int64
}

// storedRows are the rows of the club that a transaction is bound to.
func (v visit) storedRows(club service.ClubID) stored {
	return stored{copier{v.conn, v.ctx, v.postgres}, club, v.version}
}

// Copy implements service.Rows. Errors: the driver's, the writer's.
func (s stored) Copy(to io.Writer) (archive.Sum, error) {
	tables, err := s.tables()
	if err != nil {
		return archive.Sum{}, err
	}
	w, err := archive.NewWriter(to, archive.Header{Kind: archive.Club, Club: string(s.club), Schema: s.schema})
	if err != nil {
		return archive.Sum{}, err
	}
	for _, t := range tables {
		if err := w.Part(t.name); err != nil {
			return archive.Sum{}, err
		}
		by := "club_id"
		if t.name == clubPart {
			by = "id"
		}
		if err := s.out(t.without("club_id"), by, string(s.club), insteadOf[t.name], w); err != nil {
			return archive.Sum{}, translate(err)
		}
	}
	return w.Close()
}

// tables are those that travel, the club's own row first.
func (s stored) tables() ([]relation, error) {
	all, err := tablesOf(s.ctx, s, s.postgres)
	if err != nil {
		return nil, translate(err)
	}
	var club, others []relation
	for _, t := range all {
		switch {
		case t.name == clubPart:
			club = append(club, t)
		case inArchive[t.name]:
			others = append(others, t)
		}
	}
	return append(club, others...), nil
}

// put adds the rows of an archive of the club, which isn't here yet. Errors:
// archive.FaultError, ErrHandleTaken, ErrIDTaken, the driver's.
func (s stored) put(from *archive.Reader) error {
	tables, err := s.tables()
	if err != nil {
		return err
	}
	return taken(s.parts(tables, string(s.club), from))
}

// taken is what err means, or that the club is there. Errors: ErrHandleTaken,
// ErrIDTaken, archive.FaultError, those of translate.
func taken(err error) error {
	switch broken(err) {
	case "clubs_handle_key":
		return service.ErrHandleTaken.With("a club with the handle of this one is here already").Because(err)
	case "clubs_pkey":
		return service.ErrIDTaken.With("the club of this archive is here already").Because(err)
	}
	if _, faulty := errors.AsType[archive.FaultError](err); faulty {
		return err
	}
	return translate(err)
}

// Admit implements service.Store. Errors: archive.FaultError, OlderError, NewerError,
// ErrHandleTaken, ErrIDTaken, ErrBusy, ErrNotReady, fn's.
func (s *Store) Admit(ctx context.Context, from *archive.Reader, fn func(service.Tx) error) error {
	if _, ok := joined(ctx, s); ok || inside(pass, passOnce) {
		return errNested
	}
	switch schema := from.Header().Schema; {
	case schema < s.version:
		return OlderError{Database: schema, Program: s.version}
	case schema > s.version:
		return NewerError{Database: schema, Program: s.version}
	}
	return s.transact(ctx, s.write, nil, func(conn gorm.ConnPool) error {
		v := visit{Store: s, ctx: ctx, conn: conn, write: true}
		club := service.ClubID(from.Header().Club)
		rows := v.storedRows(club)
		if err := rows.bind(string(club)); err != nil {
			return translate(err)
		}
		if err := rows.put(from); err != nil {
			return err
		}
		return v.club(club, fn)
	})
}

// Upgrade makes a SQLite file at path of an archive whose schema is older than the
// program's, and opens it: the club is there in the program's schema, without what
// is derived. Errors: archive.FaultError, ErrNotEmpty, those of Open.
func Upgrade(ctx context.Context, path string, from *archive.Reader) (*Store, error) {
	h := from.Header()
	if err := touch(path); err != nil {
		return nil, err
	}
	err := load(ctx, path, from, func(c copier) error { return stored{c, service.ClubID(h.Club), h.Schema}.put(from) })
	if err != nil {
		return nil, err
	}
	return Open(ctx, path, Options{restoring: true})
}
