package main

import (
	"context"
	"sync"
	"time"
)

// chores does what no call waits for, until the returned function is called:
// it sends the mail that was asked for, and writes down when API keys were used.
func (p *program) chores(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	var work sync.WaitGroup
	work.Go(func() {
		p.Recoveries.Work(ctx, func(err error) { p.log.ErrorContext(ctx, "mail not sent", "err", err) })
	})
	work.Go(func() { p.writeUses(ctx) })
	return func() { cancel(); work.Wait() }
}

// writeUses writes down when API keys were used, once a minute and when ctx
// ends.
func (p *program) writeUses(ctx context.Context) {
	tick := time.NewTicker(time.Minute)
	defer tick.Stop()
	for ended := false; !ended; {
		select {
		case <-tick.C:
		case <-ctx.Done():
			ended = true
		}
		if err := p.APIKeys.WriteUses(context.WithoutCancel(ctx)); err != nil {
			p.log.ErrorContext(ctx, "uses of API keys not written", "err", err)
		}
	}
}
