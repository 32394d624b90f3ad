package service

import (
	"context"
	"fmt"
	"slices"

	"lumbricary.example/service/balance"
	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// ExplainStock says how the book of what stands in a bin came about from the
// lines of the journal, and the shares of its lots. Errors: ErrClubNotFound,
// ErrForbidden.
func (s Reports) ExplainStock(ctx context.Context, a Actor, b BinStock) ([]working.Figure, error) {
	return read(ctx, s.Desk, a, func(w *work) (out []working.Figure, err error) {
		all := working.Figure{Name: "/book_g", Formula: working.Total}
		var sum unit.Mass
		for i, x := range b.Stands {
			at := fmt.Sprintf("/stock/%d", i)
			book, err := w.bookWorking(at+"/book_g", journal.Bin(string(b.Bin.ID)), journal.Worms(string(x.Species)))
			if err != nil {
				return nil, err
			}
			lot, err := w.Lots.Get(x.Lot)
			if err != nil {
				return nil, err
			}
			shares, err := w.lotWorkings(lot)
			if err != nil {
				return nil, err
			}
			sum += x.Book
			all.Rows = append(all.Rows, working.Row{Group: "species", Inputs: []working.Input{working.From("amount", book)}})
			out = append(append(out, book), working.Under(at, renamed(shares, "/shares/", "/origins/"))...)
		}
		all.Result = unit.Of(sum.Grams(), "g", "book")
		return slices.Insert(out, 0, all), nil
	})
}

// renamed are figures of one list that an answer calls another.
func renamed(figures []working.Figure, from, to string) []working.Figure {
	for i, f := range figures {
		figures[i].Name = to + f.Name[len(from):]
	}
	return figures
}

// bookWorking says how the book of an account came about from its lines that
// stand.
func (w *work) bookWorking(name string, account journal.Account, c journal.Commodity) (working.Figure, error) {
	lines, err := w.Movements.Lines(account, c)
	if err != nil {
		return working.Figure{}, err
	}
	var ids []MovementID
	for _, l := range lines {
		ids = append(ids, MovementID(l.Entry))
	}
	slices.Sort(ids)
	some, err := w.Movements.Some(slices.Compact(ids))
	kinds := map[string]string{}
	for _, m := range some {
		kinds[string(m.ID)] = string(m.Kind)
	}
	return lineage.Book(name, lines, kinds), err
}

// ExplainLineage says how the shares of a lot, of the cultures in it and its
// effective number of sources came about. Errors: ErrClubNotFound, ErrForbidden.
func (s Reports) ExplainLineage(ctx context.Context, a Actor, l LotLineage) ([]working.Figure, error) {
	return figures(ctx, s.Desk, a, func(w *work) ([]working.Figure, error) {
		shares, err := w.lotWorkings(l.Lot)
		return append(l.Workings(), renamed(shares, "/shares/", "/origins/")...), err
	})
}

// Workings says how the shares of cultures and the effective number of sources
// came about.
func (l LotLineage) Workings() []working.Figure {
	shares := l.Lot.Shares
	out := []working.Figure{shares.Part("/unknown_share", func(o string) bool { return o == lineage.Unknown })}
	if len(shares) > 0 {
		out = append(out, shares.Sources())
	}
	for i, c := range l.Cultures {
		f := shares.Part(fmt.Sprintf("/cultures/%d/share", i), func(o string) bool { return l.Names.Origins[OriginID(o)].Culture == c.Culture })
		f.Inputs = []working.Input{l.Club.CopyFrom()}
		out = append(out, f)
	}
	return out
}

// CopyFrom is the share from which stock is a copy of a culture, as an input.
func (c Club) CopyFrom() working.Input {
	return working.Given("copy_from", float64(c.CopyPct)/100, "1", working.Practice, "the share from which it is a copy of a culture, a setting of the club")
}

// Workings says how what lies of materials and is in store came about.
func (b MaterialsBalance) Workings() []working.Figure {
	at := func(prefix string, f ...working.Figure) []working.Figure { return working.Under(prefix, f) }
	total := balance.SumOf(b.Stores)
	out := at("/total", balance.TotalOf(b.Piles).Working())
	out = append(append(out, at("/store", total.Workings()...)...), total.LostWorking())
	for i, x := range b.Piles {
		out = append(out, at(fmt.Sprintf("/materials/%d", i), x.Working())...)
	}
	for i, x := range b.Stores {
		out = append(out, at(fmt.Sprintf("/batches/%d", i), x.Workings()...)...)
	}
	return out
}

// Workings says how what is in a batch and its moisture came about.
func (b BatchBalance) Workings() []working.Figure {
	return append(working.Under("/store", b.Store.Workings()), b.Contents.MoistureWorking())
}

// Workings says how the dry matter of a batch is made up.
func (c Composition) Workings() []working.Figure {
	out := working.Figure{Name: "/dry_g", Formula: working.Total}
	var sum unit.Mass
	for _, s := range c.Sources {
		sum += s.Dry
		r := working.Record{Kind: "harvest", ID: s.Harvest}
		if h, ok := c.Harvests[HarvestID(s.Harvest)]; ok {
			r.At = h.At.Time
		}
		out.Rows = append(out.Rows, working.Row{Record: r, Group: r.Kind, Inputs: []working.Input{working.Of("amount", s.Dry.Grams(), "g", r)}})
	}
	out.Result = unit.Of(sum.Grams(), "g", "book")
	return []working.Figure{out}
}

// Workings says how the sums and the debts of a statement came about.
func (s Statement) Workings() []working.Figure {
	var out []working.Figure
	gave, got := 0, 0
	for _, r := range s.Rows {
		at, n := "/got", &got
		if r.Gave {
			at, n = "/gave", &gave
		}
		out = append(out, r.Working(fmt.Sprintf("%s/%d/mass_g", at, *n)))
		*n++
	}
	for i, d := range s.Debts {
		out = append(out, d.working(fmt.Sprintf("/debts/%d/mass_g", i)))
	}
	return out
}

// working says how a debt came about: of a loan what was lent less what is back or
// forgiven, of a swap what was agreed on.
func (d Debt) working(name string) working.Figure {
	r := working.Record{Kind: "transfer", ID: string(d.Transfer)}
	for _, l := range d.Lent {
		if l.Commodity == d.Amount.Commodity {
			return l.Working(name, r)
		}
	}
	return working.Figure{
		Name: name, Formula: working.Weighed, Result: unit.Of(d.Amount.Mass.Grams(), "g", "agreed"),
		Inputs: []working.Input{working.Of("weighed", d.Amount.Mass.Grams(), "g", r)},
	}
}

// Workings says how what is owed of a transfer came about.
func (t TransferSeen) Workings() []working.Figure {
	var out []working.Figure
	for i, l := range t.Deal.Lent() {
		out = append(out, l.Working(fmt.Sprintf("/outstanding/%d/mass_g", i), working.Record{Kind: "transfer", ID: string(t.ID)}))
	}
	return append(out, goodsWorkings(string(t.ID), t.Deal)...)
}

// goodsWorkings says what became of what was sent, where it has arrived.
func goodsWorkings(id string, d exchange.Deal) []working.Figure {
	var out []working.Figure
	for i, l := range d.Legs {
		for j, g := range l.Goods {
			if l.State != exchange.Arrived {
				continue
			}
			row := func(what string, m unit.Mass) working.Row {
				return working.Row{Group: what, Inputs: []working.Input{working.Of("amount", m.Grams(), "g", working.Record{Kind: "transfer", ID: id})}}
			}
			out = append(out, working.Figure{
				Name: fmt.Sprintf("/legs/%d/goods/%d/sent_g", i, j), Formula: working.Total, Result: unit.Of(g.Came.Sum().Grams(), "g", "book"),
				Rows: []working.Row{
					row("received", g.Came.Received), row("seen dead", g.Came.Dead), row("weight lost", g.Came.WeightLost),
					row("missing", g.Came.Missing), row("returned", g.Came.Returned),
				},
			})
		}
	}
	return out
}
