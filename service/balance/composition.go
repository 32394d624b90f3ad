package balance

import (
	"cmp"
	"math/bits"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/unit"
)

// Source is a part of what a batch holds: how much of its dry matter a harvest
// made, and the batch that it came by.
type Source struct {
	Harvest string // id of the harvest, or of another entry by which it came in
	Batch   string // id of the batch that it came out of last; empty: straight from the harvest
	Dry     unit.Mass
}

// Batched is dry matter of a batch that an entry of the journal moves.
type Batched struct {
	Batch string // id
	Dry   unit.Mass
}

// Mixing is an entry of the journal as batches see it. What goes out of some and
// into others is mixed; what comes in from nowhere among the batches was made by
// the entry itself.
type Mixing struct {
	ID       string
	At       time.Time
	Seq      int64
	Out, Put []Batched
}

// Composition is what a batch is made of. Sources are in the order of their ids,
// and their dry matter adds up to what the batch holds.
type Composition struct {
	Sources []Source
	Gone    bool // the batch is empty: this is what it was made of last
}

// Compose returns what a batch is made of at the end of a moment, from the
// standing entries of the journal in any order. What goes out takes a
// proportional part of everything; masses are whole milligrams, so what doesn't
// divide goes to the largest remainders.
func Compose(batch string, entries []Mixing, at time.Time) Composition {
	holds, last := map[string][]Source{}, []Source(nil)
	for _, e := range slices.SortedStableFunc(slices.Values(entries), func(a, b Mixing) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Seq, b.Seq))
	}) {
		if e.At.After(at) {
			break
		}
		before := holds[batch]
		e.mix(holds)
		if len(holds[batch]) == 0 && len(before) > 0 {
			last = before
		}
	}
	if len(holds[batch]) == 0 {
		return Composition{last, len(last) > 0}
	}
	return Composition{Sources: holds[batch]}
}

// mix moves what an entry moves between the contents of batches.
func (e Mixing) mix(holds map[string][]Source) {
	var pool []Source
	for _, o := range e.Out {
		var taken []Source
		taken, holds[o.Batch] = take(holds[o.Batch], o.Dry)
		for _, s := range taken {
			s.Batch = o.Batch
			pool = append(pool, s)
		}
	}
	pool = joined(pool)
	for _, p := range e.Put {
		var put []Source
		put, pool = take(pool, min(p.Dry, sum(pool)))
		if made := p.Dry - sum(put); made > 0 {
			put = append(put, Source{Harvest: e.ID, Dry: made})
		}
		holds[p.Batch] = joined(append(slices.Clone(holds[p.Batch]), put...))
	}
}

// take parts sources into what a share of their dry matter is made of, and the
// rest.
func take(from []Source, dry unit.Mass) (taken, rest []Source) {
	whole := sum(from)
	if dry >= whole {
		return from, nil
	}
	shares, over := make([]unit.Mass, len(from)), make([]uint64, len(from))
	order, left := make([]int, len(from)), dry
	for i, s := range from {
		high, low := bits.Mul64(uint64(s.Dry), uint64(dry)) //nolint:gosec // masses in a batch are never negative
		q, r := bits.Div64(high, low, uint64(whole))        //nolint:gosec // as above, and larger than dry
		shares[i], over[i], order[i] = unit.Mass(q), r, i   //nolint:gosec // at most s.Dry
		left -= shares[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(over[b], over[a]) })
	for _, i := range order[:left] {
		shares[i]++
	}
	for i, s := range from {
		if shares[i] > 0 {
			taken = append(taken, Source{s.Harvest, s.Batch, shares[i]})
		}
		if s.Dry > shares[i] {
			rest = append(rest, Source{s.Harvest, s.Batch, s.Dry - shares[i]})
		}
	}
	return taken, rest
}

func sum(sources []Source) (dry unit.Mass) {
	for _, s := range sources {
		dry += s.Dry
	}
	return dry
}

// joined adds up sources of one harvest and batch, and sorts them.
func joined(sources []Source) []Source {
	slices.SortFunc(sources, func(a, b Source) int {
		return cmp.Or(strings.Compare(a.Harvest, b.Harvest), strings.Compare(a.Batch, b.Batch))
	})
	var out []Source
	for _, s := range sources {
		if n := len(out); n > 0 && out[n-1].Harvest == s.Harvest && out[n-1].Batch == s.Batch {
			out[n-1].Dry += s.Dry
		} else if s.Dry > 0 {
			out = append(out, s)
		}
	}
	return out
}
