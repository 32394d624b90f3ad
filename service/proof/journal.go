package proof

import (
	"errors"
	"fmt"
	"slices"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

func soundEntries(b Book) (out []Finding) {
	for _, e := range b.Entries {
		if err := e.Validate(); err != nil {
			out = append(out, Finding{Record: e.ID, At: e.Effective, Expected: "a sound entry", Found: err.Error()})
		}
	}
	return out
}

func zeroSums(b Book) (out []Finding) {
	total := map[journal.Book]unit.Mass{}
	for h, m := range Sums(b.Entries) {
		total[journal.Book{Commodity: h.Commodity}] += m
	}
	for _, h := range sortedBooks(total) {
		if total[h] != 0 {
			out = append(out, Finding{Place: string(h.Commodity), Expected: mg(0), Found: mg(total[h])})
		}
	}
	return out
}

func reversals(b Book) (out []Finding) {
	byID, back := map[string]journal.Entry{}, map[string]string{}
	for _, e := range b.Entries {
		byID[e.ID] = e
	}
	for _, e := range b.Entries {
		if e.Reverses == "" {
			continue
		}
		of, there := byID[e.Reverses]
		f := Finding{Record: e.ID, At: e.Effective}
		switch whole, err := journal.Reverse(of, e.ID); {
		case !there:
			f.Expected, f.Found = "entry "+e.Reverses, "none"
		case err != nil:
			f.Expected, f.Found = "the reversal of an entry", err.Error()
		case back[of.ID] != "":
			f.Expected, f.Found = "one reversal of "+of.ID, "another, "+back[of.ID]
		case !e.Effective.Equal(of.Effective):
			f.Expected, f.Found = instant(of.Effective), instant(e.Effective)
		case !slices.Equal(e.Postings, whole.Postings):
			f.Expected, f.Found = fmt.Sprint(whole.Postings), fmt.Sprint(e.Postings)
		}
		back[e.Reverses] = e.ID
		if f.Expected != "" {
			out = append(out, f)
		}
	}
	return out
}

// linesOf returns the lines of every account, in effective order.
func linesOf(entries []journal.Entry) journal.Ledger {
	out := journal.Ledger{}
	for _, e := range slices.SortedStableFunc(slices.Values(entries), journal.Compare) {
		for _, p := range e.Postings {
			h := journal.Book{Account: p.Account, Commodity: p.Commodity}
			out[h] = append(out[h], journal.Line{Entry: e.ID, Effective: e.Effective, Seq: e.Seq, Amount: p.Amount})
		}
	}
	return out
}

func neverNegative(b Book) (out []Finding) {
	lines := linesOf(journal.Standing(b.Entries))
	for _, h := range sortedBooks(lines) {
		if s, ok := errors.AsType[*journal.Shortfall](journal.Check(h.Account, h.Commodity, lines[h])); ok {
			out = append(out, Finding{Record: s.Entry, Place: h.String(), At: s.At, Expected: "0 mg or more", Found: mg(s.Book)})
		}
	}
	return out
}

func emptyTransit(b Book) (out []Finding) {
	sums := Sums(b.Entries)
	for _, h := range sortedBooks(sums) {
		if h.Account.Kind == journal.Transit && !slices.Contains(b.UnderWay, h.Account.Ref) {
			out = append(out, Finding{Record: h.Account.Ref, Place: h.String(), Expected: mg(0), Found: mg(sums[h])})
		}
	}
	return out
}

func postingMoments(b Book) (out []Finding) {
	byID := map[string]journal.Entry{}
	for _, e := range b.Entries {
		byID[e.ID] = e
	}
	for _, l := range b.Lines {
		if e := byID[l.Entry]; !l.Effective.Equal(e.Effective) || l.Seq != e.Seq {
			out = append(out, Finding{
				Record: l.Entry, At: e.Effective, Expected: fmt.Sprintf("%s, %d", instant(e.Effective), e.Seq), Found: fmt.Sprintf("%s, %d", instant(l.Effective), l.Seq),
			})
		}
	}
	return out
}

func heldSums(b Book) (out []Finding) {
	sums := Sums(b.Entries)
	for _, h := range sortedBooks(sums, b.Held) {
		if sums[h] != b.Held[h] {
			out = append(out, Finding{Place: h.String(), Expected: mg(sums[h]), Found: mg(b.Held[h])})
		}
	}
	return out
}
