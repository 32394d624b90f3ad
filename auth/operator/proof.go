package operator

import (
	"context"
	"errors"

	"lumbricary.example/service"
	"lumbricary.example/service/proof"
)

// ErrWrong says that something is wrong in the books.
var ErrWrong = errors.New("something is wrong in the books; see above")

// check says what is wrong in the books. Errors: ErrWrong when something is,
// service.ErrClubNotFound, the store's.
func (t Tools) check(ctx context.Context, club string) error {
	clubs, err := t.Service.Prove(ctx, club)
	if err != nil {
		return err
	}
	return t.report(clubs, func(p service.Proof) error {
		if len(p.Wrong) == 0 {
			return t.say("%s: %d rules hold\n", p.Club.Handle, len(proof.Verifications()))
		}
		return t.say("%s: faults: %d\n", p.Club.Handle, len(p.Wrong))
	})
}

// rebuild derives the books again and says what changed. Errors: ErrWrong when
// something stays wrong, service.ErrClubNotFound, the store's.
func (t Tools) rebuild(ctx context.Context, club string) error {
	clubs, err := t.Service.Rebuild(ctx, club)
	return errors.Join(t.report(clubs, func(p service.Proof) error {
		said := t.say("%s: healed: %d, left: %d\n", p.Club.Handle, len(p.Healed), len(p.Wrong))
		for _, f := range p.Healed {
			said = errors.Join(said, t.say("  healed   %s\n", f))
		}
		return said
	}), err)
}

// report says of each club what head does, and then what is wrong there. Errors:
// ErrWrong when something is, the writer's.
func (t Tools) report(clubs []service.Proof, head func(service.Proof) error) (err error) {
	wrong := false
	for _, p := range clubs {
		err = errors.Join(err, head(p))
		for _, f := range p.Wrong {
			wrong = true
			err = errors.Join(err, t.say("  wrong    %s\n", f))
		}
	}
	if wrong {
		err = errors.Join(err, ErrWrong)
	}
	return err
}
