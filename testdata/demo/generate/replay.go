package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// span is a mass in g of which only the limits are known, for what a count or a
// census is booked as depends on who reads it.
type span struct{ low, high float64 }

// ledger replays the records in effective order. Every posting goes from one
// account to another, so the books balance; what a bin or batch surely holds
// must never fall below nothing.
type ledger struct {
	held     map[string]span // by "bin/species" or lot number
	reversed map[string]bool
	trouble  []string
}

// posted is a record in effective order.
type posted struct {
	table string
	at    time.Time
	row   cells
}

// effective lists movements, harvests and censuses by time, at one time in the
// order of the files. A reversal has the time of what it reverses. Rows of one
// id are filled up from the first.
func (c *club) effective() []posted {
	var out []posted
	first := map[string]cells{}
	for _, t := range []*table{c.book.movements, c.book.harvests, c.book.censuses} {
		for _, r := range t.sorted() {
			row := cells{}
			for column, cell := range first[r.cells["id"]] {
				row[column] = cell
			}
			for column, cell := range r.cells {
				row[column] = cell
			}
			first[row["id"]] = row
			out = append(out, posted{t.name, r.at, row})
		}
	}
	slices.SortStableFunc(out, func(a, b posted) int { return a.at.Compare(b.at) })
	return out
}

// replay returns what is wrong with the books.
func (c *club) replay() []string {
	l := &ledger{held: map[string]span{}, reversed: map[string]bool{}}
	all := c.effective()
	for _, p := range all {
		if p.row["kind"] == "reversal" {
			l.reversed[p.row["reverses"]] = true
		}
	}
	for _, p := range all {
		switch {
		case p.table == "harvests":
			l.harvest(p.row)
		case p.table == "censuses":
			l.census(p.row, c.surface(p.row["bin"]))
		default:
			l.move(p.row)
		}
	}
	return append(l.trouble, l.retired(c)...)
}

func (c *club) surface(bin string) float64 { return c.bed(bin).surface }

// retired checks that bins out of use hold nothing.
func (l *ledger) retired(c *club) []string {
	var out []string
	for _, b := range c.beds {
		for _, p := range b.worms {
			if s := l.held[b.name+"/"+p.species]; !b.end.IsZero() && s.high > 0 {
				out = append(out, fmt.Sprintf("%s is retired with up to %.0f g", b.name, s.high))
			}
		}
	}
	return out
}

// move replays a row of the movements. What was typed wrong and reversed stays
// out: it is taken back at its own moment.
func (l *ledger) move(r cells) {
	if r["kind"] == "reversal" || r["kind"] == "dispatch" || l.reversed[r["id"]] {
		return // what is sent leaves with what arrives, at the same moment
	}
	if r["from_batch"] != "" {
		l.take(r["from_batch"], castings(r), r)
		return
	}
	if r["from_bin"] == "" {
		l.put(r["to_bin"]+"/"+r["species"], worms(r))
		return
	}
	for _, account := range l.accounts(r["from_bin"], r["species"]) {
		got := l.take(account, worms(r), r)
		if r["to_bin"] != "" {
			l.put(r["to_bin"]+account[strings.Index(account, "/"):], got)
		}
	}
}

// accounts lists the accounts of a bin that a row takes from.
func (l *ledger) accounts(bin, species string) []string {
	if species != "" {
		return []string{bin + "/" + species}
	}
	var out []string
	for account, s := range l.held {
		if strings.HasPrefix(account, bin+"/") && s.high > 0 {
			out = append(out, account)
		}
	}
	slices.Sort(out)
	if len(out) == 0 {
		l.trouble = append(l.trouble, bin+": a share of nothing")
	}
	return out
}

func (l *ledger) put(account string, s span) {
	have := l.held[account]
	l.held[account] = span{have.low + s.low, have.high + s.high}
}

// take takes an amount, or a share when its unit is %, and returns what it was.
func (l *ledger) take(account string, s span, r cells) span {
	have := l.held[account]
	if r["unit"] == "%" {
		share := cellNumber(r["quantity"]) / 100
		s = span{have.low * share, have.high * share}
		l.held[account] = span{have.low - s.low, have.high - s.high}
		return s
	}
	if s.high > have.low {
		l.trouble = append(l.trouble, fmt.Sprintf("%s %s: %.0f g of at least %.0f g in %s", r["at"], r["kind"], s.high, have.low, account))
	}
	l.held[account] = span{have.low - s.high, have.high - s.low}
	return s
}

// worms returns the mass of worms that a row is of.
func worms(r cells) span {
	n := cellNumber(r["quantity"])
	switch r["unit"] {
	case "%":
		return span{}
	case "{worms}":
		if mg := cellNumber(r["sample_mg"]); mg > 0 {
			return span{n * mg / 1000, n * mg / 1000}
		}
		mean := wormGrams(r["species"])
		return span{n * mean * 0.6, n * mean * 2.2}
	}
	g := 1000 * deed{n: n, unit: r["unit"], density: cellNumber(r["density_g_per_l"])}.kg()
	return span{g, g}
}

// castings returns the dry mass of castings that a row takes out.
func castings(r cells) span {
	if r["unit"] == "%" {
		return span{}
	}
	wet := 1000 * deed{n: cellNumber(r["quantity"]), unit: r["unit"]}.kg()
	dry := wet * (1 - cellNumber(r["moisture_pct"])/100)
	return span{dry, dry}
}

// harvest puts castings into a batch, dry, and moves worms.
func (l *ledger) harvest(r cells) {
	wet := 1000*deed{n: cellNumber(r["quantity"]), unit: r["unit"]}.kg() - cellNumber(r["put_back_g"])
	s := span{wet * 0.25, wet * 0.5}
	if r["moisture_pct"] != "" {
		dry := wet * (1 - cellNumber(r["moisture_pct"])/100)
		s = span{dry, dry}
	}
	l.put(r["batch"], s)
	if r["worms_to"] == "" {
		return
	}
	moved := cells{"at": r["at"], "kind": "harvest", "quantity": r["worms_quantity"], "unit": r["worms_unit"], "species": r["worms_species"]}
	l.put(r["worms_to"]+"/"+r["worms_species"], l.take(r["bin"]+"/"+r["worms_species"], worms(moved), moved))
}

// census brings the book to an estimate, surely with apply, else only when the
// book lies outside the interval. That of samples is taken as wide.
func (l *ledger) census(r cells, surface float64) {
	account := r["bin"] + "/" + r["species"]
	have := l.held[account]
	if r["samples"] != "" {
		est := sampled(r["samples"]) * surface
		if r["apply"] == "true" {
			l.held[account] = span{0.6 * est, 1.4 * est}
			return
		}
		l.held[account] = span{min(0.6*est, max(have.low, 0.35*est)), max(1.4*est, min(have.high, 2.5*est))}
		return
	}
	grams := func(column string) float64 { return 1000 * deed{n: cellNumber(r[column]), unit: r["unit"]}.kg() }
	est, low, high := grams("estimate"), grams("low"), grams("high")
	switch {
	case r["apply"] == "true" || have.high < low || have.low > high:
		l.held[account] = span{est, est}
	case have.low < low || have.high > high:
		l.held[account] = span{min(est, max(have.low, low)), max(est, min(have.high, high))}
	}
}

// sampled returns the mean density of samples in g/m².
func sampled(cell string) float64 {
	var grams, area float64
	for s := range strings.SplitSeq(cell, ";") {
		parts := strings.Split(s, "/")
		area += cellNumber(parts[1])
		grams += cellNumber(parts[3])
	}
	return grams / area
}

// cellNumber reads a cell; an empty one is 0.
func cellNumber(cell string) float64 {
	if cell == "" {
		return 0
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic(err) // cells are written by number
	}
	return v
}
