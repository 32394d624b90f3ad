package journal

import (
	"strings"

	"lumbricary.example/service/unit"
)

// Commodity is what a posting moves: live worms of one species, or castings.
type Commodity string

// Castings is castings, vermicompost and screened material, as dry matter.
const Castings Commodity = "castings"

const wormsPrefix = "worms:"

// Worms returns the commodity of live worms of a species, by its id.
func Worms(species string) Commodity { return Commodity(wormsPrefix + species) }

// Species returns the species of worms, and false for any other commodity.
func (c Commodity) Species() (string, bool) {
	s, ok := strings.CutPrefix(string(c), wormsPrefix)
	if !ok {
		return "", false
	}
	return s, s != ""
}

// AccountKind says what an account stands for.
type AccountKind string

// The accounts of a club. Bins, batches and transits are many, told apart by
// their id; of each other kind there is one per club and commodity.
const (
	BinAccount   AccountKind = "bin"
	BatchAccount AccountKind = "batch"
	Outside      AccountKind = "outside"       // everybody who is not in the club
	Transit      AccountKind = "transit"       // under way, by transfer
	Growth       AccountKind = "growth"        // signed: what a census found more or less
	Mortality    AccountKind = "mortality"     // worms seen dead, or a lost bin
	WeightChange AccountKind = "weight-change" // water and gut, lost or regained on the road
	Processing   AccountKind = "processing"    // castings made
	Adjustment   AccountKind = "adjustment"    // write-offs, and what did not arrive
)

// Account is one account: its kind, and the id of the bin, batch or transfer.
// Ref is empty for every other kind.
type Account struct {
	Kind AccountKind
	Ref  string
}

// Bin returns the account of the stock in a bin.
func Bin(id string) Account { return Account{BinAccount, id} }

// Batch returns the account of a batch of castings.
func Batch(id string) Account { return Account{BatchAccount, id} }

// InTransit returns the account of what is under way by a transfer.
func InTransit(transfer string) Account { return Account{Transit, transfer} }

// Stands reports whether a has a book that can never be negative: whether it is
// a bin or a batch, things that stand somewhere.
func (a Account) Stands() bool { return a.Kind == BinAccount || a.Kind == BatchAccount }

// String returns a as in "bin:b1" or "outside".
func (a Account) String() string {
	if a.Ref == "" {
		return string(a.Kind)
	}
	return string(a.Kind) + ":" + a.Ref
}

// rule is what postings on one kind of account must keep to.
type rule struct{ ref, worms, castings bool }

// rule returns the rule of k, and false for a kind that does not exist.
func (k AccountKind) rule() (rule, bool) {
	switch k {
	case BinAccount:
		return rule{ref: true, worms: true}, true
	case BatchAccount:
		return rule{ref: true, castings: true}, true
	case Transit:
		return rule{ref: true, worms: true, castings: true}, true
	case Outside, Adjustment:
		return rule{worms: true, castings: true}, true
	case Growth, Mortality, WeightChange:
		return rule{worms: true}, true
	case Processing:
		return rule{castings: true}, true
	}
	return rule{}, false
}

// holds reports whether an account under r takes c.
func (r rule) holds(c Commodity) bool {
	_, worms := c.Species()
	return worms && r.worms || c == Castings && r.castings
}

// Posting moves an amount into an account, or out of it when negative.
type Posting struct {
	Account   Account
	Commodity Commodity
	Amount    unit.Mass
	// Origin is the id of the origin of stock that comes in from Outside; empty
	// where nobody knows it, and on every other posting.
	Origin string
}
