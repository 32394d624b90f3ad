package proof

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"lumbricary.example/service/lineage"
)

func wholeShares(b Book) (out []Finding) {
	for _, l := range b.Lots {
		var sum int64
		for _, s := range l.Shares {
			sum += s.Parts
		}
		if sum == lineage.One || l.Withdrawn && sum == 0 {
			continue
		}
		out = append(out, Finding{
			Record: l.ID, Place: l.Place.String(), At: l.OpenedAt, Expected: fmt.Sprintf("%d parts", int64(lineage.One)), Found: fmt.Sprintf("%d parts", sum),
		})
	}
	return out
}

// derivedLots compares the lots, those under way among them, with a derivation from
// the whole journal.
func derivedLots(b Book) (out []Finding) {
	derived, _, err := lineage.Derive(b.Entries)
	if err != nil {
		return []Finding{{Expected: "a journal that lots can be derived from", Found: err.Error()}}
	}
	stored := map[string]Lot{}
	for _, l := range b.Lots {
		stored[l.ID] = l
	}
	for _, id := range slices.Sorted(maps.Keys(derived)) {
		want := Lot{derived[id], b.Keepers[derived[id].OpenedBy]}
		goal, arrived := b.Goals[want.OpenedBy]
		if want.Place.Transit != "" || arrived && want.Place.Bin != goal {
			want.Member = b.Givers[want.OpenedBy]
		}
		got, there := stored[id]
		delete(stored, id)
		where := Finding{Record: id, Place: want.Place.String(), At: want.OpenedAt}
		if !there {
			where.Expected, where.Found = "the lot", "none"
			out = append(out, where)
			continue
		}
		out = append(out, differences(where, want, got)...)
	}
	for _, id := range slices.Sorted(maps.Keys(stored)) {
		l := stored[id]
		out = append(out, Finding{Record: id, Place: l.Place.String(), At: l.OpenedAt, Expected: "no such lot", Found: "one of " + mg(l.Mass)})
	}
	return out
}

// differences lists the members in which two lots differ.
func differences(where Finding, want, got Lot) (out []Finding) {
	w, g := told(want), told(got)
	for i, member := range w {
		if member != g[i] {
			where.Expected, where.Found = member, g[i]
			out = append(out, where)
		}
	}
	return out
}

// told tells a lot member by member.
func told(l Lot) []string {
	return []string{
		fmt.Sprint("place ", l.Place), "opened by " + l.OpenedBy, "opened at " + instant(l.OpenedAt), fmt.Sprint("opened as ", l.OpenedSeq),
		"mass " + mg(l.Mass), "ended at " + instant(l.EndedAt), "ended by " + l.EndedBy, fmt.Sprint("parents ", l.Parents),
		fmt.Sprint("shares ", l.Shares), fmt.Sprint("depth ", l.Depth), fmt.Sprint("withdrawn ", l.Withdrawn), "successor " + l.Successor,
		"member " + l.Member, fmt.Sprint("by way of ", l.Via),
	}
}

// timelines compares the events with those that the records ask for.
func timelines(b Book) (out []Finding) {
	left := map[string]int{}
	for _, e := range b.Events {
		left[e.key()]++
	}
	for _, e := range b.Due {
		if left[e.key()]--; left[e.key()] < 0 {
			out = append(out, Finding{Record: e.Record, Place: "bin:" + e.Bin, At: e.At, Expected: "a " + e.Kind + " in the timeline", Found: "none"})
		}
	}
	for _, e := range slices.SortedFunc(slices.Values(b.Events), func(x, y Event) int { return cmp.Compare(x.key(), y.key()) }) {
		if left[e.key()] > 0 {
			left[e.key()]--
			out = append(out, Finding{Record: e.Record, Place: "bin:" + e.Bin, At: e.At, Expected: "no such line in the timeline", Found: "a " + e.Kind})
		}
	}
	return out
}

// key is the same for the same events.
func (e Event) key() string {
	return fmt.Sprintf("%s %d %d %s %s", e.Bin, e.At.UnixMicro(), e.Seq, e.Kind, e.Record)
}

func totals(b Book) (out []Finding) {
	for _, t := range b.Totals {
		if t.Kept != t.Due {
			out = append(out, Finding{Place: t.Key, Expected: t.Due, Found: t.Kept})
		}
	}
	return out
}
