package service

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"lumbricary.example/service/exchange"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// Terms say on what terms something changed hands.
type Terms = exchange.Terms

// The terms.
const (
	Sale          = exchange.Sale
	Swap          = exchange.Swap
	Gift          = exchange.Gift
	Loan          = exchange.Loan
	NoTerms Terms = ""
)

// Cause says what a loss was.
type Cause string

// The causes of a loss.
const (
	SeenDead Cause = "dead"
	LostBin  Cause = "lost-bin"
	Escaped  Cause = "escaped"
	WriteOff Cause = "write-off"
	Spoiled  Cause = "spoiled" // castings
	NoCause  Cause = ""
)

// Movement is an entry of the journal with what was typed beside it. It is
// never changed; a reversal takes it back.
type Movement struct {
	ID           MovementID
	Kind         journal.Kind
	At           Moment
	Lines        []Line
	ToBin        BinID   // where worms went; empty: out of the bins
	FromBatch    BatchID // where castings came from, for a use, hand-over or loss
	Terms        Terms
	Party        string   // an outside party's name
	FromMember   MemberID // who kept the stock before
	ToMember     MemberID // who keeps it after; empty: nobody in the club
	PriceMinor   *int64   // total in minor units; seen by the parties and stewards
	Currency     string   // ISO 4217
	Cause        Cause
	MaterialMass unit.Mass  // half-worked material that went along
	Transfer     TransferID // of a dispatch or an arrival
	Leg          LegID
	ToBatch      BatchID // where castings went that arrived; empty: out of the store
	Reverses     MovementID
	ReversedBy   MovementID
	Reason       string // why it was reversed
	Note         string
	Postings     []journal.Posting
	Recorded     Recorded
}

// Line is one quantity of a movement: worms of a species out of a bin or from
// an origin, or castings (Species empty).
type Line struct {
	FromBin   BinID
	Origin    OriginID // where worms came in from outside
	Species   SpeciesID
	Typed     unit.Measure
	SizeClass quantity.SizeClass
	Density   float64       // g of worms per litre, for a volume
	SampleMg  float64       // weighed mean mass of a worm of this hand-over; 0: none
	Moisture  *unit.Percent // of castings, measured
	Booked    *unit.Mass
	Mass      unit.Mass // what was booked, mg; castings dry
	Basis     string    // weighed, count, by-eye, volume
	Worms     unit.Count
	CV        float64
	MeanMg    float64 // the mean mass used for a count
	MeanBasis string

	FromBatch  BatchID   // of a transfer's castings
	Castings   bool      // of a transfer: castings, of a batch that may not be named yet
	Material   bool      // of a transfer: half-worked material of FromBin, which has no book
	Dead       unit.Mass // of an arrival: seen dead
	WeightLost unit.Mass // water and gut; negative when weight was gained
	Missing    unit.Mass
	Returned   unit.Mass // went back to where it came from
}

// Entry returns the movement as the journal's entry.
func (m Movement) Entry() journal.Entry {
	return journal.Entry{
		ID: string(m.ID), Kind: m.Kind, Effective: m.At.Time, Seq: m.Recorded.Seq,
		Reverses: string(m.Reverses), Postings: m.Postings,
	}
}

const maxLines = 50

// addMovement records a stocking, split, combine, hand-over, loss or use.
// Censuses, harvests and reversals have their own ways in. Errors: ErrInvalid,
// ErrForbidden, ErrInQuarantine, ErrMoreThanBook, ErrIDTaken.
func (w *work) addMovement(m Movement) (Movement, error) {
	var faults Faults
	m.ID = MovementID(w.id(string(m.ID), &faults))
	w.settle(&faults, "/at", &m.At)
	m.Lines = slices.Clone(m.Lines)
	if err := w.route(&faults, &m); err != nil {
		return Movement{}, err
	}
	if err := faults.Err(); err != nil {
		return Movement{}, err
	}
	if err := w.measure(&faults, &m); err != nil {
		return Movement{}, err
	}
	if err := faults.Err(); err != nil {
		return Movement{}, err
	}
	if err := w.mayMoveOut(m); err != nil {
		return Movement{}, err
	}
	m.Postings = m.postings()
	if err := w.post(&m); err != nil {
		return Movement{}, err
	}
	return m, w.isolate(m)
}

// route checks what a movement of its kind needs and who may make it, and
// fills whose stock it was and becomes. Errors: ErrForbidden.
func (w *work) route(faults *Faults, m *Movement) error {
	checkWord(faults, "/kind", m.Kind, journal.Stocking, journal.Split, journal.Combine, journal.HandOver, journal.Loss, journal.Use)
	checkNote(faults, "/note", m.Note)
	if err := w.mayMove(m.Kind); err != nil {
		return err
	}
	if m.Party != "" {
		checkName(faults, "/party", m.Party)
	}
	if n := len(m.Lines); n == 0 || n > maxLines {
		faults.Add("/lines", "range", "a movement has 1 to %d lines", maxLines)
	}
	from, err := w.givers(faults, m)
	if err != nil {
		return err
	}
	to, err := w.receiver(faults, m)
	if err != nil {
		return err
	}
	m.checkShape(faults, from, to)
	if m.MaterialMass < 0 || m.MaterialMass > unit.MaxMass {
		faults.Add("/material_g", "range", "use a mass from 0 to 1000 tonnes")
	}
	return nil
}

// mayMove checks the right that a hand-over needs besides those on its bins.
// Errors: ErrForbidden.
func (w *work) mayMove(kind journal.Kind) error {
	if kind != journal.HandOver {
		return nil
	}
	return w.may(HandOver, w.who.ID)
}

// givers checks the bins and the batch that a movement takes from. Errors:
// ErrForbidden unless the member may write each bin, or use castings.
func (w *work) givers(faults *Faults, m *Movement) ([]Bin, error) {
	var bins []Bin
	for i, l := range m.Lines {
		if l.FromBin == "" {
			continue
		}
		b, err := w.binFor(l.FromBin, m.At)
		if errors.Is(err, ErrForbidden) {
			return nil, err
		}
		checkRef(faults, fmt.Sprintf("/lines/%d/from_bin", i), err)
		if l.FromBin == m.ToBin {
			faults.Add("/to_bin", "same-bin", "worms can't move into the bin that they come from")
		}
		if len(bins) > 0 && b.ID != "" && bins[0].ID != "" && b.Keeper != bins[0].Keeper {
			faults.Add(fmt.Sprintf("/lines/%d/from_bin", i), "shape", "the bins have different keepers; record a movement for each keeper")
		}
		bins = append(bins, b)
		m.FromMember = b.Keeper
	}
	if m.FromBatch != "" {
		if err := w.may(UseCastings); err != nil {
			return nil, err
		}
		_, err := w.Batches.Get(m.FromBatch)
		checkRef(faults, "/from_batch", err)
		m.FromMember = w.author()
	}
	return bins, nil
}

// receiver checks the bin that a movement goes into. Errors: ErrForbidden.
func (w *work) receiver(faults *Faults, m *Movement) (Bin, error) {
	if m.ToBin == "" {
		return Bin{}, nil
	}
	b, err := w.Bins.Get(m.ToBin)
	if err != nil {
		checkRef(faults, "/to_bin", err)
		return Bin{}, nil
	}
	checkRef(faults, "/to_bin", b.inUse(m.At))
	m.ToMember = b.Keeper
	if m.Kind == journal.HandOver {
		return b, nil // the giver records it on behalf of both
	}
	return b, w.may(RecordOnBin, b.Owners()...)
}

// checkShape notes what a movement of this kind lacks or can't have.
func (m *Movement) checkShape(faults *Faults, from []Bin, to Bin) {
	switch m.Kind {
	case journal.Stocking:
		m.want(faults, m.ToBin != "", "/to_bin", "say which bin is stocked")
		m.want(faults, len(from) == 0 && m.FromBatch == "", "/lines", "a stocking comes from outside; take from_bin away, or record a split")
	case journal.Split, journal.Combine:
		m.want(faults, m.ToBin != "", "/to_bin", "say which bin the worms go into")
		m.want(faults, len(from) == len(m.Lines), "/lines", "each line needs from_bin")
		for _, b := range from {
			m.want(faults, to.ID == "" || b.ID == "" || b.Keeper == to.Keeper, "/to_bin", "the bins have different keepers; record a hand-over")
		}
	case journal.HandOver:
		m.want(faults, (m.ToBin == "") != (m.Party == ""), "/to_bin", "say which bin the worms go into, or which outside party got it")
		m.want(faults, m.FromBatch != "" || len(from) == len(m.Lines), "/lines", "each line needs from_bin")
		m.want(faults, m.FromBatch == "" || m.ToBin == "" && len(from) == 0, "/from_batch", "castings are handed over alone, to a party")
		checkWord(faults, "/terms", m.Terms, NoTerms, Sale, Swap, Gift)
	case journal.Loss:
		m.checkLoss(faults, len(from))
	case journal.Use:
		m.want(faults, m.FromBatch != "" && len(from) == 0, "/from_batch", "say which batch is used")
		m.want(faults, m.ToBin == "", "/to_bin", "castings in use go into no bin")
	case journal.Dispatch, journal.Arriving, journal.Census, journal.Harvest, journal.Rework, journal.Reversal:
	}
	m.want(faults, m.Kind == journal.HandOver || m.Terms == NoTerms, "/terms", "only a hand-over has terms")
	m.want(faults, m.Kind == journal.Loss || m.Cause == NoCause, "/cause", "only a loss has a cause")
	if m.PriceMinor != nil {
		m.want(faults, m.Terms == Sale && *m.PriceMinor >= 0, "/price_minor", "only a sale has a price, and it isn't negative")
		m.want(faults, currencyForm.MatchString(m.Currency), "/currency", "use an ISO 4217 code of three capital letters")
	}
}

// checkLoss notes what a loss out of so many bins, or out of a batch, lacks or
// can't have.
func (m *Movement) checkLoss(faults *Faults, bins int) {
	m.want(faults, m.ToBin == "", "/to_bin", "what is lost goes nowhere")
	if m.FromBatch == "" {
		m.want(faults, bins == len(m.Lines), "/lines", "each line needs from_bin")
		checkWord(faults, "/cause", m.Cause, SeenDead, LostBin, Escaped, WriteOff)
		return
	}
	m.want(faults, bins == 0, "/from_batch", "castings are lost alone; record what a bin lost apart")
	checkWord(faults, "/cause", m.Cause, Spoiled, WriteOff)
}

func (m *Movement) want(faults *Faults, ok bool, pointer, detail string) {
	if !ok {
		faults.Add(pointer, "shape", "%s", detail)
	}
}

// postings are the double entry of the movement's measured lines.
func (m *Movement) postings() []journal.Posting {
	to := journal.Account{Kind: journal.Outside}
	switch {
	case m.ToBin != "":
		to = journal.Bin(string(m.ToBin))
	case m.Kind == journal.Loss && (m.Cause == SeenDead || m.Cause == LostBin):
		to = journal.Account{Kind: journal.Mortality}
	case m.Kind == journal.Loss:
		to = journal.Account{Kind: journal.Adjustment}
	}
	var out []journal.Posting
	for _, l := range m.Lines {
		switch {
		case l.Mass == 0:
		case m.FromBatch != "":
			out = append(out, journal.Move(journal.Batch(string(m.FromBatch)), to, journal.Castings, l.Mass)...)
		case l.FromBin != "":
			out = append(out, journal.Move(journal.Bin(string(l.FromBin)), to, journal.Worms(string(l.Species)), l.Mass)...)
		default:
			out = append(out, journal.Receive(string(l.Origin), to, journal.Worms(string(l.Species)), l.Mass)...)
		}
	}
	return out
}

// showMovement blanks the price unless the member is a party or a steward.
func (w *work) showMovement(m Movement) Movement {
	if !w.who.May(SeePrice, m.FromMember, m.ToMember, m.Recorded.By) {
		m.PriceMinor, m.Currency = nil, ""
	}
	return m
}

// reverse takes a movement back as a whole: an entry of the same moment with
// the postings turned round. Errors: ErrMovementNotFound, ErrForbidden,
// ErrReversalOf, ErrReversedBefore, ErrOfTransfer, ErrMoreThanBook.
func (w *work) reverse(id MovementID, own Movement) (Movement, error) {
	old, err := w.reversible(id)
	if err != nil {
		return Movement{}, err
	}
	if err := w.may(ReverseEntry, old.Recorded.By, old.FromMember); err != nil {
		return Movement{}, err
	}
	if err := w.mayMove(old.Kind); err != nil {
		return Movement{}, err
	}
	if old.Transfer != "" {
		return Movement{}, ErrOfTransfer
	}
	var faults Faults
	own.ID = MovementID(w.id(string(own.ID), &faults))
	checkNote(&faults, "/reason", own.Reason)
	if own.Reason == "" {
		faults.Add("/reason", "required", "say why it is taken back")
	}
	if err := faults.Err(); err != nil {
		return Movement{}, err
	}
	e, err := journal.Reverse(old.Entry(), string(own.ID))
	if err != nil {
		return Movement{}, ErrReversalOf.Because(err)
	}
	if old.ReversedBy != "" {
		return Movement{}, ErrReversedBefore
	}
	m := Movement{
		ID: own.ID, Kind: journal.Reversal, At: old.At, Reverses: old.ID, Reason: own.Reason, Note: own.Note,
		FromMember: old.ToMember, ToMember: old.FromMember, Postings: e.Postings,
	}
	return m, w.post(&m)
}

// reversible finds the movement that a reversal of id takes back: of a census,
// the one that posts for it now. Errors: ErrMovementNotFound; ErrReversalOf for
// a movement that a census posted after its first.
func (w *work) reversible(id MovementID) (Movement, error) {
	m, err := w.Movements.Get(id)
	if err != nil || m.Kind != journal.Census {
		return m, err
	}
	c, err := w.Censuses.Get(CensusID(id))
	if KindOf(err) == NotFound {
		return Movement{}, ErrReversalOf.With("a census posted that again after a late entry; reverse the census by its own id")
	}
	if err != nil || c.Movement == id {
		return m, err
	}
	return w.Movements.Get(c.Movement)
}

// Reverse takes a movement, census or harvest back. Errors: ErrMovementNotFound,
// ErrForbidden, ErrInvalid, ErrReversalOf, ErrReversedBefore, ErrMoreThanBook.
func (s *Service) Reverse(ctx context.Context, a Actor, id MovementID, own Movement) (Movement, error) {
	return write(ctx, s.Desk, a, func(w *work) (Movement, error) {
		m, err := w.reverse(id, own)
		return w.showMovement(m), err
	})
}
