package service

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"
)

// Publications are the use-cases on what a club shows to everybody. Nobody is
// asked who they are. What isn't published, and a club that publishes nothing, is
// met like a club that isn't there: ErrNotPublished.
type Publications struct{ *Desk }

// Publication is what a club publishes.
type Publication struct {
	Club     Club
	Cultures []Culture // by name
	Names    Names
}

// PublishedOffers are the offers that stand today, the newest first.
type PublishedOffers struct {
	Club    Club
	Offers  []Offer
	Batches map[BatchID]Batch
	Names   Names
}

// mostOffers is how many offers are told of at once.
const mostOffers = 100

// standingOffers reads the offers that stand today, the newest first.
func (w *work) standingOffers() ([]Offer, error) {
	return w.Offers.List(Query{OpenOn: w.today(), Newest: true, Limit: mostOffers})
}

// published runs fn in a view of a club, under a veil that shows members by the
// names that they agreed to. Errors: ErrNotPublished, fn's.
func published[T any](ctx context.Context, d *Desk, ref string, fn func(*work) (T, error)) (out T, err error) {
	club, err := d.club(ctx, ref)
	if err == nil {
		err = d.Store.View(ctx, club.ID, func(tx Tx) error {
			w := &work{Tx: tx, now: d.Now().Truncate(time.Microsecond), zone: tx.Club.Zone(), desk: d}
			named, err := w.publicNames()
			if err != nil {
				return err
			}
			out, err = fn(w.under(veil{secret: d.Pseudonyms, club: club.ID, named: named}))
			return err
		})
	}
	if KindOf(err) == NotFound {
		err = ErrNotPublished
	}
	return out, err
}

// publicNames are the names by which members agreed to be shown.
func (w *work) publicNames() (map[MemberID]string, error) {
	all, err := w.Members.List(Query{})
	named := map[MemberID]string{}
	for _, m := range all {
		if m.PublicName != "" {
			named[m.ID] = m.PublicName
		}
	}
	return named, err
}

// Of tells what a club publishes. Errors: ErrNotPublished.
func (s Publications) Of(ctx context.Context, club string) (Publication, error) {
	return published(ctx, s.Desk, club, func(w *work) (out Publication, err error) {
		out.Club = w.Club
		if out.Cultures, err = w.publishedCultures(); err != nil {
			return out, err
		}
		if !w.Club.PublishSeason && !w.Club.PublishOffers && len(out.Cultures) == 0 {
			return out, ErrNotPublished
		}
		out.Names, err = w.names()
		return out, err
	})
}

// publishedCultures are the cultures that the club publishes, by name.
func (w *work) publishedCultures() ([]Culture, error) {
	all, err := w.Cultures.List(Query{})
	all = slices.DeleteFunc(all, func(c Culture) bool { return !c.Published })
	slices.SortFunc(all, func(a, b Culture) int {
		return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(string(a.ID), string(b.ID)))
	})
	return all, err
}

// News returns the news of a club, as far as it publishes it. Errors:
// ErrNotPublished.
func (s Publications) News(ctx context.Context, club string) (News, error) {
	return published(ctx, s.Desk, club, func(w *work) (out News, err error) {
		if !w.Club.PublishSeason && !w.Club.PublishOffers {
			return out, ErrNotPublished
		}
		return w.news(w.Club.PublishOffers, w.Club.PublishSeason)
	})
}

// Offers returns the offers of a club that stand today. Errors: ErrNotPublished.
func (s Publications) Offers(ctx context.Context, club string) (PublishedOffers, error) {
	return published(ctx, s.Desk, club, func(w *work) (out PublishedOffers, err error) {
		if !w.Club.PublishOffers {
			return out, ErrNotPublished
		}
		out.Club = w.Club
		if out.Offers, err = w.standingOffers(); err != nil {
			return out, err
		}
		if out.Batches, err = index(w.Batches, func(b Batch) (BatchID, Batch) { return b.ID, b }); err != nil {
			return out, err
		}
		out.Names, err = w.names()
		return out, err
	})
}
