package auth

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
)

func TestTheGateTurnsAwayWhomTheQueueCanNotHold(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		g := newGate(hashesAtOnce, hashesWaiting)
		var served int
		release := make(chan struct{})
		for range hashesAtOnce + hashesWaiting {
			go func() {
				leave, err := g.enter(t.Context())
				if err != nil {
					t.Errorf("turned away: %v", err)
					return
				}
				<-release
				served++ // the releases come one by one
				leave()
			}()
		}
		synctest.Wait()
		if len(g.slots) != 2 || len(g.tickets) != 22 {
			t.Errorf("%d at work, %d in all; want 2 and 22", len(g.slots), len(g.tickets))
		}
		if _, err := g.enter(t.Context()); !errors.Is(err, ErrBusy) {
			t.Errorf("error is %v, want ErrBusy", err)
		}
		for range hashesAtOnce + hashesWaiting {
			release <- struct{}{}
			synctest.Wait()
		}
		if served != 22 || len(g.tickets) != 0 {
			t.Errorf("%d served, %d left over", served, len(g.tickets))
		}
	})
}

func TestWhoGivesUpWaitingLeavesThePlaceToOthers(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		g := newGate(1, 1)
		leave, err := g.enter(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		ctx, giveUp := context.WithCancel(t.Context())
		answer := make(chan error)
		go func() {
			_, err := g.enter(ctx)
			answer <- err
		}()
		synctest.Wait()
		giveUp()
		if err := <-answer; !errors.Is(err, context.Canceled) {
			t.Errorf("error is %v, want context.Canceled", err)
		}
		leave()
		if len(g.tickets) != 0 || len(g.slots) != 0 {
			t.Errorf("%d tickets and %d slots left over", len(g.tickets), len(g.slots))
		}
	})
}

func TestTheGateLooksAtTheContextFirst(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := newGate(1, 1).enter(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("error is %v, want context.Canceled", err)
	}
}

func TestAFullQueueIsBusyForEveryUseOfAPassphrase(t *testing.T) {
	t.Parallel()
	h := NewHasher(fixedSalt{})
	for range hashesAtOnce + hashesWaiting {
		h.gate.tickets <- struct{}{}
	}
	const passphrase = "rhubarb at noon"
	_, hashing := h.Hash(t.Context(), passphrase)
	_, verifying := h.Verify(t.Context(), phc{currentCost(), make([]byte, 16), make([]byte, 32)}.String(), passphrase)
	for what, err := range map[string]error{
		"hash": hashing, "verify": verifying, "verify nothing": h.VerifyNothing(t.Context(), passphrase),
	} {
		if !errors.Is(err, ErrBusy) {
			t.Errorf("%s: error is %v, want ErrBusy", what, err)
		}
	}
}

// fixedSalt gives zeros.
type fixedSalt struct{}

func (fixedSalt) Read(p []byte) (int, error) {
	clear(p)
	return len(p), nil
}
