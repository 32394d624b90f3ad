package service

import (
	"lumbricary.example/service/unit"
)

// Basis says how a mass came to be known.
type Basis string

// The bases of a receipt's mass.
const (
	WeighedBasis   Basis = "weighed"
	EstimatedBasis Basis = "estimated" // by eye, or from a volume
	UnknownBasis   Basis = ""          // a mass is weighed, a volume estimated
)

// Receipt is feedstock or bedding that came in.
type Receipt struct {
	ID            ReceiptID
	Material      MaterialID
	At            Moment
	From          string       // an outside party's name
	FromMember    MemberID     // who brought it, of the club; empty: nobody
	Typed         unit.Measure // net, as typed: a mass, or a volume of a material whose density is known
	Gross         unit.Measure // in place of Typed: with what it came in
	Tare          unit.Measure // what that weighs empty; with a measure: the measure's
	Measure       MeasureID    // in which it was weighed or measured; may be empty
	Count         *float64     // in place of Typed: how many of the measure, filled
	Net           unit.Mass    // wet, before rejection
	RejectedTyped unit.Measure // of it: not taken; no unit: nothing
	Rejected      unit.Mass
	RejectedWhy   string
	ResidueTyped  unit.Measure // of it: taken, and thrown out later; no unit: nothing
	Residue       unit.Mass
	Animal        *bool // of animal origin; nil: as the material is
	Heat          Heat  // before it came in
	Basis         Basis
	Note          string
	Recorded      Recorded
	Voided        Voiding
	Version       int64
}

// Heat is a treatment with heat.
type Heat struct {
	What  string       // was done
	Value unit.Measure // the temperature, as typed; no unit: not told
	Hours *float64     // for which it lasted; nil: not told
}

func (r Receipt) void() bool { return !r.Voided.At.IsZero() }

// addReceipt records a receipt. Errors: ErrForbidden, ErrInvalid.
func (w *work) addReceipt(r Receipt) (Receipt, error) {
	if err := w.may(RecordReceipt, w.who.ID); err != nil {
		return Receipt{}, err
	}
	var faults Faults
	r.ID = ReceiptID(w.id(string(r.ID), &faults))
	w.settle(&faults, "/at", &r.At)
	w.checkReceipt(&faults, &r, Receipt{})
	if err := faults.Err(); err != nil {
		return Receipt{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Receipt{}, err
	}
	r.Recorded, r.Version = rec, 1
	return r, w.Receipts.Insert(r)
}

// changeReceipt changes a receipt but for its material. Errors: ErrForbidden,
// ErrInvalid, ErrVoided, ErrStale.
func (w *work) changeReceipt(old, r Receipt) (Receipt, error) {
	if err := w.may(RecordReceipt, old.Recorded.By); err != nil {
		return Receipt{}, err
	}
	if old.void() {
		return Receipt{}, ErrVoided
	}
	r.Recorded, r.Voided, r.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/material", r.Material, old.Material)
	w.resettle(&faults, "/at", &r.At, old.At)
	w.checkReceipt(&faults, &r, old)
	if err := faults.Err(); err != nil {
		return Receipt{}, err
	}
	return put(w.Receipts, old, r)
}

// voidReceipt takes a receipt back. Feedings that name it stay. Errors:
// ErrForbidden, ErrVoided, ErrStale.
func (w *work) voidReceipt(r Receipt) (Receipt, error) {
	if err := w.may(RecordReceipt, r.Recorded.By); err != nil {
		return Receipt{}, err
	}
	if r.void() {
		return Receipt{}, ErrVoided
	}
	old := r
	r.Voided = Voiding{w.now, w.author()}
	return put(w.Receipts, old, r)
}

// checkReceipt notes what is wrong with a receipt, and weighs it; what is typed
// as it was before weighs what it did.
func (w *work) checkReceipt(faults *Faults, r *Receipt, before Receipt) {
	if r.From != "" {
		checkName(faults, "/from", r.From)
	}
	if r.FromMember != "" {
		_, err := w.Members.Get(r.FromMember)
		checkRef(faults, "/from_member", err)
		if r.From != "" {
			faults.Add("/from_member", "shape", "it came from a member or from an outside party, not both")
		}
	}
	checkNote(faults, "/rejected_why", r.RejectedWhy)
	checkNote(faults, "/note", r.Note)
	r.Heat.check(faults, "/heat_treatment")
	m, err := w.Materials.Get(r.Material)
	if err != nil {
		checkRef(faults, "/material", err)
		return
	}
	w.weighNet(faults, r, before)
	r.settleBasis(faults)
	if r.Net == 0 {
		return // nobody knows of what
	}
	r.Rejected = m.weighPart(faults, "/rejected", r.RejectedTyped, before.RejectedTyped, before.Rejected)
	r.Residue = m.weighPart(faults, "/residue", r.ResidueTyped, before.ResidueTyped, before.Residue)
	if r.Rejected+r.Residue > r.Net {
		faults.Add("/rejected", "range", "more was rejected and thrown out than came in, %.3f g", r.Net.Grams())
	}
}

// item is what came in as a feeding would have it: net, or gross.
func (r Receipt) item() FeedingItem {
	it := FeedingItem{Material: r.Material, Typed: r.Typed, Measure: r.Measure, Count: r.Count}
	if r.Gross.Unit != "" {
		it.Typed = r.Gross
	}
	return it
}

// onScales reports whether what was typed is a mass, and no volume or count.
func (r Receipt) onScales() bool { return unit.DimensionOf(r.item().Typed.Unit) == unit.DimMass }

// weighNet turns what was typed into the net mass, unless the same was before.
func (w *work) weighNet(faults *Faults, r *Receipt, before Receipt) {
	same := r.item().sameAs(before.item()) && r.Gross == before.Gross && r.Tare == before.Tare
	switch {
	case same && before.Net > 0:
		r.Net = before.Net
	case !r.checkShape(faults):
		r.Net = 0
	case r.Tare.Unit != "":
		r.Net = lessTare(faults, r.Gross, r.Tare)
	default:
		r.Net = w.weighItem(faults, *r)
	}
}

// checkShape notes what doesn't go together of what was typed, and reports
// whether all does.
func (r Receipt) checkShape(faults *Faults) bool {
	before := len(*faults)
	gross := r.Gross.Unit != ""
	switch {
	case gross && (r.Typed.Unit != "" || r.Count != nil):
		faults.Add("/gross", "shape", "give net, or gross with what to take off, or a count of a measure")
	case gross && (r.Tare.Unit == "") == (r.Measure == ""):
		faults.Add("/tare", "shape", "with gross give tare, or a measure whose tare is known")
	case !gross && r.Tare.Unit != "":
		faults.Add("/tare", "shape", "tare goes with gross")
	case r.Typed.Unit != "" && r.Measure != "":
		faults.Add("/measure", "shape", "a measure goes with gross or with a count; net is without it")
	}
	return len(*faults) == before
}

// weighItem weighs what came in as a feeding would be.
func (w *work) weighItem(faults *Faults, r Receipt) unit.Mass {
	member := "/net"
	if r.Gross.Unit != "" {
		member = "/gross"
	}
	it := r.item()
	var own Faults
	w.weigh(&own, "", &it)
	for _, f := range own {
		if f.Pointer == "/quantity" {
			f.Pointer = member
		}
		*faults = append(*faults, f)
	}
	return it.Wet
}

// lessTare returns what gross weighs without tare.
func lessTare(faults *Faults, gross, tare unit.Measure) unit.Mass {
	both, err := gross.Mass()
	faults.Check("/gross", quantityCode(err), err)
	empty, err := tare.Mass()
	faults.Check("/tare", quantityCode(err), err)
	if err == nil && both <= empty {
		faults.Add("/tare", "range", "%s is no less than %s", tare, gross)
	}
	return max(both-empty, 0)
}

// settleBasis says how the mass is known where nobody did.
func (r *Receipt) settleBasis(faults *Faults) {
	weighed := r.onScales()
	checkWord(faults, "/basis", r.Basis, UnknownBasis, WeighedBasis, EstimatedBasis)
	switch {
	case r.Basis == UnknownBasis && weighed:
		r.Basis = WeighedBasis
	case r.Basis == UnknownBasis:
		r.Basis = EstimatedBasis
	case r.Basis == WeighedBasis && !weighed:
		faults.Add("/basis", "shape", "a volume isn't weighed; say estimated, or leave it out")
	}
}

// weighPart returns the mass of a part of a receipt.
func (m Material) weighPart(faults *Faults, pointer string, q, before unit.Measure, booked unit.Mass) unit.Mass {
	switch {
	case q.Unit == "":
		return 0
	case q == before:
		return booked
	}
	wet, _, err := m.asTyped(q)
	faults.Check(pointer, quantityCode(err), err)
	return wet
}

// check notes what is wrong with a treatment.
func (h Heat) check(faults *Faults, pointer string) {
	checkNote(faults, pointer+"/what", h.What)
	if h.Value.Unit != "" {
		_, err := h.Value.Heat()
		faults.Check(pointer+"/temperature", quantityCode(err), err)
	}
	checkRange(faults, pointer+"/hours", h.Hours, 0, maxHours)
}

// maxHours is the longest that a treatment lasts: a year.
const maxHours = 8784

// checkReceiptOf notes what is wrong with the receipt that an item names.
func (w *work) checkReceiptOf(faults *Faults, pointer string, it FeedingItem) {
	if it.Receipt == "" {
		return
	}
	r, err := w.Receipts.Get(it.Receipt)
	checkRef(faults, pointer, err)
	if err == nil && r.Material != it.Material {
		faults.Add(pointer, "shape", "that receipt is of another material")
	}
}
