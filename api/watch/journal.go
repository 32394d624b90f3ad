package watch

import (
	"context"

	"lumbricary.example/service"
)

// Journal is the store, with the entries counted that are written to journals
// through it: after the commit, and those of a run that was rolled back never.
func (m *Metrics) Journal(store service.Store) service.Store { return counted{store, m} }

type counted struct {
	service.Store
	metrics *Metrics
}

// Update implements service.Store. Errors: those of the store.
func (s counted) Update(ctx context.Context, club service.ClubID, fn func(service.Tx) error) error {
	var kinds []string
	err := s.Store.Update(ctx, club, func(tx service.Tx) error {
		kinds = nil // of a run before
		tx.Movements = inserting{tx.Movements, &kinds}
		return fn(tx)
	})
	if err == nil {
		for _, k := range kinds {
			s.metrics.entries.WithLabelValues(k).Inc()
		}
	}
	return err
}

// inserting notes the kinds of what is inserted.
type inserting struct {
	service.MovementRepo
	kinds *[]string
}

// Insert implements service.MovementRepo. Errors: those of the repo.
func (r inserting) Insert(ms ...service.Movement) error {
	if err := r.MovementRepo.Insert(ms...); err != nil {
		return err
	}
	for _, m := range ms {
		*r.kinds = append(*r.kinds, string(m.Kind))
	}
	return nil
}
