// Package journal is the double entry that every movement of stock and castings
// is written in: postings that balance, entries that are reversed and never
// changed, and books of bins and batches that are never negative.
//
// Entries stand in one effective order: by effective time, then by the sequence
// in which they were recorded.
package journal

import (
	"cmp"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

// Kind says what an entry records.
type Kind string

// The kinds of entries.
const (
	Stocking Kind = "stocking"
	Split    Kind = "split"
	Combine  Kind = "combine"
	HandOver Kind = "hand-over" // at once; by a transfer it is a dispatch and an arrival
	Dispatch Kind = "dispatch"
	Arriving Kind = "arrival"
	Loss     Kind = "loss"
	Census   Kind = "census"
	Harvest  Kind = "harvest"
	Rework   Kind = "rework" // batches into batches
	Use      Kind = "use"
	Reversal Kind = "reversal"
)

// accounts returns the kinds of accounts that entries of kind k may touch, and
// nil for a kind that does not exist.
func (k Kind) accounts() []AccountKind {
	switch k {
	case Stocking:
		return []AccountKind{BinAccount, BatchAccount, Outside, WeightChange}
	case Split, Combine:
		return []AccountKind{BinAccount, BatchAccount}
	case Dispatch:
		return []AccountKind{BinAccount, BatchAccount, Outside, Transit}
	case HandOver, Arriving:
		return []AccountKind{BinAccount, BatchAccount, Outside, Transit, Mortality, WeightChange, Adjustment}
	case Loss:
		return []AccountKind{BinAccount, BatchAccount, Mortality, Adjustment}
	case Census:
		return []AccountKind{BinAccount, Growth}
	case Harvest:
		return []AccountKind{BinAccount, BatchAccount, Outside, Growth, Mortality, Processing, Adjustment}
	case Rework:
		return []AccountKind{BatchAccount, Adjustment}
	case Use:
		return []AccountKind{BinAccount, BatchAccount, Outside, Processing, Adjustment}
	case Reversal:
		return []AccountKind{BinAccount, BatchAccount, Outside, Transit, Growth, Mortality, WeightChange, Processing, Adjustment}
	}
	return nil
}

// Entry is one movement: postings that happen together, or not at all.
type Entry struct {
	ID        string
	Kind      Kind
	Effective time.Time // when it happened
	Seq       int64     // the order in which entries were recorded; may have gaps
	Reverses  string    // a reversal only: the id of the entry it takes back
	Postings  []Posting // may be none, as of a census that found what the book says
}

// Compare orders entries by effective time, then by sequence.
func Compare(a, b Entry) int {
	return cmp.Or(a.Effective.Compare(b.Effective), cmp.Compare(a.Seq, b.Seq))
}

// Validate checks e by itself, without the books. An entry has no posting or at
// least two: one alone never balances. Errors: EntryError, PostingError for the
// first posting at fault, BalanceError.
func (e Entry) Validate() error {
	allowed := e.Kind.accounts()
	switch {
	case allowed == nil:
		return &EntryError{e.ID, UnknownKind}
	case (e.Kind == Reversal) != (e.Reverses != ""):
		return &EntryError{e.ID, MisplacedReverses}
	}
	for i, p := range e.Postings {
		if fault := p.fault(e.Kind, allowed); fault != "" {
			return &PostingError{e.ID, i, p, fault}
		}
	}
	return e.balance()
}

// fault returns what is wrong with p in an entry of kind k, or "".
func (p Posting) fault(k Kind, allowed []AccountKind) Fault {
	rule, known := p.Account.Kind.rule()
	comesIn := p.Account.Kind == Outside && (p.Amount < 0 || k == Reversal)
	switch {
	case !known:
		return UnknownAccount
	case !slices.Contains(allowed, p.Account.Kind):
		return AccountNotAllowed
	case rule.ref && p.Account.Ref == "":
		return RefMissing
	case !rule.ref && p.Account.Ref != "":
		return RefMisplaced
	case !rule.holds(p.Commodity):
		return WrongCommodity
	case p.Origin != "" && !comesIn:
		return OriginMisplaced
	}
	return faultOf(p.Amount)
}

// faultOf returns what is wrong with an amount, or "".
func faultOf(m unit.Mass) Fault {
	switch {
	case m == 0:
		return ZeroAmount
	case m < -unit.MaxMass || m > unit.MaxMass:
		return TooLarge
	}
	return ""
}

// balance checks that e sums to zero per commodity. Errors: BalanceError for
// the first commodity, in the order of the postings, that does not.
func (e Entry) balance() error {
	sum := map[Commodity]unit.Mass{}
	for _, p := range e.Postings {
		sum[p.Commodity] += p.Amount
	}
	for _, p := range e.Postings {
		if s := sum[p.Commodity]; s != 0 {
			return &BalanceError{e.ID, p.Commodity, s}
		}
	}
	return nil
}

// Reverse returns the entry id that takes e back: at the same effective time,
// with negated postings in reverse order. Its sequence is left for the recorder
// to give. Errors: EntryError for an e that is itself a reversal.
func Reverse(e Entry, id string) (Entry, error) {
	if e.Kind == Reversal {
		return Entry{}, &EntryError{e.ID, ReversesReversal}
	}
	back := slices.Clone(e.Postings)
	slices.Reverse(back)
	for i := range back {
		back[i].Amount = -back[i].Amount
	}
	return Entry{ID: id, Kind: Reversal, Effective: e.Effective, Reverses: e.ID, Postings: back}, nil
}
