package rates

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// mention is a record that a figure rests on.
type mention struct {
	id string
	at time.Time
}

// recordsOf lists the ids of the records used, by time and id, each once: the
// checks at the ends and those whose shares still held there, the feedings, the
// anchors and jumps.
func recordsOf(e ends, h history, items []item, worms wormDays) []string {
	read := map[int]bool{}
	var all []mention
	for _, it := range items {
		all = append(all, mention{it.ID, it.At})
		read[it.start.seen.check], read[it.end.seen.check] = true, true
	}
	for i, c := range h {
		if read[i+1] || c.At.Equal(e.to) || c.At.Equal(e.from) && !e.start {
			all = append(all, mention{c.Check, c.At})
		}
	}
	for _, p := range worms.uses {
		all = append(all, mention{p.id, p.at})
	}
	slices.SortStableFunc(all, func(a, b mention) int {
		return cmp.Or(a.at.Compare(b.at), strings.Compare(a.id, b.id))
	})
	var ids []string
	for _, m := range all {
		if !slices.Contains(ids, m.id) {
			ids = append(ids, m.id)
		}
	}
	return ids
}
