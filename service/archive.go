package service

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"lumbricary.example/service/archive"
	"lumbricary.example/service/proof"
)

// Admitted is a club that came out of an archive.
type Admitted struct {
	Club     Club
	Sum      archive.Sum
	Stewards []string // by name, who come back by an invitation
	Erased   int      // members that were erased again
}

// ArchiveOf writes an archive of a club, from one snapshot, and returns its sum.
// What was written where it fails is no archive. Errors: ErrClubNotFound, the
// store's, to's.
func (s *Service) ArchiveOf(ctx context.Context, club string, to io.Writer) (archive.Sum, error) {
	c, err := s.club(ctx, club)
	if err != nil {
		return archive.Sum{}, err
	}
	var sum archive.Sum
	begun := false
	err = s.Store.View(ctx, c.ID, func(tx Tx) (err error) {
		if begun { // to has part of an archive already
			return ErrBusy
		}
		begun = true
		sum, err = tx.Rows.Copy(to)
		return err
	})
	return sum, err
}

// Archive writes an archive of the actor's club. Errors: ErrClubNotFound,
// ErrForbidden for all but stewards, the store's, to's.
func (s BookRecords) Archive(ctx context.Context, a Actor, to io.Writer) error {
	_, err := view(ctx, s.Desk, a, func(w *work) (archive.Sum, error) {
		if err := w.may(ExportRecords); err != nil {
			return archive.Sum{}, err
		}
		return w.Rows.Copy(to)
	})
	return err
}

// Admit makes a club of its archive, or nothing: what is derived is derived again
// from the records, all is held against the rules that are always true of a book,
// and the club must give the same archive again. Then members are erased whom
// again names, and who aren't yet. Errors: archive.FaultError where the file isn't
// such an archive; ErrHandleTaken, ErrIDTaken where the club is here; the store's.
func (s *Service) Admit(ctx context.Context, from *archive.Reader, again []Forgotten) (Admitted, error) {
	if err := IsClub(from); err != nil {
		return Admitted{}, err
	}
	var out Admitted
	err := s.Store.Admit(ctx, from, func(tx Tx) error {
		w := &work{Tx: tx, now: s.Now().Truncate(time.Microsecond), zone: tx.Club.Zone(), desk: s.Desk}
		if err := w.admit(from); err != nil {
			return err
		}
		out = Admitted{Club: tx.Club, Sum: from.Sum()}
		stewards, err := w.Members.List(Query{Kind: string(Steward)})
		for _, m := range stewards {
			if !m.left() {
				out.Stewards = append(out.Stewards, m.Name)
			}
		}
		if err != nil {
			return err
		}
		out.Erased, err = w.eraseAgain(again)
		return err
	})
	return out, err
}

// IsClub fails for a file that isn't the archive of a club. Errors: archive.FaultError.
func IsClub(from *archive.Reader) error {
	if from.Header().Kind != archive.Club {
		return archive.FaultError{Line: from.Line(), Why: "this is no archive of a club but a backup of a service: restore it"}
	}
	return nil
}

// admit derives and proves a book whose rows have come from an archive. Errors:
// archive.FaultError.
func (w *work) admit(from *archive.Reader) error {
	fault := func(format string, a ...any) error {
		return archive.FaultError{Line: from.Line(), Why: fmt.Sprintf(format, a...)}
	}
	if err := w.Club.validate(); err != nil {
		return fault("the club's own row isn't one that it can have")
	}
	var facts proof.Book
	err := w.provenFacts(&facts)
	if err == nil {
		err = w.derive(facts)
	}
	if _, known := errors.AsType[*Error](err); err != nil && (!known || KindOf(err) == Conflict) {
		return errors.Join(fault("its journal doesn't hold together"), err)
	}
	if err != nil {
		return err
	}
	after, err := w.proven()
	if err != nil {
		return err
	}
	if wrong := proof.Verify(after); len(wrong) > 0 {
		return fault("its books break %d rules, the first: %s", len(wrong), wrong[0])
	}
	sum, err := w.Rows.Copy(io.Discard)
	if err == nil && sum != from.Sum() {
		err = fault("the club doesn't give the same archive again: the file has what none carries, or has it in another order")
	}
	return err
}
