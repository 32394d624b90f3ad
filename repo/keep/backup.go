package keep

import (
	"context"
	"errors"
	"io"

	"lumbricary.example/repo"
	"lumbricary.example/service"
	"lumbricary.example/service/archive"
)

// backup copies the whole service into a file. Errors: those of Do.
func (t Tools) backup(ctx context.Context, c call) error {
	sum, err := written(c.out, func(w io.Writer) (archive.Sum, error) { return repo.Backup(ctx, c.db, w) })
	if err != nil {
		return err
	}
	return t.say("%s: %d rows, sha256 %s\n", c.out, sum.Rows, sum.SHA256)
}

// restore puts a backup into a new database, does erasures again, and lets nobody
// in before all books have been checked. Errors: those of Do.
func (t Tools) restore(ctx context.Context, c call) error {
	again, err := forgotten(c.erasures)
	if err != nil {
		return err
	}
	return reading(c.file, func(from *archive.Reader) error {
		r, erased, err := t.refill(ctx, c.db, from, again)
		if err == nil {
			err = r.Done(ctx)
		}
		if err != nil {
			return errors.Join(err, r.Undone())
		}
		err = t.say("%s: %d rows of %s; all books are right\n", WithoutSecret(c.db), r.Sum.Rows, c.file)
		if c.erasures == "" {
			return errors.Join(err, t.say("No erasures were done again: who was erased since the backup is back. See -erasures.\n"))
		}
		return errors.Join(err, t.say("Erased again: %d\n", erased))
	})
}

// refill restores a backup up to the point where it can be opened by everybody.
// Errors: those of repo.Restore and repo.Open, ErrWrong.
func (t Tools) refill(ctx context.Context, address string, from *archive.Reader, again []service.Forgotten) (*repo.Restoration, int, error) {
	r, err := repo.Restore(ctx, address, from)
	if err != nil {
		return nil, 0, err
	}
	store, err := r.Open(ctx, repo.Options{Now: t.clock})
	if err != nil {
		return r, 0, err
	}
	erased, err := t.refilled(ctx, store, again)
	return r, erased, errors.Join(err, store.Close())
}

// refilled does erasures again in a restored database and checks all its books.
// Errors: ErrWrong, the store's.
func (t Tools) refilled(ctx context.Context, store *repo.Store, again []service.Forgotten) (erased int, err error) {
	s, err := t.on(store)
	if err != nil {
		return 0, err
	}
	if err := s.FillTotals(ctx); err != nil {
		return 0, err
	}
	if erased, err = s.ForgetAgain(ctx, again); err != nil {
		return erased, err
	}
	clubs, err := s.Prove(ctx, "")
	for _, p := range clubs {
		for _, f := range p.Wrong {
			err = errors.Join(err, t.say("%s  wrong  %s\n", p.Club.Handle, f))
		}
		if len(p.Wrong) > 0 {
			err = errors.Join(err, ErrWrong)
		}
	}
	return erased, err
}
