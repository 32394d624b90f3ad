package service

import (
	"slices"
	"strings"

	"lumbricary.example/service/unit"
)

// addOffer adds an offer; without a member it is the caller's. Errors:
// ErrForbidden, ErrInvalid.
func (w *work) addOffer(o Offer) (Offer, error) {
	if o.Member == "" {
		o.Member = w.author()
	}
	if err := w.may(Offering, o.Member); err != nil {
		return Offer{}, err
	}
	var faults Faults
	o.ID = OfferID(w.id(string(o.ID), &faults))
	w.checkOffer(&faults, o)
	if err := faults.Err(); err != nil {
		return Offer{}, err
	}
	o.CreatedAt, o.Version = w.now, 1
	return o, w.Offers.Insert(o)
}

// checkOffer notes what is wrong with an offer.
func (w *work) checkOffer(faults *Faults, o Offer) {
	o.check(faults)
	w.checkMember(faults, "/member", o.Member)
	if o.Species != "" {
		w.checkSpecies(faults, "/species", o.Species)
	}
	w.checkOffered(faults, o)
}

// check notes what is wrong with an offer, whatever the club has.
func (o Offer) check(faults *Faults) {
	checkName(faults, "/what", o.What)
	checkNote(faults, "/note", o.Note)
	if o.Until != "" {
		checkDay(faults, "/until", Day(o.Until))
	}
	for _, t := range o.Terms {
		checkWord(faults, "/terms", t, Sale, Swap, Gift, Loan)
	}
	if q := o.Quantity; q.Unit != "" && (q.Value <= 0 || q.Value > maxOffered) {
		faults.Add("/quantity", "range", "offer more than nothing, and at most %d", maxOffered)
	}
	o.checkPrice(faults)
}

// checkOffered notes what is wrong with where an offer stands: worms of a species
// in a bin that the member keeps, or castings of a batch.
func (w *work) checkOffered(faults *Faults, o Offer) {
	if o.Bin != "" {
		b, err := w.Bins.Get(o.Bin)
		checkRef(faults, "/bin", err)
		if err == nil && b.Keeper != o.Member {
			faults.Add("/bin", "keeper", "another member keeps that bin")
		}
	}
	if o.Batch != "" {
		_, err := w.Batches.Get(o.Batch)
		checkRef(faults, "/batch", err)
		if o.Bin != "" || o.Species != "" {
			faults.Add("/batch", "shape", "an offer is of worms of a species or of castings of a batch")
		}
	}
}

// maxOffered is the most that an offer is of, in any unit.
const maxOffered = 1_000_000

// checkPrice notes what is wrong with the price of an offer.
func (o Offer) checkPrice(faults *Faults) {
	p := o.Price
	if p == (Price{}) {
		return
	}
	if len(o.Terms) > 0 && !slices.Contains(o.Terms, Sale) {
		faults.Add("/price", "shape", "only a sale has a price")
	}
	if !currencyForm.MatchString(p.Currency) {
		faults.Add("/price/currency", "format", "use an ISO 4217 code of three capital letters")
	}
	if (p.UnitMinor != nil) != (p.Unit != "") {
		faults.Add("/price/unit", "shape", "a price for each unit says which unit")
	}
	if priced := []unit.Dimension{unit.DimMass, unit.DimVolume, unit.DimCount}; p.Unit != "" && !slices.Contains(priced, unit.DimensionOf(p.Unit)) {
		faults.Add("/price/unit", "unit", "use one of %s", strings.Join(unit.Codes(priced...), ", "))
	}
	for pointer, minor := range map[string]*int64{"/price/total_minor": p.TotalMinor, "/price/unit_minor": p.UnitMinor} {
		if minor != nil && *minor < 0 {
			faults.Add(pointer, "range", "a price isn't negative")
		}
	}
}

// changeOffer changes an offer. Errors: ErrForbidden, ErrInvalid, ErrStale.
func (w *work) changeOffer(old, o Offer) (Offer, error) {
	if err := w.may(Offering, old.Member); err != nil {
		return Offer{}, err
	}
	if err := w.may(Offering, o.Member); err != nil {
		return Offer{}, err
	}
	var faults Faults
	if w.checkOffer(&faults, o); len(faults) > 0 {
		return Offer{}, faults.Err()
	}
	o.Withdrawn, o.CreatedAt, o.Version = old.Withdrawn, old.CreatedAt, old.Version
	return put(w.Offers, old, o)
}

// withdrawOffer ends an offer, which stays on record. Errors: ErrForbidden,
// ErrStale.
func (w *work) withdrawOffer(o Offer) (Offer, error) {
	if err := w.may(Offering, o.Member); err != nil {
		return Offer{}, err
	}
	old := o
	if o.Withdrawn.IsZero() {
		o.Withdrawn = w.now
	}
	return put(w.Offers, old, o)
}

// endOffers withdraws the open offers of a member who goes.
func (w *work) endOffers(of MemberID) error {
	mine, err := w.Offers.List(Query{Member: of, OpenOn: w.today()})
	if err != nil {
		return err
	}
	for _, o := range mine {
		o.Withdrawn = w.now
		if err := w.Offers.Update(o); err != nil {
			return err
		}
	}
	return nil
}
