package due

import (
	"cmp"
	"slices"
	"strings"

	"lumbricary.example/service/unit"
)

// Item is one thing that is due.
type Item struct {
	Kind      Kind
	Day       string      // by which it is due; one before today is overdue
	Since     string      // the day from which it is counted; empty: it is a state
	Members   []string    // whose it is; none: nobody's in particular
	Bin       string      // empty: of no bin
	Record    string      // id of the transfer, quarantine, culture or batch step; empty: of the bin
	Part      string      // tells items of one record apart: a leg, a commodity
	Verb      string      // of a transfer's step
	Batch     string      // of an analysis
	Parameter string      // of an analysis
	Commodity string      // of a promise or loan: a species, castings, or empty for material
	Figure    unit.Figure // what was found
	Limit     unit.Figure // what it is held against
}

// Key names the item among all of the club, the same as long as it is due.
func (i Item) Key() string {
	parts := []string{string(i.Kind), cmp.Or(i.Record, i.Bin)}
	if i.Part != "" {
		parts = append(parts, i.Part)
	}
	return strings.Join(parts, ".")
}

// Of reports whether the item is that member's.
func (i Item) Of(member string) bool { return slices.Contains(i.Members, member) }

// sorted puts items in the order of their days.
func sorted(items []Item) []Item {
	slices.SortFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Key(), b.Key()))
	})
	return items
}
