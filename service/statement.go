package service

import (
	"context"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
)

// Statement is what a member gave and got in a season, and what is owed now.
type Statement struct {
	Period season.Period
	Member Member
	Rows   []exchange.Row
	Debts  []Debt // the member's and those to the member, as of now
	Names  Names
}

// Debt is what is owed by a transfer.
type Debt struct {
	exchange.Debt
	Transfer TransferID
	Terms    Terms
	Party    string // stands for an empty side
	Due      string // a date; empty for a swap
	Lent     []exchange.Lent
}

// Statement returns a member's statement for a period given by its code, as of
// Season. It is for the member and for stewards. Errors: ErrClubNotFound,
// ErrForbidden, ErrMemberNotFound, ErrPeriod.
func (s Reports) Statement(ctx context.Context, a Actor, member MemberID, code string) (Statement, error) {
	return read(ctx, s.Desk, a, func(w *work) (out Statement, err error) {
		if out.Member, err = w.Members.Get(member); err != nil {
			return out, err
		}
		if err := w.may(ReadStatement, member); err != nil {
			return out, err
		}
		if out.Period, err = w.period(code); err != nil {
			return out, err
		}
		moved, err := w.Movements.List(Query{Member: member, From: out.Period.From, To: out.Period.To})
		if err != nil {
			return out, err
		}
		out.Rows = exchange.Statement(string(member), handed(moved))
		if out.Debts, err = w.debts(member); err != nil {
			return out, err
		}
		out.Names, err = w.names()
		return out, err
	})
}

// handed lists what changed hands by movements that stand: at once, or by
// arriving.
func handed(moved []Movement) []exchange.Handed {
	var out []exchange.Handed
	for _, m := range moved {
		if m.Terms == NoTerms || m.ReversedBy != "" || m.Kind != journal.HandOver && m.Kind != journal.Arriving {
			continue
		}
		for i, l := range m.Lines {
			if l.Material {
				continue
			}
			h := exchange.Handed{
				Record: string(m.ID), From: string(m.FromMember), To: string(m.ToMember), Terms: m.Terms,
				Commodity: l.commodity(), Mass: l.came().Sum() - l.Returned,
			}
			if unit.DimensionOf(l.Typed.Unit) == unit.DimCount {
				h.Worms = l.Worms
			}
			if i == 0 && m.PriceMinor != nil {
				h.Minor, h.Currency = *m.PriceMinor, m.Currency
			}
			out = append(out, h)
		}
	}
	return out
}

// commodity is what a line moves.
func (l Line) commodity() journal.Commodity {
	if l.Species != "" {
		return journal.Worms(string(l.Species))
	}
	return journal.Castings
}

// debts are those of the member and to the member.
func (w *work) debts(member MemberID) ([]Debt, error) {
	open, err := w.Transfers.Open()
	var out []Debt
	for _, t := range open {
		for _, d := range t.Deal.Debts(w.now) {
			if d.Debtor == string(member) || d.Creditor == string(member) {
				out = append(out, Debt{d, t.ID, t.Deal.Terms, t.Party, t.Due, t.Deal.Lent()})
			}
		}
	}
	return out, err
}

// period finds the period of a code; an empty code means the season of today.
// Errors: ErrPeriod.
func (w *work) period(code string) (season.Period, error) {
	cal := w.calendar()
	switch {
	case code != "":
		p, err := season.Parse(code, cal)
		if err != nil {
			return p, ErrPeriod.With("%s", err)
		}
		return p, nil
	case w.Club.SeasonBy == ByQuarters:
		return season.QuarterAt(w.now, cal), nil
	}
	return season.At(w.now, cal), nil
}

func (w *work) calendar() season.Calendar {
	return season.Calendar{Zone: w.zone, Southern: w.Club.Hemisphere == South}
}
