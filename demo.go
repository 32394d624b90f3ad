package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"time"

	"lumbricary.example/api"
	"lumbricary.example/service"
	"lumbricary.example/testdata/demo"
)

// demo loads the demo clubs once, prints a season's report, and serves.
func (h host) demo(ctx context.Context) error {
	var once bool
	c, err := h.flags("demo", config{db: "demo.db"}, func(fs *flag.FlagSet) {
		fs.BoolVar(&once, "once", false, "print and exit")
	})
	if err != nil {
		return err
	}
	if start := h.now(); start.Before(demo.Day()) {
		ahead, real := demo.Day().Sub(start), h.now
		h.now = func() time.Time { return real().Add(ahead) }
	}
	clubs, err := demo.Clubs()
	if err != nil {
		return err
	}
	p, err := h.open(ctx, c)
	if err != nil {
		return err
	}
	return errors.Join(h.show(ctx, p, clubs, func() error {
		if once {
			return nil
		}
		stop, err := p.deliver(ctx)
		if err != nil {
			return err
		}
		return errors.Join(h.listen(ctx, c.addr, p.http, func(addr string) { h.invite(addr, clubs[0]) }), stop())
	}), p.close(ctx))
}

// show loads the clubs, tells the first one's season, and goes on with then.
func (h host) show(ctx context.Context, p *program, clubs []demo.Club, then func() error) error {
	var actors []service.Actor
	for _, c := range clubs {
		a, err := h.load(ctx, p, c)
		if err != nil {
			return fmt.Errorf("demo club %s: %w", c.Club.Handle, err)
		}
		actors = append(actors, a)
	}
	if err := h.tell(ctx, p, actors[0]); err != nil {
		return err
	}
	return then()
}

// load founds a club of the demo and imports its book, unless a run before did.
func (h host) load(ctx context.Context, p *program, c demo.Club) (service.Actor, error) {
	a, err := p.foundBy(ctx, service.Account{Email: c.Email, Name: c.Steward}, demo.Passphrase, c.Club)
	if err != nil && !errors.Is(err, service.ErrHandleTaken) {
		return a, err
	}
	if bins, err := p.Bins.List(ctx, a, service.Query{Limit: 1}); err != nil || len(bins) > 0 {
		return a, err
	}
	done := h.progress("Loading " + c.Club.Name)
	report, err := p.Records.Import(ctx, a, c.Book, false)
	n := 0
	for _, t := range report.Counts {
		n += t.Records
	}
	done(n)
	return a, err
}

// progress says what is going on, with the seconds if it takes more than one.
func (h host) progress(what string) (done func(records int)) {
	start := h.now()
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				fmt.Fprintf(h.err, "%s … %.0f s\n", what, h.now().Sub(start).Seconds())
			case <-stop:
				return
			}
		}
	}()
	return func(records int) {
		close(stop)
		<-stopped
		fmt.Fprintf(h.err, "%s: %d records in %.1f s\n", what, records, h.now().Sub(start).Seconds())
	}
}

// tell prints the season's report and where one starter came from.
func (h host) tell(ctx context.Context, p *program, a service.Actor) error {
	report, err := p.Reports.Season(ctx, a, demo.Season)
	if err != nil {
		return err
	}
	for id, bin := range report.Names.Bins {
		if bin.Name != demo.Starter {
			continue
		}
		stock, err := p.Reports.Stock(ctx, a, id)
		if err != nil || len(stock.Stands) == 0 {
			return errors.Join(err, fmt.Errorf("nothing stands in %s", demo.Starter))
		}
		lineage, err := p.Reports.Lineage(ctx, a, stock.Stands[0].Lot)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(h.out, "%s\n%s\n", api.SeasonText(report, report.Club.Units), api.LineageText(lineage, lineage.Club.Units))
		return err
	}
	return fmt.Errorf("the demo club has no bin %s", demo.Starter)
}

// invite says where the service is and how to try it.
func (h host) invite(addr string, c demo.Club) {
	fmt.Fprintf(h.out, `The API is live at http://%[1]s (its documentation: http://%[1]s/docs). Stop it with Ctrl-C.
Sign in as %[2]s with the passphrase "%[3]s":

  TOKEN=$(curl -s http://%[1]s/v1/sessions -H 'Content-Type: application/json' \
    -d '{"email":"%[2]s","passphrase":"%[3]s"}' | sed 's/.*"access_token":"\([^"]*\)".*/\1/')

  curl -s http://%[1]s/v1/clubs/%[4]s/reports/seasons/%[5]s -H "Authorization: Bearer $TOKEN" -H 'Accept: text/plain'
`, addr, c.Email, demo.Passphrase, c.Club.Handle, demo.Season)
}
