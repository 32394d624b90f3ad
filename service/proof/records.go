package proof

import (
	"maps"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// censusesHold sees that each census that stands found in the book what it says,
// and that what it posted brings the book to its level where it is to.
func censusesHold(b Book) (out []Finding) {
	standing := journal.Standing(b.Entries)
	posts := map[string]journal.Entry{}
	for _, e := range standing {
		posts[e.ID] = e
	}
	var assertions []journal.Assertion
	byID := map[string]Census{}
	for _, c := range b.Censuses {
		if _, stands := posts[c.Entry]; stands {
			assertions, byID[c.ID] = append(assertions, c.Assertion), c
		}
	}
	for _, p := range journal.Reassert(linesOf(standing), assertions) {
		c := byID[p.ID]
		book := journal.Book{Account: c.Bin, Commodity: c.Commodity}
		where := Finding{Record: c.ID, Place: book.String(), At: c.At}
		for _, x := range []struct {
			what        string
			want, stood unit.Mass
		}{
			{"in the book before it", p.Book, c.Book},
			{"posted, as it says", p.Amount, c.Posted},
			{"posted, in its entry", p.Amount, Sums([]journal.Entry{posts[c.Entry]})[book]},
		} {
			if f := where; x.want != x.stood {
				f.Expected, f.Found = mg(x.want)+" "+x.what, mg(x.stood)
				out = append(out, f)
			}
		}
	}
	return out
}

func emptyWhenRetired(b Book) (out []Finding) {
	retired := map[string]time.Time{}
	for _, bin := range b.Bins {
		if !bin.Retired.IsZero() {
			retired[bin.ID] = bin.Retired
		}
	}
	sums := Sums(b.Entries)
	for _, h := range sortedBooks(sums) {
		if at, is := retired[h.Account.Ref]; is && h.Account.Kind == journal.BinAccount {
			out = append(out, Finding{Record: h.Account.Ref, Place: h.String(), At: at, Expected: mg(0), Found: mg(sums[h])})
		}
	}
	return out
}

func stays(b Book) (out []Finding) {
	sorted := slices.SortedFunc(slices.Values(b.Quarantines), func(x, y Stay) int {
		if c := strings.Compare(x.Bin, y.Bin); c != 0 {
			return c
		}
		return x.From.Compare(y.From)
	})
	for i, s := range sorted {
		where := Finding{Record: s.ID, Place: "bin:" + s.Bin, At: s.From}
		if !s.To.IsZero() && s.To.Before(s.From) {
			f := where
			f.Expected, f.Found = "a release after it began", instant(s.To)
			out = append(out, f)
		}
		if i == 0 || sorted[i-1].Bin != s.Bin {
			continue
		}
		if before := sorted[i-1]; before.To.IsZero() || s.From.Before(before.To) {
			f := where
			f.Expected, f.Found = "no other at that time", "quarantine "+before.ID
			out = append(out, f)
		}
	}
	return out
}

func standingCultures(b Book) (out []Finding) {
	for _, origin := range slices.Sorted(maps.Keys(b.Origins)) {
		if culture := b.Origins[origin]; b.Merged[culture] != "" {
			out = append(out, Finding{Record: origin, Expected: "a culture that stands", Found: culture + ", which was merged into " + b.Merged[culture]})
		}
	}
	return out
}
