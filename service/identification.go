package service

import (
	"slices"
	"time"

	"lumbricary.example/service/lineage"
)

// IdentificationMethod is how a species was told.
type IdentificationMethod string

// The methods of identification.
const (
	ByAppearance IdentificationMethod = "appearance" // colour, bands, clitellum
	ByDissection IdentificationMethod = "dissection"
	ByDNA        IdentificationMethod = "dna"
	ByOther      IdentificationMethod = "other"
)

// Identification is a dated statement on what species the worms of a lot are.
// The books keep the species as booked; lots that descend from the lot are taken
// for the same.
type Identification struct {
	ID           IdentificationID
	Lot          LotID
	Species      SpeciesID // found
	At           Moment
	Method       IdentificationMethod
	Specimens    int64  // looked at; 0: not told
	IdentifiedBy string // who told it
	Note         string
	Recorded     Recorded
	Voided       Voiding
	Version      int64
}

const maxSpecimens = 100_000

func (i Identification) void() bool { return !i.Voided.At.IsZero() }

// Identified is what a lot's worms are by the identifications that bear on it.
type Identified struct {
	Species    SpeciesID
	ToldApart  bool      // false: its parents were found to be of several species
	At         time.Time // of the latest of the identifications
	Statements []IdentificationID
}

// addIdentification records an identification. Errors: ErrInvalid, ErrForbidden.
func (w *work) addIdentification(i Identification) (Identification, error) {
	var faults Faults
	i.ID = IdentificationID(w.id(string(i.ID), &faults))
	w.settle(&faults, "/at", &i.At)
	if err := w.checkIdentification(&faults, i); err != nil {
		return Identification{}, err
	}
	if err := faults.Err(); err != nil {
		return Identification{}, err
	}
	rec, err := w.recorded()
	if err != nil {
		return Identification{}, err
	}
	i.Recorded, i.Version, w.identified = rec, 1, nil
	return i, w.Identifications.Insert(i)
}

// checkIdentification notes what is wrong with an identification. Errors:
// ErrForbidden unless the member may write the lot's bin.
func (w *work) checkIdentification(faults *Faults, i Identification) error {
	checkWord(faults, "/method", i.Method, ByAppearance, ByDissection, ByDNA, ByOther)
	checkNote(faults, "/note", i.Note)
	w.checkSpecies(faults, "/species", i.Species)
	if i.IdentifiedBy != "" {
		checkName(faults, "/identified_by", i.IdentifiedBy)
	}
	if i.Specimens < 0 || i.Specimens > maxSpecimens {
		faults.Add("/specimens", "range", "use a whole number from 0 to %d", maxSpecimens)
	}
	lot, err := w.Lots.Get(i.Lot)
	if err != nil {
		checkRef(faults, "/lot", err)
		return nil
	}
	if !i.At.Time.IsZero() && i.At.Time.Before(lot.OpenedAt.Add(-24*time.Hour)) {
		faults.Add("/at", "before-start", "the lot opened on %s", lot.OpenedAt.In(w.zone).Format(time.DateOnly))
	}
	bin, err := w.Bins.Get(BinID(lot.Place.Bin))
	if err != nil {
		return err
	}
	return w.may(RecordOnBin, bin.Owners()...)
}

// changeIdentification changes an identification but for its lot. Errors:
// ErrForbidden, ErrInvalid, ErrVoided, ErrStale.
func (w *work) changeIdentification(old, i Identification) (Identification, error) {
	i.Recorded, i.Voided, i.Version = old.Recorded, old.Voided, old.Version
	var faults Faults
	checkFixed(&faults, "/lot", i.Lot, old.Lot)
	w.resettle(&faults, "/at", &i.At, old.At)
	if err := w.checkIdentification(&faults, i); err != nil {
		return Identification{}, err
	}
	if old.void() {
		return Identification{}, ErrVoided
	}
	if err := faults.Err(); err != nil {
		return Identification{}, err
	}
	w.identified = nil
	return put(w.Identifications, old, i)
}

// voidIdentification takes an identification back. Errors: ErrForbidden,
// ErrVoided, ErrStale.
func (w *work) voidIdentification(i Identification) (Identification, error) {
	var none Faults
	if err := w.checkIdentification(&none, i); err != nil {
		return Identification{}, err
	}
	if i.void() {
		return Identification{}, ErrVoided
	}
	old := i
	i.Voided, w.identified = Voiding{w.now, w.author()}, nil
	return put(w.Identifications, old, i)
}

// identities returns what the club's lots were identified as. They are worked
// out once.
func (w *work) identities() (map[LotID]Identified, error) {
	if w.identified != nil {
		return w.identified, nil
	}
	w.identified = map[LotID]Identified{}
	all, err := w.Identifications.List(Query{})
	if err != nil || len(all) == 0 {
		return w.identified, err
	}
	var statements []lineage.Statement
	for _, i := range all {
		statements = append(statements, lineage.Statement{
			ID: string(i.ID), Lot: string(i.Lot), Species: string(i.Species), At: i.At.Time, Seq: i.Recorded.Seq,
		})
	}
	stored, err := w.Lots.List(Query{})
	if err != nil {
		return nil, err
	}
	var lots []lineage.Lot
	for _, l := range stored {
		lots = append(lots, l.Lot)
	}
	for lot, found := range lineage.Identify(lots, statements) {
		w.identified[LotID(lot)] = identifiedAs(found)
	}
	return w.identified, nil
}

// The entries of the reference table for stock that can't be told apart.
const (
	redWorms SpeciesID = "eisenia-fetida-andrei" // fetida/andrei, not told apart
	mixture  SpeciesID = "mixed"
)

// identifiedAs names what was found: of several species, the entry of the
// reference table that stands for all of them.
func identifiedAs(found lineage.Identity) Identified {
	out := Identified{Species: SpeciesID(found.Species[0]), ToldApart: len(found.Species) == 1, At: found.At}
	for _, id := range found.Statements {
		out.Statements = append(out.Statements, IdentificationID(id))
	}
	if out.ToldApart {
		return out
	}
	out.Species = redWorms
	for _, s := range found.Species {
		if !slices.Contains([]string{"eisenia-fetida", "eisenia-andrei", string(redWorms)}, s) {
			out.Species = mixture
		}
	}
	return out
}

// identify returns what a lot was identified as, or nil.
func (w *work) identify(id LotID) (*Identified, error) {
	all, err := w.identities()
	if found, ok := all[id]; ok {
		return &found, err
	}
	return nil, err
}

// showLot adds what the lot was identified as.
func (w *work) showLot(l Lot) (Lot, error) {
	var err error
	l.Identified, err = w.identify(LotID(l.ID))
	return l, err
}

// speciesIn returns the species by which figures on the stock of a bin go: what
// its lot was identified as, else as booked.
func (w *work) speciesIn(bin BinID, booked SpeciesID) (SpeciesID, error) {
	all, err := w.identities()
	if err != nil || len(all) == 0 || bin == "" {
		return booked, err
	}
	standing, err := w.Lots.Standing(bin)
	for _, l := range standing {
		if found, ok := all[LotID(l.ID)]; ok && SpeciesID(l.Place.Species) == booked {
			return found.Species, err
		}
	}
	return booked, err
}
