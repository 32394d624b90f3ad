package auth

import "context"

// gate lets a few callers work at a time, a few more wait, and turns the rest
// away.
type gate struct {
	tickets chan struct{} // held while waiting or working
	slots   chan struct{} // held while working
}

// newGate makes a gate for so many at work and so many waiting.
func newGate(working, waiting int) gate {
	return gate{
		tickets: make(chan struct{}, working+waiting),
		slots:   make(chan struct{}, working),
	}
}

// enter waits for a slot. The caller must call leave when its work is done.
// The error is [ErrBusy] when the queue is full, or the context's own.
func (g gate) enter(ctx context.Context) (leave func(), err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	select {
	case g.tickets <- struct{}{}:
	default:
		return nil, ErrBusy
	}
	select {
	case g.slots <- struct{}{}:
		return func() { <-g.slots; <-g.tickets }, nil
	case <-ctx.Done():
		<-g.tickets
		return nil, ctx.Err()
	}
}
