package journal

import (
	"fmt"
	"time"

	"lumbricary.example/service/unit"
)

// Fault is the code of what is wrong with an entry or a posting.
type Fault string

// The faults of an entry.
const (
	UnknownKind       Fault = "unknown-kind"
	MisplacedReverses Fault = "misplaced-reverses" // a reversal names what it reverses, nothing else does
	ReversesReversal  Fault = "reverses-reversal"
)

// The faults of a posting.
const (
	UnknownAccount    Fault = "unknown-account"
	AccountNotAllowed Fault = "account-not-allowed" // not in an entry of this kind
	RefMissing        Fault = "ref-missing"         // which bin, batch or transfer?
	RefMisplaced      Fault = "ref-misplaced"
	WrongCommodity    Fault = "wrong-commodity"  // as castings in a bin
	OriginMisplaced   Fault = "origin-misplaced" // only what comes in from outside has one
	ZeroAmount        Fault = "zero-amount"
	TooLarge          Fault = "too-large"
)

// EntryError reports an entry that is wrong as a whole.
type EntryError struct {
	Entry string
	Fault Fault
}

// Error names the entry and the fault.
func (e *EntryError) Error() string { return fmt.Sprintf("entry %s: %s", e.Entry, e.Fault) }

// PostingError reports a posting that breaks a rule of its account.
type PostingError struct {
	Entry   string
	Index   int // of the posting in the entry
	Posting Posting
	Fault   Fault
}

// Error names the posting and the fault.
func (e *PostingError) Error() string {
	p := e.Posting
	return fmt.Sprintf("entry %s, posting %d: %d mg of %s on %s: %s", e.Entry, e.Index, p.Amount, p.Commodity, p.Account, e.Fault)
}

// BalanceError reports an entry that makes or destroys mass.
type BalanceError struct {
	Entry     string
	Commodity Commodity
	Sum       unit.Mass // what the postings sum to, instead of zero
}

// Error says by how much the entry is out.
func (e *BalanceError) Error() string {
	return fmt.Sprintf("entry %s: the postings of %s sum to %d mg, not to zero", e.Entry, e.Commodity, e.Sum)
}

// Shortfall reports the first moment at which the book of a bin or a batch
// would be negative.
//
//nolint:errname // the word for it in the trade
type Shortfall struct {
	Account   Account
	Commodity Commodity
	At        time.Time
	Entry     string    // the entry that takes too much
	Book      unit.Mass // the negative level it reaches
	Missing   unit.Mass // how much more would have had to be there
}

// Error says how much is missing where, and when.
func (e *Shortfall) Error() string {
	return fmt.Sprintf("entry %s at %s: %d mg of %s missing in %s",
		e.Entry, e.At.Format(time.RFC3339), e.Missing, e.Commodity, e.Account)
}
