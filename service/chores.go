package service

import (
	"context"
	"sync"
	"time"
)

// Chores does what no call waits for, until the returned function is called: it
// sends the mail that was asked for, writes down when API keys were used, the last
// time as it ends, and forgets contacts whose day has passed and old deliveries. failed is told what couldn't be done.
func (s *Service) Chores(ctx context.Context, failed func(what string, err error)) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	var work sync.WaitGroup
	work.Go(func() {
		s.Recoveries.Work(ctx, func(err error) { failed("mail not sent", err) })
	})
	work.Go(func() { s.writeUses(ctx, failed) })
	work.Go(func() { s.forget(ctx, failed) })
	return func() { cancel(); work.Wait() }
}

// writeUses writes down when API keys were used, once a minute and when ctx
// ends.
func (s *Service) writeUses(ctx context.Context, failed func(what string, err error)) {
	tick := time.NewTicker(time.Minute)
	defer tick.Stop()
	for ended := false; !ended; {
		select {
		case <-tick.C:
		case <-ctx.Done():
			ended = true
		}
		if err := s.APIKeys.WriteUses(context.WithoutCancel(ctx)); err != nil {
			failed("uses of API keys not written", err)
		}
	}
}

// forget forgets contacts whose day has passed and old deliveries: now, and every
// hour.
func (s *Service) forget(ctx context.Context, failed func(what string, err error)) {
	tick := time.NewTicker(time.Hour)
	defer tick.Stop()
	for {
		if err := s.Transfers.ForgetLapsedContacts(ctx); err != nil && ctx.Err() == nil {
			failed("contacts not forgotten", err)
		}
		if err := s.Webhooks.ForgetOldDeliveries(ctx); err != nil && ctx.Err() == nil {
			failed("deliveries not forgotten", err)
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}
