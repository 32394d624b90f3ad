package season

import (
	"slices"
	"strings"

	"lumbricary.example/service/yields"
)

// tally is one bin, or some bins added up.
type tally struct {
	facts BinFacts // of one bin
	sums  Line     // what can be added
	fed   []MaterialLine
	rate  rateSum
	dated bool // something is dated inside the period
}

// counted gathers the bins that were kept in the period or have a figure in it,
// in the order of their ids.
func (f Facts) counted() []tally {
	var out []tally
	for _, b := range f.Bins {
		t := tallyOf(b, f)
		if t.sums.Bins > 0 || t.dated || t.sums.Stock != (Stock{}) {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b tally) int { return strings.Compare(a.facts.ID, b.facts.ID) })
	return out
}

func tallyOf(b BinFacts, f Facts) tally {
	t := tally{facts: b, rate: rateOf(b, f), dated: b.dated(f.Period)}
	if b.active(f.Period) {
		t.sums.Bins = 1
	}
	a := b.added(f.Period)
	t.sums.Fed, t.sums.Weighed, t.fed = a.Fed, a.Weighed, a.Materials
	for _, h := range b.harvests(f.Period) {
		if h.Batch != "" {
			t.sums.Batches = append(t.sums.Batches, h.Batch)
		}
	}
	for _, s := range b.Stock {
		t.sums.Stock.Start += s.Start
		t.sums.Stock.End += s.End
	}
	var closed []yields.Window
	for _, w := range b.windows() {
		if f.Period.Contains(w.To) {
			t.sums.Windows++
			t.sums.Closed = t.sums.Closed.Plus(w.Sums)
			closed = append(closed, w)
		}
	}
	t.sums.trail = []binTrail{{b.ID, t.sums.Fed, t.sums.Weighed, t.sums.Stock.End, closed, t.rate}}
	return t
}

func (t tally) plus(b tally) tally {
	return tally{
		sums: Line{
			Bins:    t.sums.Bins + b.sums.Bins,
			Fed:     t.sums.Fed.Plus(b.sums.Fed),
			Weighed: t.sums.Weighed + b.sums.Weighed,
			Batches: slices.Concat(t.sums.Batches, b.sums.Batches),
			Windows: t.sums.Windows + b.sums.Windows,
			Closed:  t.sums.Closed.Plus(b.sums.Closed),
			trail:   slices.Concat(t.sums.trail, b.sums.trail),
			Stock:   Stock{t.sums.Stock.Start + b.sums.Stock.Start, t.sums.Stock.End + b.sums.Stock.End},
		},
		rate:  t.rate.plus(b.rate),
		dated: t.dated || b.dated,
	}
}

func total(bins []tally) tally {
	var sum tally
	for _, b := range bins {
		sum = sum.plus(b)
	}
	return sum
}

// line returns the sums with the figures they give.
func (t tally) line(key string) Line {
	l := t.sums
	l.Key = key
	l.Batches = distinct(l.Batches)
	l.Yields = yields.Ratio(nil)
	if l.Windows > 0 {
		l.Yields = yields.Of(l.Closed)
	}
	l.Rate = t.rate.close()
	return l
}

func lines(bins []tally, of func(BinFacts) string) []Line {
	var out []Line
	for _, g := range gather(bins, func(t tally) key { return key{of(t.facts)} }) {
		out = append(out, total(g.of).line(g.key[0]))
	}
	return out
}

func materials(bins []tally) []MaterialLine {
	var fed []MaterialLine
	for _, b := range bins {
		fed = append(fed, b.fed...)
	}
	var out []MaterialLine
	for _, g := range gather(fed, func(x MaterialLine) key { return key{x.Key} }) {
		l := MaterialLine{Key: g.key[0]}
		for _, x := range g.of {
			l.Fed = l.Fed.Plus(x.Fed)
			l.Weighed += x.Weighed
		}
		out = append(out, l)
	}
	return out
}

// stock adds the books of the bins by species.
func stock(bins []tally) []SpeciesStock {
	var books []SpeciesStock
	for _, b := range bins {
		books = append(books, b.facts.Stock...)
	}
	var out []SpeciesStock
	for _, g := range gather(books, func(s SpeciesStock) key { return key{s.Species} }) {
		sum := SpeciesStock{Species: g.key[0]}
		for _, s := range g.of {
			sum.Start += s.Start
			sum.End += s.End
		}
		out = append(out, sum)
	}
	return out
}
