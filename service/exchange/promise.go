package exchange

import (
	"cmp"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Promise is stock or castings of one book that is kept for a leg.
type Promise struct {
	Deal      string // id
	Leg       string
	Account   journal.Account
	Commodity journal.Commodity
	Mass      unit.Mass
	Since     time.Time
}

// Promises returns what the deal reserves at that time: the agreed masses of the
// legs whose givers have committed and not yet sent.
func (d Deal) Promises(id string, now time.Time) []Promise {
	if d.Ended != "" {
		return nil
	}
	var out []Promise
	for _, l := range d.Legs {
		if l.State != Reserved || l.lapsed(d, now) {
			continue
		}
		for _, g := range l.Goods {
			if g.From.Stands() && g.Commodity != "" {
				out = append(out, Promise{id, l.ID, g.From, g.Commodity, g.Agreed, l.Since})
			}
		}
	}
	return out
}

// On returns the promises on one book, the oldest first.
func On(b journal.Book, all []Promise) []Promise {
	var out []Promise
	for _, p := range all {
		if p.Account == b.Account && p.Commodity == b.Commodity {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b Promise) int {
		return cmp.Or(a.Since.Compare(b.Since), cmp.Compare(a.Deal, b.Deal), cmp.Compare(a.Leg, b.Leg))
	})
	return out
}

// Available returns what a book has left to promise: negative when a fact has
// overtaken the promises.
func Available(book unit.Mass, on []Promise) unit.Mass {
	for _, p := range on {
		book -= p.Mass
	}
	return book
}

// Short returns how much is missing to each promise on a book, by leg: the
// youngest fall short first. on is in the order of On; a leg with several goods
// from one book counts them together.
func Short(book unit.Mass, on []Promise) map[string]unit.Mass {
	missing := -Available(book, on)
	out := map[string]unit.Mass{}
	for _, p := range slices.Backward(on) {
		if missing <= 0 {
			break
		}
		part := min(missing, p.Mass)
		out[p.Leg] += part
		missing -= part
	}
	return out
}
