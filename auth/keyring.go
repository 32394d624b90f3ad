package auth

import (
	"context"
	"io"
	"slices"
	"sync"
	"time"

	"lumbricary.example/service"
)

const (
	keysFresh  = 30 * time.Second // how long the signing keys are believed without a look
	keysLooked = time.Second      // how soon an unknown key may lead to another look
)

// keyRing keeps the signing keys at hand for a while.
type keyRing struct {
	store  service.Store
	now    func() time.Time
	random io.Reader

	mu     sync.Mutex
	held   []Key
	looked time.Time
}

// age is how long ago the keys were read.
func (r *keyRing) age() time.Duration {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.now().Sub(r.looked)
}

// forget makes the next call of keys look into the store.
func (r *keyRing) forget() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.held = nil
}

// keys lists the keys, retired ones too, and makes one where none is in use.
// Errors: those of the store, [ErrMalformedKey].
func (r *keyRing) keys(ctx context.Context) ([]Key, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.held) > 0 && r.now().Sub(r.looked) < keysFresh {
		return r.held, nil
	}
	held, err := r.read(ctx)
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(held, inUse) {
		if err := r.mint(ctx); err != nil {
			return nil, err
		}
		if held, err = r.read(ctx); err != nil {
			return nil, err
		}
	}
	r.held, r.looked = held, r.now()
	return held, nil
}

func inUse(k Key) bool { return k.Retired.IsZero() }

// read reads the keys. Errors: those of the store, [ErrMalformedKey].
func (r *keyRing) read(ctx context.Context) ([]Key, error) {
	var stored []service.SigningKey
	err := r.store.ViewShared(ctx, func(s service.Shared) (err error) {
		stored, err = s.Keys.All()
		return err
	})
	if err != nil {
		return nil, err
	}
	keys := make([]Key, 0, len(stored))
	for _, row := range stored {
		k, err := ParseKey([]byte(row.PEM))
		if err != nil {
			return nil, err
		}
		k.Created, k.Retired = row.Created, row.Retired
		keys = append(keys, k)
	}
	return keys, nil
}

// mint adds a key, unless another copy of the program has just done so.
// Errors: those of the store, the randomness.
func (r *keyRing) mint(ctx context.Context) error {
	_, row, err := r.draw()
	if err != nil {
		return err
	}
	return r.store.UpdateShared(ctx, func(s service.Shared) error {
		there, err := s.Keys.All()
		if err != nil {
			return err
		}
		if slices.ContainsFunc(there, func(other service.SigningKey) bool { return other.Retired.IsZero() }) {
			return nil
		}
		return s.Keys.Insert(row)
	})
}

// rotate adds a key and retires the others. Errors: those of the store, the
// randomness.
func (r *keyRing) rotate(ctx context.Context) (Key, error) {
	k, row, err := r.draw()
	if err != nil {
		return Key{}, err
	}
	err = r.store.UpdateShared(ctx, func(s service.Shared) error {
		if err := s.Keys.Insert(row); err != nil {
			return err
		}
		return s.Keys.Retire(k.ID, k.Created)
	})
	r.forget()
	return k, err
}

// draw makes a key and the row that keeps it. Errors: those of the randomness.
func (r *keyRing) draw() (Key, service.SigningKey, error) {
	k, err := NewKey(r.random, r.now().Truncate(time.Microsecond))
	if err != nil {
		return Key{}, service.SigningKey{}, err
	}
	text, err := k.Marshal()
	return k, service.SigningKey{ID: k.ID, PEM: string(text), Created: k.Created}, err
}
