package exchange

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// Handed is one thing that changed hands.
type Handed struct {
	Record    string // id
	From, To  string // members; empty: outside the club
	Terms     Terms
	Commodity journal.Commodity
	Mass      unit.Mass  // as sent, less what went back; castings dry
	Worms     unit.Count // evidence; 0: nobody counted
	Minor     int64      // price
	Currency  string     // empty: no price is told
}

// Row is what a member gave or got on the same terms.
type Row struct {
	Terms     Terms
	Gave      bool // false: got
	Commodity journal.Commodity
	Mass      unit.Mass
	Worms     unit.Count
	Money     map[string]int64 // minor units by currency: earned where it was given, paid where it was got
	Records   []string
	handed    []Handed
}

// Statement sums what the member gave and got, by terms, side and commodity, in
// that order: every sum is that of the records that it names.
func Statement(member string, all []Handed) []Row {
	type key struct {
		terms     Terms
		gave      bool
		commodity journal.Commodity
	}
	rows := map[key]*Row{}
	for _, h := range all {
		for _, gave := range []bool{true, false} {
			if gave && h.From != member || !gave && h.To != member {
				continue
			}
			k := key{h.Terms, gave, h.Commodity}
			if rows[k] == nil {
				rows[k] = &Row{Terms: h.Terms, Gave: gave, Commodity: h.Commodity, Money: map[string]int64{}}
			}
			r := rows[k]
			r.Mass += h.Mass
			r.Worms += h.Worms
			r.handed = append(r.handed, h)
			if h.Currency != "" {
				r.Money[h.Currency] += h.Minor
			}
			if !slices.Contains(r.Records, h.Record) {
				r.Records = append(r.Records, h.Record)
			}
		}
	}
	out := make([]Row, 0, len(rows))
	for _, r := range rows {
		out = append(out, *r)
	}
	slices.SortFunc(out, func(a, b Row) int {
		return cmp.Or(cmp.Compare(a.Terms, b.Terms), cmp.Compare(b.side(), a.side()), cmp.Compare(a.Commodity, b.Commodity))
	})
	return out
}

// Working says how the mass of a row came about from its records.
func (r Row) Working(name string) working.Figure {
	out := working.Figure{Name: name, Formula: working.Total, Result: unit.Of(r.Mass.Grams(), "g", "book")}
	for _, h := range r.handed {
		m := working.Record{Kind: "movement", ID: h.Record}
		out.Rows = append(out.Rows, working.Row{Record: m, Group: m.Kind, Inputs: []working.Input{working.Of("amount", h.Mass.Grams(), "g", m)}})
	}
	return out
}

func (r Row) side() int {
	if r.Gave {
		return 1
	}
	return 0
}

// Debt is what one side owes the other: of a loan what isn't back, of a swap a leg
// that can't be delivered.
type Debt struct {
	Debtor   string // a member; empty: the party outside the club
	Creditor string
	Amount   Amount
}

// Debts returns what is owed in the deal at that time.
func (d Deal) Debts(now time.Time) []Debt {
	lender, borrower := "", ""
	if len(d.Legs) > 0 {
		lender, borrower = d.Sides()
	}
	var out []Debt
	for _, a := range d.Outstanding() {
		out = append(out, Debt{borrower, lender, a})
	}
	if d.State(now) != Owed {
		return out
	}
	for _, l := range d.Legs {
		if l.State != Undelivered && l.State != Reserved {
			continue
		}
		sums := map[journal.Commodity]unit.Mass{}
		for _, g := range l.Goods {
			sums[g.Commodity] += g.Agreed
		}
		for _, c := range slices.Sorted(maps.Keys(sums)) {
			out = append(out, Debt{l.Giver, l.Receiver, Amount{c, sums[c]}})
		}
	}
	return out
}
