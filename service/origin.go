package service

import (
	"errors"
	"slices"
	"time"

	"lumbricary.example/service/journal"
)

// OriginKind says how stock entered the club's books.
type OriginKind string

// The kinds of origin.
const (
	SupplierOrigin    OriginKind = "supplier"
	WildOrigin        OriginKind = "wild"
	CertificateOrigin OriginKind = "certificate"
	UnknownOrigin     OriginKind = "unknown"
)

// Origin is where stock entered the club's books from outside: a root of the
// lineage.
type Origin struct {
	ID        OriginID
	Name      string
	Kind      OriginKind
	Species   SpeciesID
	Culture   CultureID // empty: belongs to no culture
	Note      string
	CreatedAt time.Time
	Version   int64
}

// Culture is a named set of origins of one species that the club wants to keep
// alive.
type Culture struct {
	ID         CultureID
	Name       string
	Species    SpeciesID
	Note       string
	MergedInto CultureID  // it became part of that one, and is a name of it; empty: it stands by itself
	Moved      []OriginID // the origins that went along
	AlsoCalled []string   // the names of cultures that became part of it. Shown, not kept
	Published  bool       // everybody may read its name and lineage
	CreatedAt  time.Time
	Version    int64
}

// addCulture adds a culture. Errors: ErrForbidden, ErrInvalid,
// ErrCultureNameTaken.
func (w *work) addCulture(c Culture) (Culture, error) {
	if err := errors.Join(w.may(AddCulture), w.mayPublish(Culture{}, c)); err != nil {
		return Culture{}, err
	}
	var faults Faults
	c.ID = CultureID(w.id(string(c.ID), &faults))
	w.checkCulture(&faults, c)
	if err := faults.Err(); err != nil {
		return Culture{}, err
	}
	c.CreatedAt, c.Version, w.cultures = w.now, 1, nil
	return c, w.Cultures.Insert(c)
}

// mayPublish lets nobody publish a culture, or take that back, without the right
// to. Errors: ErrForbidden.
func (w *work) mayPublish(old, c Culture) error {
	if old.Published == c.Published {
		return nil
	}
	return w.may(Publish)
}

func (w *work) checkCulture(faults *Faults, c Culture) {
	checkName(faults, "/name", c.Name)
	checkNote(faults, "/note", c.Note)
	w.checkSpecies(faults, "/species", c.Species)
}

// changeCulture changes a culture that wasn't merged; its species only while it has
// no origin. Errors: ErrForbidden, ErrInvalid, ErrCultureMerged,
// ErrCultureNameTaken, ErrStale.
func (w *work) changeCulture(old, c Culture) (Culture, error) {
	if err := errors.Join(w.may(AddCulture), w.mayPublish(old, c)); err != nil {
		return Culture{}, err
	}
	if old.MergedInto != "" {
		return Culture{}, ErrCultureMerged
	}
	var faults Faults
	w.checkCulture(&faults, c)
	if c.Species != old.Species {
		origins, err := w.Origins.List(Query{})
		if err != nil {
			return Culture{}, err
		}
		if slices.ContainsFunc(origins, func(o Origin) bool { return o.Culture == c.ID }) {
			faults.Add("/species", "fixed", "origins belong to the culture; its species stays")
		}
	}
	if err := faults.Err(); err != nil {
		return Culture{}, err
	}
	c.CreatedAt, c.Version, w.cultures = old.CreatedAt, old.Version, nil
	return put(w.Cultures, old, c)
}

// dropCulture removes a culture without origins, into which none was merged; of one
// that was merged the name goes. Errors: ErrForbidden, ErrInUse, ErrStale.
func (w *work) dropCulture(c Culture) (Culture, error) {
	if err := w.may(AddCulture); err != nil {
		return Culture{}, err
	}
	all, err := w.known()
	if err != nil {
		return Culture{}, err
	}
	if slices.ContainsFunc(all, func(x Culture) bool { return x.MergedInto == c.ID }) {
		return Culture{}, ErrInUse
	}
	w.cultures = nil
	return c, w.Cultures.Delete(c)
}

// addOrigin adds an origin. Errors: ErrForbidden, ErrInvalid,
// ErrOriginNameTaken.
func (w *work) addOrigin(o Origin) (Origin, error) {
	if err := w.may(AddOrigin); err != nil {
		return Origin{}, err
	}
	if err := w.follow(&o.Culture); err != nil {
		return Origin{}, err
	}
	var faults Faults
	o.ID = OriginID(w.id(string(o.ID), &faults))
	w.checkRoot(&faults, o)
	if err := faults.Err(); err != nil {
		return Origin{}, err
	}
	o.CreatedAt, o.Version = w.now, 1
	return o, w.Origins.Insert(o)
}

// checkRoot notes what is wrong with an origin.
func (w *work) checkRoot(faults *Faults, o Origin) {
	checkName(faults, "/name", o.Name)
	checkNote(faults, "/note", o.Note)
	checkWord(faults, "/kind", o.Kind, SupplierOrigin, WildOrigin, CertificateOrigin, UnknownOrigin)
	w.checkSpecies(faults, "/species", o.Species)
	if o.Culture == "" {
		return
	}
	c, err := w.Cultures.Get(o.Culture)
	checkRef(faults, "/culture", err)
	if err == nil && c.Species != o.Species {
		checkRef(faults, "/culture", ErrSpeciesMismatch)
	}
}

// changeOrigin changes an origin, as to which culture it belongs; its species
// only before stock came from it. Errors: ErrForbidden, ErrInvalid,
// ErrOriginNameTaken, ErrStale.
func (w *work) changeOrigin(old, o Origin) (Origin, error) {
	if err := w.may(AddOrigin); err != nil {
		return Origin{}, err
	}
	if err := w.follow(&o.Culture); err != nil {
		return Origin{}, err
	}
	var faults Faults
	w.checkRoot(&faults, o)
	if o.Species != old.Species {
		stocked, err := w.stocked(o.ID)
		if err != nil {
			return Origin{}, err
		}
		if stocked {
			faults.Add("/species", "fixed", "stock came from the origin; its species stays")
		}
	}
	if err := faults.Err(); err != nil {
		return Origin{}, err
	}
	o.CreatedAt, o.Version = old.CreatedAt, old.Version
	return put(w.Origins, old, o)
}

// stocked tells whether stock came from the origin.
func (w *work) stocked(id OriginID) (bool, error) {
	entries, err := w.Movements.Entries()
	return slices.ContainsFunc(entries, func(e journal.Entry) bool {
		return slices.ContainsFunc(e.Postings, func(p journal.Posting) bool { return p.Origin == string(id) })
	}), err
}

// dropOrigin removes an origin that no stock came from. Errors: ErrForbidden,
// ErrInUse, ErrStale.
func (w *work) dropOrigin(o Origin) (Origin, error) {
	if err := w.may(AddOrigin); err != nil {
		return Origin{}, err
	}
	return o, w.Origins.Delete(o)
}

// checkSpecies notes a fault unless the reference table has that species.
func (w *work) checkSpecies(faults *Faults, pointer string, id SpeciesID) {
	if _, ok := w.desk.Reference.SpeciesByID(string(id)); !ok {
		checkRef(faults, pointer, ErrSpeciesNotFound)
	}
}
