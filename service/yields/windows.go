package yields

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// Window is the time that the castings of a full harvest were made in.
type Window struct {
	From    time.Time // the full harvest before, or the start of the bin
	To      time.Time // the full harvest that closes it
	Closing string    // id of that harvest
	Sums    Sums
	Records []string // ids of what was counted, in order of time
	counted []record
}

// Windows returns what lies between two full harvests of one bin, or between
// its start and the first, in order. Feed counts in From ≤ t < To: what is fed
// at the hour of the closing harvest goes to the next window. Harvests count,
// full or partial, in From < t ≤ To. Full harvests at one moment close one
// window together, named by the last id. Records from before the start, and
// those after the last full harvest, are in no window.
func Windows(started time.Time, feeds []Feed, harvests []Harvest) []Window {
	records := recordsOf(feeds, harvests)
	var out []Window
	from := started
	for _, r := range records {
		if !r.full || !r.at.After(started) {
			continue
		}
		if n := len(out); n > 0 && r.at.Equal(from) {
			out[n-1].Closing = r.id
			continue
		}
		out = append(out, windowOf(records, from, r))
		from = r.at
	}
	return out
}

// record is a feeding's material or a harvest, as a window counts it.
type record struct {
	id      string
	at      time.Time
	harvest bool
	full    bool
	sums    Sums
	feed    Feed    // of a feeding
	taken   Harvest // of a harvest
}

// recordsOf lists feeds and harvests by time, then id.
func recordsOf(feeds []Feed, harvests []Harvest) []record {
	out := make([]record, 0, len(feeds)+len(harvests))
	for _, f := range feeds {
		out = append(out, record{id: f.ID, at: f.At, sums: f.sums(), feed: f})
	}
	for _, h := range harvests {
		out = append(out, record{id: h.ID, at: h.At, harvest: true, full: h.Full, sums: h.sums(), taken: h})
	}
	slices.SortStableFunc(out, func(a, b record) int {
		return cmp.Or(a.at.Compare(b.at), strings.Compare(a.id, b.id))
	})
	return out
}

func (r record) within(from, to time.Time) bool {
	if r.harvest {
		return r.at.After(from) && !r.at.After(to)
	}
	return !r.at.Before(from) && r.at.Before(to)
}

func windowOf(records []record, from time.Time, closing record) Window {
	w := Window{From: from, To: closing.at, Closing: closing.id}
	for _, r := range records {
		if !r.within(w.From, w.To) {
			continue
		}
		w.Sums = w.Sums.Plus(r.sums)
		w.Records = append(w.Records, r.id)
		w.counted = append(w.counted, r)
	}
	w.Records = slices.Compact(w.Records) // the materials of a feeding share its id
	return w
}
