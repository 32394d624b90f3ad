// Package lineage derives lots from the journal: which stock came from where,
// in which shares, and what became of it.
//
// A lot is one species in one place between two arrivals. Places are bins, and
// also transfers while stock is under way, so that a receipt knows what was
// sent. What is under way is looked through: a lot's parents are lots of bins.
package lineage

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Place is where one species stands: in a bin, or under way by a transfer.
// Exactly one of Bin and Transit is set.
type Place struct {
	Bin     string
	Species string
	Transit string // id of the transfer
}

// String returns p as in "bin b1 (eisenia-fetida)".
func (p Place) String() string {
	if p.Transit != "" {
		return fmt.Sprintf("transfer %s (%s)", p.Transit, p.Species)
	}
	return fmt.Sprintf("bin %s (%s)", p.Bin, p.Species)
}

func comparePlaces(a, b Place) int {
	return cmp.Or(cmp.Compare(a.Species, b.Species), cmp.Compare(a.Bin, b.Bin), cmp.Compare(a.Transit, b.Transit))
}

// placeOf returns the place whose book p changes, and false where p is no
// stock, or neither in a bin nor under way.
func placeOf(p journal.Posting) (Place, bool) {
	species, ok := p.Commodity.Species()
	if !ok {
		return Place{}, false
	}
	if p.Account.Kind == journal.Transit {
		return Place{Species: species, Transit: p.Account.Ref}, true
	}
	return Place{Species: species, Bin: p.Account.Ref}, p.Account.Kind == journal.BinAccount
}

// Places lists the places that e touches, sorted, each once: those whose
// states Apply needs.
func Places(e journal.Entry) []Place {
	var out []Place
	for _, p := range e.Postings {
		if place, ok := placeOf(p); ok {
			out = append(out, place)
		}
	}
	slices.SortFunc(out, comparePlaces)
	return slices.Compact(out)
}

// Parent is something that a lot came from: exactly one of Lot and Origin is
// set.
type Parent struct {
	Lot    string
	Origin string
	Mass   unit.Mass // that went into the lot when it opened
}

func compareParents(a, b Parent) int {
	return cmp.Or(cmp.Compare(a.Origin, b.Origin), cmp.Compare(a.Lot, b.Lot))
}

// Lot is the traceable unit of stock.
type Lot struct {
	ID        string
	Place     Place
	OpenedBy  string // entry
	OpenedAt  time.Time
	OpenedSeq int64
	Mass      unit.Mass // in the place just after opening
	EndedAt   time.Time // zero: still current
	EndedBy   string    // entry
	Parents   []Parent  // lots by id, then origins by id
	Via       []Parent  // the lots under way that some of it came by, by id; parents look through them
	Shares    Shares
	Depth     int    // 1 + the largest depth of a parent lot; 1 where all parents are origins
	Withdrawn bool   // never was: its entry was reversed, or belongs to an earlier lot
	Successor string // of a withdrawn lot: the lot that stands for it, or ""
}

// Current reports whether l is the lot that stands in its place.
func (l Lot) Current() bool { return l.EndedAt.IsZero() && !l.Withdrawn }

func compareLots(a, b Lot) int {
	return cmp.Or(a.OpenedAt.Compare(b.OpenedAt), cmp.Compare(a.OpenedSeq, b.OpenedSeq), cmp.Compare(a.ID, b.ID))
}

// LotID returns the id of the lot that an entry opens in a place: a UUID of
// version 8 (RFC 9562), from SHA-256. It depends on nothing else, so that a
// late entry adds lots and never renames one.
func LotID(entry string, p Place) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "lot %q %q %q %q", entry, p.Bin, p.Species, p.Transit))
	id := sum[:16]
	id[6] = id[6]&0x0f | 0x80
	id[8] = id[8]&0x3f | 0x80
	h := hex.EncodeToString(id)
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}
