package demo

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"lumbricary.example/api"
	"lumbricary.example/service"
)

// Stage is a service that the demo is shown on.
type Stage struct {
	*service.Service
	// Found opens an account and founds a club. Errors: ErrHandleTaken when the club
	// is there.
	Found func(ctx context.Context, who service.Account, passphrase string, club service.Club) (service.Actor, error)
	Now   func() time.Time
	Out   io.Writer // what is told
	Err   io.Writer // how far it is
}

// Load loads clubs that aren't there yet, and returns the first one's steward.
// Errors: those of founding and importing.
func (s Stage) Load(ctx context.Context, clubs []Club) (first service.Actor, err error) {
	for i, c := range clubs {
		a, err := s.load(ctx, c)
		if err != nil {
			return first, fmt.Errorf("demo club %s: %w", c.Club.Handle, err)
		}
		if i == 0 {
			first = a
		}
	}
	return first, nil
}

// load founds a club of the demo and imports its book, unless a run before did.
func (s Stage) load(ctx context.Context, c Club) (service.Actor, error) {
	a, err := s.Found(ctx, service.Account{Email: c.Email, Name: c.Steward}, Passphrase, c.Club)
	if err != nil && !errors.Is(err, service.ErrHandleTaken) {
		return a, err
	}
	if bins, err := s.Bins.List(ctx, a, service.Query{Limit: 1}); err != nil || len(bins) > 0 {
		return a, err
	}
	done := s.progress("Loading " + c.Club.Name)
	report, err := s.Records.Import(ctx, a, c.Book, false)
	n := 0
	for _, t := range report.Counts {
		n += t.Records
	}
	done(n)
	return a, err
}

// progress says what is going on, with the seconds if it takes more than one.
func (s Stage) progress(what string) (done func(records int)) {
	start := s.Now()
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				fmt.Fprintf(s.Err, "%s … %.0f s\n", what, s.Now().Sub(start).Seconds())
			case <-stop:
				return
			}
		}
	}()
	return func(records int) {
		close(stop)
		<-stopped
		fmt.Fprintf(s.Err, "%s: %d records in %.1f s\n", what, records, s.Now().Sub(start).Seconds())
	}
}

// Tell prints the season's report and where one starter came from. Errors: those
// of the reports, and of a club without the starter.
func (s Stage) Tell(ctx context.Context, a service.Actor) error {
	report, err := s.Reports.Season(ctx, a, Season)
	if err != nil {
		return err
	}
	for id, bin := range report.Names.Bins {
		if bin.Name != Starter {
			continue
		}
		stock, err := s.Reports.Stock(ctx, a, id)
		if err != nil || len(stock.Stands) == 0 {
			return errors.Join(err, fmt.Errorf("nothing stands in %s", Starter))
		}
		lineage, err := s.Reports.Lineage(ctx, a, stock.Stands[0].Lot)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(s.Out, "%s\n%s\n", api.SeasonText(report, report.Club.Units), api.LineageText(lineage, lineage.Club.Units))
		return err
	}
	return fmt.Errorf("the demo club has no bin %s", Starter)
}

// Invite says where the service is and how to try it.
func (s Stage) Invite(addr string, c Club) {
	fmt.Fprintf(s.Out, `The API is live at http://%[1]s (its documentation: http://%[1]s/docs). Stop it with Ctrl-C.
Sign in as %[2]s with the passphrase "%[3]s":

  TOKEN=$(curl -s http://%[1]s/v1/sessions -H 'Content-Type: application/json' \
    -d '{"email":"%[2]s","passphrase":"%[3]s"}' | sed 's/.*"access_token":"\([^"]*\)".*/\1/')

  curl -s http://%[1]s/v1/clubs/%[4]s/reports/seasons/%[5]s -H "Authorization: Bearer $TOKEN" -H 'Accept: text/plain'
`, addr, c.Email, Passphrase, c.Club.Handle, Season)
}
