package season

import "time"

// Report is the recount of one period. Rows are in the order of their keys, and
// every total is the sum of its rows.
type Report struct {
	Period     Period
	Empty      bool // nothing is dated inside the period
	Total      Line
	ByMember   []Line
	BySite     []Line
	ByBin      []Line
	BySpecies  []Line // a bin counts under its species, SeveralSpecies or NoSpecies
	ByMaterial []MaterialLine
	Stock      []SpeciesStock // by species, all bins together
	Received   Received
	Moved      []Moved // every movement, by kind
	Transfers  []Transfer
	Exchanges  []Exchange
	Losses     []Loss
	Missing    []Missing
	Before     *Comparison // set by who has the season before; see Compare
}

// Recount works out the report of a period from the facts. Nothing in it is
// estimated twice: processing rates come from rates.Of for each bin, and yields
// from the windows of each bin.
func Recount(f Facts) Report {
	bins := f.counted()
	all := total(bins)
	moves := within(f.Movements, f.Period, func(m Movement) time.Time { return m.At })
	receipts := within(f.Receipts, f.Period, func(r Receipt) time.Time { return r.At })
	return Report{
		Period:     f.Period,
		Empty:      !all.dated && len(moves) == 0 && len(receipts) == 0,
		Total:      all.line(""),
		ByMember:   lines(bins, func(b BinFacts) string { return b.Member }),
		BySite:     lines(bins, func(b BinFacts) string { return b.Site }),
		ByBin:      lines(bins, func(b BinFacts) string { return b.ID }),
		BySpecies:  lines(bins, BinFacts.species),
		ByMaterial: materials(bins),
		Stock:      stock(bins),
		Received:   received(receipts),
		Moved:      moved(moves),
		Transfers:  transfers(moves),
		Exchanges:  exchanges(moves),
		Losses:     losses(moves),
		Missing:    missing(bins, f),
	}
}
