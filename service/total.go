package service

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

// TotalRules numbers the rules by which records are added up. A program with
// another number makes the totals of every club anew when it starts, so it rises
// with each change of what a record adds.
const TotalRules = 1

// Total is what the records of one local month add up to in one respect.
type Total struct {
	TotalKey
	Amounts
}

// TotalKey says what a total is about; what is empty doesn't matter to it.
type TotalKey struct {
	Month    string // as season.LocalMonth names it
	Bin      BinID
	Kind     TotalKind
	Species  SpeciesID
	Material MaterialID
	Member   MemberID
}

// Amounts can be added; taking a record back takes them away.
type Amounts struct {
	Records int64
	Mass    unit.Mass // signed where stock moves
	Dry     unit.Mass // of Mass, where the moisture is known
	Weighed unit.Mass // of Mass
	Minor   int64     // money, in minor units
}

// TotalKind is what is added up. Some kinds have a tail: TotalStock and
// TotalCastings that of the entry (see course), TotalMoney the currency.
type TotalKind string

// The kinds of totals.
const (
	TotalFed             TotalKind = "fed"              // of a material, at the material's moisture
	TotalFedMeasured     TotalKind = "fed-measured"     // of a material, each at its own moisture
	TotalHarvested       TotalKind = "harvest"          // castings, at the default moisture
	TotalHarvestMeasured TotalKind = "harvest-measured" // castings, each at its own moisture
	TotalPutBack         TotalKind = "put-back"         // of what was harvested; not in the castings
	TotalLeftovers       TotalKind = "leftovers"        // checks that say what is left
	TotalStock           TotalKind = "stock/"           // worms into a bin, or out of it
	TotalCastings        TotalKind = "castings/"        // dry matter used or handed on
	TotalMoney           TotalKind = "money/"           // of who had kept what was paid for
)

// plus returns a and n times b.
func (a Amounts) plus(b Amounts, n int64) Amounts {
	return Amounts{
		Records: a.Records + n*b.Records,
		Mass:    a.Mass + unit.Mass(n)*b.Mass,
		Dry:     a.Dry + unit.Mass(n)*b.Dry,
		Weighed: a.Weighed + unit.Mass(n)*b.Weighed,
		Minor:   a.Minor + n*b.Minor,
	}
}

// compare orders keys; every transaction adds in this order.
func (k TotalKey) compare(o TotalKey) int {
	return cmp.Or(
		strings.Compare(k.Month, o.Month), cmp.Compare(k.Bin, o.Bin), cmp.Compare(k.Kind, o.Kind),
		cmp.Compare(k.Species, o.Species), cmp.Compare(k.Material, o.Material), cmp.Compare(k.Member, o.Member),
	)
}

// countable is a record that counts in totals. A new noun that does needs this
// method, its wrapper (counted.go) and its list in countables.
type countable interface {
	// totals returns what the record adds: nothing when it was taken back.
	totals(in custom) []Total
}

// custom is what it takes beside a record to tell what it adds.
type custom struct {
	zone      *time.Location
	materials map[MaterialID]Material
}

// at returns the key of a total in the month of a moment.
func (in custom) at(m Moment, kind TotalKind) TotalKey {
	return TotalKey{Month: season.LocalMonth(m.Time, in.zone), Kind: kind}
}

// counting is a record that counts so many times: 1, or −1 when it no longer
// does.
type counting struct {
	countable
	times int64
}

// sum adds up records, in the order of keys and without what comes to nothing.
func sum(in custom, records []counting) []Total {
	sums := map[TotalKey]Amounts{}
	for _, r := range records {
		for _, t := range r.totals(in) {
			sums[t.TotalKey] = sums[t.TotalKey].plus(t.Amounts, r.times)
		}
	}
	var out []Total
	for _, k := range slices.SortedFunc(maps.Keys(sums), TotalKey.compare) {
		if sums[k] != (Amounts{}) {
			out = append(out, Total{k, sums[k]})
		}
	}
	return out
}

func (f Feeding) totals(in custom) []Total {
	if f.void() {
		return nil
	}
	var out []Total
	for _, it := range f.Items {
		key := in.at(f.At, TotalFed)
		if it.Moisture != nil {
			key.Kind = TotalFedMeasured
		}
		key.Bin, key.Material = f.Bin, it.Material
		t := Total{key, Amounts{Records: 1, Mass: it.Wet}}
		t.Dry, _ = feedMoisture(it, in.materials[it.Material]).Dry(it.Wet)
		if it.Weighed {
			t.Weighed = it.Wet
		}
		out = append(out, t)
	}
	return out
}

func (c Check) totals(in custom) []Total {
	if c.void() || c.LeftoverAll == nil && len(c.Leftovers) == 0 {
		return nil
	}
	key := in.at(c.At, TotalLeftovers)
	key.Bin = c.Bin
	return []Total{{key, Amounts{Records: 1}}}
}

func (h Harvest) totals(in custom) []Total {
	moisture := castingsMoisture(h)
	key := in.at(h.At, TotalHarvested)
	if h.Moisture != nil {
		key.Kind = TotalHarvestMeasured
	}
	key.Bin = h.Bin
	castings := yields.Harvest{Wet: h.Wet, PutBack: h.PutBack}.Castings()
	t := Total{key, Amounts{Records: 1, Mass: castings}}
	t.Dry, _ = moisture.Dry(castings)
	out := []Total{t}
	if h.PutBack > 0 {
		key.Kind = TotalPutBack
		out = append(out, Total{key, Amounts{Records: 1, Mass: h.PutBack}})
	}
	return out
}

func (m Movement) totals(in custom) []Total {
	if m.Kind == journal.Reversal || m.ReversedBy != "" {
		return nil
	}
	out := m.stockTotals(in)
	alone := facts{movements: []Movement{m}}
	for _, x := range alone.moved() {
		if x.Species == "" {
			key := in.at(m.At, TotalCastings+m.course())
			key.Member = MemberID(x.From)
			out = append(out, Total{key, Amounts{Records: 1, Mass: x.Mass}})
		}
		if x.Currency != "" {
			key := in.at(m.At, TotalMoney+TotalKind(x.Currency))
			key.Member = MemberID(x.From)
			out = append(out, Total{key, Amounts{Records: 1, Minor: x.Price}})
		}
	}
	return out
}

// stockTotals returns what a movement does to the stock of bins.
func (m Movement) stockTotals(in custom) []Total {
	var out []Total
	for _, p := range m.Postings {
		bin, species, ok := inBin(p)
		if !ok {
			continue
		}
		key := in.at(m.At, TotalStock+m.course())
		key.Bin, key.Species = bin, species
		out = append(out, Total{key, Amounts{Records: 1, Mass: p.Amount}})
	}
	return out
}

// course is the tail of a movement's kinds: its kind, then the terms or the
// cause, then whether it left the club, as "hand-over/sale/out" or "loss/dead".
func (m Movement) course() TotalKind {
	words := []string{string(m.Kind)}
	for _, w := range []string{string(m.Terms), string(m.Cause)} {
		if w != "" {
			words = append(words, w)
		}
	}
	if m.Kind == journal.HandOver && m.ToBin == "" && m.ToMember == "" {
		words = append(words, "out")
	}
	return TotalKind(strings.Join(words, "/"))
}
