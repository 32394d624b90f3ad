package service

import (
	"cmp"
	"context"
)

// Post posts movements that happen together, past the checks of any use-case.
func (s *Service) Post(ctx context.Context, a Actor, ms ...Movement) ([]Movement, error) {
	return write(ctx, s.Desk, a, func(w *work) ([]Movement, error) {
		var group []*Movement
		for i := range ms {
			ms[i].ID = cmp.Or(ms[i].ID, MovementID(w.desk.NewID()))
			group = append(group, &ms[i])
		}
		return ms, w.post(group...)
	})
}
