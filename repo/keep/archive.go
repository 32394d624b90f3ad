package keep

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"lumbricary.example/repo"
	"lumbricary.example/service"
	"lumbricary.example/service/archive"
)

// writeArchive writes everything of a club into a file. Errors: those of Do.
func (t Tools) writeArchive(ctx context.Context, c call) error {
	from, err := t.open(ctx, c.db, repo.Options{ToRead: true})
	if err != nil {
		return err
	}
	sum, err := written(c.out, func(w io.Writer) (archive.Sum, error) { return from.ArchiveOf(ctx, c.club, w) })
	if err = errors.Join(err, from.store.Close()); err != nil {
		return err
	}
	return t.say("%s: %d rows, sha256 %s\n", c.out, sum.Rows, sum.SHA256)
}

// readArchive makes a club of its archive. Errors: those of Do.
func (t Tools) readArchive(ctx context.Context, c call) error {
	again, err := forgotten(c.erasures)
	if err != nil {
		return err
	}
	return reading(c.file, func(from *archive.Reader) error {
		if err := service.IsClub(from); err != nil {
			return err
		}
		to, err := t.open(ctx, c.db, repo.Options{})
		if err != nil {
			return err
		}
		got, err := t.admit(ctx, to.Service, from, again)
		if err = errors.Join(err, to.store.Close()); err != nil {
			return err
		}
		return t.welcome(got)
	})
}

// welcome says what came, and how people get in. Errors: the writer's.
func (t Tools) welcome(got service.Admitted) error {
	err := t.say("%s (%s): %d rows, sha256 %s; its books are right\n", got.Club.Name, got.Club.Handle, got.Sum.Rows, got.Sum.SHA256)
	if got.Erased > 0 {
		err = errors.Join(err, t.say("Erased again: %d\n", got.Erased))
	}
	if len(got.Stewards) == 0 {
		return errors.Join(err, t.say("It has no steward.\n"))
	}
	return errors.Join(err, t.say("Nobody signs in to it yet. Let in a steward (%s), who invites the others:\n  lumbricary invite -club %s -member %q -email …\n",
		strings.Join(got.Stewards[:min(5, len(got.Stewards))], ", "), got.Club.Handle, got.Stewards[0]))
}

// admit makes a club of its archive, in the program's schema. Errors: those of
// Do.
func (t Tools) admit(ctx context.Context, to *service.Service, from *archive.Reader, again []service.Forgotten) (got service.Admitted, err error) {
	got, err = to.Admit(ctx, from, again)
	if _, older := errors.AsType[repo.OlderError](err); !older {
		return got, err
	}
	err = inScratch(func(path string) error {
		store, err := repo.Upgrade(ctx, path, from)
		if err != nil {
			return err
		}
		between, err := t.on(store)
		if err == nil {
			got, err = carry(ctx, between.Service, from.Header().Club, func(r *archive.Reader) (service.Admitted, error) {
				return to.Admit(ctx, r, again)
			})
		}
		return errors.Join(err, store.Close())
	})
	return got, err
}

// inScratch gives use the path of a database file that is removed afterwards.
// Errors: use's, the file system's.
func inScratch(use func(path string) error) error {
	dir, err := os.MkdirTemp("", "lumbricary")
	if err != nil {
		return err
	}
	return errors.Join(use(filepath.Join(dir, "scratch.db")), os.RemoveAll(dir))
}

// carry gives take the archive of a club as it is written. Errors: take's, those
// of service.ArchiveOf.
func carry(ctx context.Context, from *service.Service, club string, take func(*archive.Reader) (service.Admitted, error)) (got service.Admitted, err error) {
	out, in := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		_, err := from.ArchiveOf(ctx, club, in)
		ended <- err
		_ = in.CloseWithError(err) // never fails
	}()
	r, err := archive.NewReader(out, archive.Ample())
	if err == nil {
		got, err = take(r)
	}
	_ = out.CloseWithError(io.ErrClosedPipe) // never fails; who still writes stops
	if sent := <-ended; sent != nil && !errors.Is(sent, io.ErrClosedPipe) {
		err = sent // it is why take failed
	}
	return got, err
}

// move copies a club into another database and proves that it is the same there.
// Errors: those of Do.
func (t Tools) move(ctx context.Context, c call) error {
	from, err := t.open(ctx, c.db, repo.Options{ToRead: true})
	if err != nil {
		return err
	}
	to, err := t.open(ctx, c.to, repo.Options{})
	if err != nil {
		return errors.Join(err, from.store.Close())
	}
	got, err := carry(ctx, from.Service, c.club, func(r *archive.Reader) (service.Admitted, error) { return to.Admit(ctx, r, nil) })
	var now archive.Sum
	if err == nil {
		now, err = from.ArchiveOf(ctx, c.club, io.Discard)
	}
	if err = errors.Join(err, to.store.Close(), from.store.Close()); err != nil {
		return err
	}
	if now != got.Sum {
		err = t.say("Something was written in %s meanwhile: that stayed behind.\n", WithoutSecret(c.db))
	}
	return errors.Join(err, t.welcome(got))
}

// checkArchive says whether a file is whole and the books in it are right: it reads
// it as a restore does, into a database that is thrown away. Errors: those of Do.
func (t Tools) checkArchive(ctx context.Context, c call) error {
	return reading(c.file, func(from *archive.Reader) error {
		return inScratch(func(path string) error {
			if from.Header().Kind == archive.Service {
				r, _, err := t.refill(ctx, path, from, nil)
				return errors.Join(t.sound(c.file, from, err), r.Undone())
			}
			to, err := t.open(ctx, path, repo.Options{})
			if err != nil {
				return err
			}
			_, err = t.admit(ctx, to.Service, from, nil)
			return errors.Join(t.sound(c.file, from, err), to.store.Close())
		})
	})
}

// sound says that a file is sound, unless it failed. Errors: failed, the writer's.
func (t Tools) sound(file string, from *archive.Reader, failed error) error {
	if failed != nil {
		return failed
	}
	h, sum := from.Header(), from.Sum()
	what := map[archive.Kind]string{archive.Club: "archive of club " + h.Club, archive.Service: "backup of a service"}[h.Kind]
	return t.say("%s: %s, schema %d, %d rows, sha256 %s; its books are right\n", file, what, h.Schema, sum.Rows, sum.SHA256)
}

// WithoutSecret leaves the password out of a database's address.
func WithoutSecret(address string) string {
	scheme, rest, found := strings.Cut(address, "://")
	if at := strings.LastIndex(rest, "@"); found && at >= 0 {
		return fmt.Sprintf("%s://…%s", scheme, rest[at:])
	}
	return address
}
