package service

import "time"

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
	ID        CultureID
	Name      string
	Species   SpeciesID
	Note      string
	CreatedAt time.Time
	Version   int64
}

// addCulture adds a culture. Errors: ErrForbidden, ErrInvalid,
// ErrCultureNameTaken.
func (w *work) addCulture(c Culture) (Culture, error) {
	if err := w.may(AddCulture); err != nil {
		return Culture{}, err
	}
	var faults Faults
	c.ID = CultureID(w.id(string(c.ID), &faults))
	checkName(&faults, "/name", c.Name)
	checkNote(&faults, "/note", c.Note)
	w.checkSpecies(&faults, "/species", c.Species)
	if err := faults.Err(); err != nil {
		return Culture{}, err
	}
	c.CreatedAt, c.Version = w.now, 1
	return c, w.Cultures.Insert(c)
}

// addOrigin adds an origin. Errors: ErrForbidden, ErrInvalid,
// ErrOriginNameTaken.
func (w *work) addOrigin(o Origin) (Origin, error) {
	if err := w.may(AddOrigin); err != nil {
		return Origin{}, err
	}
	var faults Faults
	o.ID = OriginID(w.id(string(o.ID), &faults))
	checkName(&faults, "/name", o.Name)
	checkNote(&faults, "/note", o.Note)
	checkWord(&faults, "/kind", o.Kind, SupplierOrigin, WildOrigin, CertificateOrigin, UnknownOrigin)
	w.checkSpecies(&faults, "/species", o.Species)
	if o.Culture != "" {
		c, err := w.Cultures.Get(o.Culture)
		checkRef(&faults, "/culture", err)
		if err == nil && c.Species != o.Species {
			checkRef(&faults, "/culture", ErrSpeciesMismatch)
		}
	}
	if err := faults.Err(); err != nil {
		return Origin{}, err
	}
	o.CreatedAt, o.Version = w.now, 1
	return o, w.Origins.Insert(o)
}

// checkSpecies notes a fault unless the reference table has that species.
func (w *work) checkSpecies(faults *Faults, pointer string, id SpeciesID) {
	if _, ok := w.desk.Reference.SpeciesByID(string(id)); !ok {
		checkRef(faults, pointer, ErrSpeciesNotFound)
	}
}
