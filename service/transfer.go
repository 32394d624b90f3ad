package service

import (
	"time"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/unit"
)

// Transfer is an agreement that moves stock, castings or half-worked material
// between members, or to or from an outside party, and what became of it.
type Transfer struct {
	ID       TransferID
	At       Moment        // when it was proposed; when it happened, where Done is set
	Done     bool          // told in one call after it had happened
	Deal     exchange.Deal // its legs hold the booked masses; an empty giver or receiver is the party
	Legs     []Leg         // what was typed and posted, beside the legs of the deal
	Party    string        // outside the club; empty: both sides are members
	Contact  Contact       // of the party
	Price    Price         // of a sale
	Due      string        // of a loan: the day by which it is to be back
	Offer    OfferID       // what it goes back to; may be empty
	Replaces TransferID    // whose claim it settles; may be empty
	Claims   []Claim
	Steps    []Step
	Note     string
	Recorded Recorded
	Version  int64
}

// Leg is what was typed for one leg of a transfer, and the entries that post it.
type Leg struct {
	ID       LegID      // also of the deal's leg
	Agreed   []Line     // one for each good of the deal's leg
	ToBin    BinID      // where it goes; may be empty until it is received
	ToBatch  BatchID    // where castings go; empty: they leave the store
	Dispatch MovementID // empty: not sent
	Arrival  MovementID // empty: not received
	SentAt   Moment
	CameAt   Moment
}

// Contact is how to reach a party outside the club, kept where tracing or the
// law asks for it, for a purpose and until a day.
type Contact struct {
	Text    string
	Purpose string
	Until   string // a date; the contact is forgotten after it
}

// Price is what a sale costs. Payment is settled elsewhere.
type Price struct {
	TotalMinor *int64 // minor units of the currency; nil: not told
	UnitMinor  *int64 // for each unit
	Unit       string // the stated unit, as "kg" or "{worms}"
	Currency   string // ISO 4217
}

// Claim says that something of a leg was not as it should be, as dead on
// arrival.
type Claim struct {
	Leg        LegID
	Species    SpeciesID // empty: castings or material
	Mass       unit.Mass
	Note       string
	At         time.Time
	By         MemberID
	ReplacedBy TransferID // the transfer that makes up for it; may be empty
}

// Step is one step of a transfer, as it was recorded.
type Step struct {
	Verb exchange.Verb
	Leg  LegID // empty: of the whole transfer
	At   time.Time
	By   MemberID // who recorded it
	For  MemberID // on whose behalf; empty: their own step
	Note string
}

// Offer is surplus that a member is willing to part with. It reserves nothing.
type Offer struct {
	ID        OfferID
	Member    MemberID
	What      string    // as "red worms from the cellar, bed-run"
	Species   SpeciesID // of worms; empty: castings or material
	Bin       BinID     // where the worms stand; may be empty
	Batch     BatchID   // of castings; may be empty
	Quantity  unit.Measure
	Terms     []exchange.Terms
	Price     Price
	Until     string // a date; empty: until it is withdrawn
	Withdrawn time.Time
	Note      string
	CreatedAt time.Time
	Version   int64
}

// TransferSeen is a transfer as it stands now.
type TransferSeen struct {
	Transfer
	State       exchange.State
	Short       map[LegID]unit.Mass // what is missing to the legs that facts have overtaken
	Outstanding []exchange.Amount   // of a loan
}

// Stepping is a step that somebody takes on a transfer, and what it needs by its
// verb.
type Stepping struct {
	Verb     exchange.Verb
	Leg      LegID     // which; may be empty where only one can be meant
	For      MemberID  // a steward's: on whose behalf; empty: the side whose step it is
	At       Moment    // of a dispatch, a receipt and a settlement
	Lines    []Line    // accept, replace, repay: the goods; dispatch, settle: what was packed, one for each good; forgive, claim: one line
	Came     []Outcome // receive, settle: one for each good, or none: all arrived as sent
	ToBin    BinID     // receive, repay: where it goes
	ToBatch  BatchID   // receive: where castings go; empty: they leave the store
	GiveBack bool      // receive: all of it goes back, but what was seen dead or is missing
	Done     bool      // repay: it has happened, and is booked at once
	Note     string    // settle: why
}

// Outcome is what a receiver says became of one good. What is left out follows
// from what was sent: it is received where that isn't told, else missing, and a
// surplus is weight gained.
type Outcome struct {
	Received   *Line // as typed; nil: the rest
	Dead       unit.Mass
	WeightLost *unit.Mass // negative when weight was gained
	Missing    *unit.Mass
	Returned   unit.Mass
}
