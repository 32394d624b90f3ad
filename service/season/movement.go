package season

import (
	"maps"
	"slices"

	"lumbricary.example/service/unit"
)

// Castings is the key of castings where live worms have their species id.
const Castings = "castings"

// Money is an amount in minor units of one currency. Amounts of different
// currencies are never added.
type Money struct {
	Currency string // ISO 4217
	Minor    int64
}

// Moved is what moved by one kind of entry.
type Moved struct {
	Kind      string
	Commodity string // species id, or Castings
	Mass      unit.Mass
	Records   []string // ids of the movements
}

// Way says over which border of the club a transfer went.
type Way string

// The ways of a transfer.
const (
	Within Way = "within" // from member to member
	In     Way = "in"     // from an outside party
	Out    Way = "out"    // to an outside party
)

// Transfer is what changed hands on the same terms.
type Transfer struct {
	Terms     string
	Way       Way
	Commodity string // species id, or Castings
	Mass      unit.Mass
	Money     []Money
	Records   []string // ids of the movements
}

// Exchange is what a member gave and got on the same terms. The rows of member
// "" are those of the outside parties and of nobody.
type Exchange struct {
	Member    string
	Terms     string
	Commodity string // species id, or Castings
	Gave      unit.Mass
	Got       unit.Mass // as it was sent: what died or was lost on the way counts
	Earned    []Money
	Paid      []Money
}

// Loss is what a member lost: of what was kept, and of what was sent.
type Loss struct {
	Member    string // who kept it before
	Commodity string // species id, or Castings
	SeenDead  unit.Mass
	Lost      unit.Mass // shortfall, escaped, written off
	Records   []string  // ids of the movements
}

func (m Movement) commodity() string {
	if m.Species == "" {
		return Castings
	}
	return m.Species
}

func (m Movement) way() Way {
	switch {
	case !m.Outside:
		return Within
	case m.From == "":
		return In
	}
	return Out
}

func moved(ms []Movement) []Moved {
	var out []Moved
	for _, g := range gather(ms, func(m Movement) key { return key{m.Kind, m.commodity()} }) {
		out = append(out, Moved{Kind: g.key[0], Commodity: g.key[1], Mass: mass(g.of), Records: records(g.of)})
	}
	return out
}

func transfers(ms []Movement) []Transfer {
	var out []Transfer
	for _, g := range gather(ms, func(m Movement) key { return key{m.Terms, string(m.way()), m.commodity()} }) {
		if g.key[0] == "" {
			continue
		}
		out = append(out, Transfer{
			Terms: g.key[0], Way: Way(g.key[1]), Commodity: g.key[2],
			Mass: mass(g.of), Money: money(g.of), Records: records(g.of),
		})
	}
	return out
}

func exchanges(ms []Movement) []Exchange {
	type side struct {
		member string
		gave   bool
		Movement
	}
	var sides []side
	for _, m := range ms {
		if m.Terms != "" {
			sides = append(sides, side{m.From, true, m}, side{m.To, false, m})
		}
	}
	var out []Exchange
	for _, g := range gather(sides, func(s side) key { return key{s.member, s.Terms, s.commodity()} }) {
		var gave, got []Movement
		for _, s := range g.of {
			if s.gave {
				gave = append(gave, s.Movement)
			} else {
				got = append(got, s.Movement)
			}
		}
		out = append(out, Exchange{
			Member: g.key[0], Terms: g.key[1], Commodity: g.key[2],
			Gave: mass(gave), Got: mass(got), Earned: money(gave), Paid: money(got),
		})
	}
	return out
}

func losses(ms []Movement) []Loss {
	var out []Loss
	for _, g := range gather(ms, func(m Movement) key { return key{m.From, m.commodity()} }) {
		lost := slices.DeleteFunc(g.of, func(m Movement) bool { return m.SeenDead == 0 && m.Lost == 0 })
		if len(lost) == 0 {
			continue
		}
		l := Loss{Member: g.key[0], Commodity: g.key[1], Records: records(lost)}
		for _, m := range lost {
			l.SeenDead += m.SeenDead
			l.Lost += m.Lost
		}
		out = append(out, l)
	}
	return out
}

func mass(ms []Movement) unit.Mass {
	var sum unit.Mass
	for _, m := range ms {
		sum += m.Mass
	}
	return sum
}

// records lists the ids once each, sorted.
func records(ms []Movement) []string {
	ids := make([]string, 0, len(ms))
	for _, m := range ms {
		ids = append(ids, m.ID)
	}
	return distinct(ids)
}

// money adds the prices of each currency, in the order of currencies.
func money(ms []Movement) []Money {
	sums := map[string]int64{}
	for _, m := range ms {
		if m.Currency != "" {
			sums[m.Currency] += m.Price
		}
	}
	var out []Money
	for _, currency := range slices.Sorted(maps.Keys(sums)) {
		out = append(out, Money{currency, sums[currency]})
	}
	return out
}
