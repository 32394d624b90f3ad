package exchange

import (
	"cmp"
	"time"
)

// Await is a step that a deal waits for.
type Await struct {
	Verb   Verb
	Leg    int    // its place among the legs; -1: of the whole deal
	Member string // whose step it is; of an outside party the member on the other side
}

// Awaits lists the steps that the deal waits for at that time: the answer to a
// proposal, the dispatch of what is promised, the receipt of what is under way,
// and something else for what can't be delivered. That a loan comes back is no
// step; see Outstanding.
func (d Deal) Awaits(now time.Time) []Await {
	switch d.State(now) {
	case Declined, Cancelled, Expired:
		return nil
	case Proposed:
		return []Await{{Accept, -1, cmp.Or(d.Other(d.Proposer), d.Proposer)}}
	case Accepted, Dispatched, Received, Owed, Returned:
	}
	var out []Await
	for i, l := range d.Legs {
		switch {
		case l.State == UnderWay:
			out = append(out, Await{Receive, i, cmp.Or(l.Receiver, l.Giver)})
		case l.State == Undelivered, l.State == Reserved && l.lapsed(d, now) && !l.Return:
			out = append(out, Await{Replace, i, cmp.Or(l.Giver, l.Receiver)})
		case l.State == Reserved && !l.lapsed(d, now):
			out = append(out, Await{Dispatch, i, cmp.Or(l.Giver, l.Receiver)})
		}
	}
	return out
}
