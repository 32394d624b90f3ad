package service

import (
	"cmp"
	"slices"
	"time"
)

// The tables of dated records, in the order in which those of one moment are
// recorded. Their numbers follow those of the nouns.
const (
	movementTable = iota + binTable + 4
	harvestTable
	reworkTable
	censusTable
	receiptTable
	turnoutTable
	feedingTable
	checkTable
	stepTable
	contactTable
	clearingTable
	quarantineTable
	identificationTable
)

// step is one dated record that waits for its turn.
type step struct {
	at    time.Time
	table int
	id    string
	run   func() error
}

// datedRows is how the rows of a dated noun are recorded.
type datedRows[T any] struct {
	name  string
	table int
	space string // of its ids: those of the journal's nouns are one
	id    func(T) string
	at    func(*T) *Moment
	link  func(*T)
	from  func(T) []string // bins and batches that it needs stock in
	into  func(T) []string // bins and batches that it puts stock into
	add   func(T) error
}

// The spaces of ids.
const (
	journalSpace        = "movement "
	feedingSpace        = "feeding "
	receiptSpace        = "receipt "
	turnoutSpace        = "turnout "
	stepSpace           = "batch-step "
	checkSpace          = "check "
	contactSpace        = "contact "
	clearingSpace       = "clearing "
	quarantineSpace     = "quarantine "
	identificationSpace = "identification "
)

// addDated records all that has a moment, in effective order. Errors:
// errBroken, the store's.
func (im *importing) addDated(b Book) error {
	if err := im.readTaken(b); err != nil {
		return err
	}
	counts := make([]TableCount, 9)
	var moved Table[Movement]
	var back []Row[Movement]
	for _, r := range b.Movements {
		if r.Value.isReversal() {
			back = append(back, r)
		} else {
			moved = append(moved, r)
		}
	}
	im.void = voided(b, moved, back)
	steps := plan(im, im.movements(), moved, &counts[0])
	steps = append(steps, plan(im, im.harvests(), b.Harvests, &counts[1])...)
	steps = append(steps, plan(im, im.reworks(), b.Reworks, &counts[2])...)
	steps = append(steps, plan(im, im.censuses(), b.Censuses, &counts[3])...)
	steps = append(steps, plan(im, im.feedings(), b.Feedings, &counts[4])...)
	steps = append(steps, plan(im, im.checks(), b.Checks, &counts[5])...)
	steps = append(steps, plan(im, im.batchSteps(), b.BatchSteps, &counts[6])...)
	steps = append(steps, plan(im, im.contacts(), b.Contacts, &counts[7])...)
	steps = append(steps, plan(im, im.clearings(), b.Clearings, &counts[8])...)
	slices.SortStableFunc(steps, func(a, b step) int {
		return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.table, b.table))
	})
	err := im.run(steps, plan(im, im.reversals(), back, &counts[0]), back)
	im.report.Counts = append(im.report.Counts, counts...)
	return err
}

// voided lists the entries of this import that a reversal of this import takes
// back. Whether the books would have borne them doesn't matter any more.
func voided(b Book, moved Table[Movement], back []Row[Movement]) map[MovementID]bool {
	here := map[MovementID]bool{}
	for _, r := range moved {
		here[r.Value.ID] = true
	}
	for _, r := range b.Harvests {
		here[MovementID(r.Value.ID)] = true
	}
	for _, r := range b.Reworks {
		here[MovementID(r.Value.ID)] = true
	}
	for _, r := range b.Censuses {
		here[MovementID(r.Value.ID)] = true
	}
	out := map[MovementID]bool{}
	for _, r := range back {
		if of := r.Value.Reverses; of != "" && here[of] {
			out[of] = true
		}
	}
	return out
}

// run runs steps in order, and after each the reversals of its record; last
// come the reversals of what the club had before.
func (im *importing) run(steps, reversals []step, rows []Row[Movement]) error {
	of := map[string][]step{}
	for i, r := range rows {
		of[string(r.Value.Reverses)] = append(of[string(r.Value.Reverses)], reversals[i])
	}
	var one func(s step) error
	one = func(s step) error {
		if err := s.run(); err != nil || s.id == "" {
			return err
		}
		due := of[s.id]
		delete(of, s.id)
		for _, r := range due {
			if err := one(r); err != nil {
				return err
			}
		}
		return nil
	}
	for _, s := range steps {
		if err := one(s); err != nil {
			return err
		}
	}
	for i, r := range rows {
		if _, waits := of[string(r.Value.Reverses)]; !waits {
			continue
		}
		if err := one(reversals[i]); err != nil {
			return err
		}
	}
	return nil
}

// readTaken finds which ids of the book's dated records the club has.
func (im *importing) readTaken(b Book) error {
	var moved []MovementID
	for _, r := range b.Movements {
		moved = append(moved, r.Value.ID)
	}
	for _, r := range b.Harvests {
		moved = append(moved, MovementID(r.Value.ID))
	}
	for _, r := range b.Reworks {
		moved = append(moved, MovementID(r.Value.ID))
	}
	for _, r := range b.Censuses {
		moved = append(moved, MovementID(r.Value.ID))
	}
	if err := takenIDs(im, journalSpace, im.Movements.Some, moved, func(m Movement) string { return string(m.ID) }); err != nil {
		return err
	}
	err := takenIDs(im, feedingSpace, im.Feedings.Some, idsOf(b.Feedings, func(f Feeding) FeedingID { return f.ID }),
		func(f Feeding) string { return string(f.ID) })
	if err != nil {
		return err
	}
	err = takenIDs(im, stepSpace, im.BatchSteps.Some, idsOf(b.BatchSteps, func(s BatchStep) BatchStepID { return s.ID }),
		func(s BatchStep) string { return string(s.ID) })
	if err != nil {
		return err
	}
	err = takenIDs(im, checkSpace, im.Checks.Some, idsOf(b.Checks, func(c Check) CheckID { return c.ID }),
		func(c Check) string { return string(c.ID) })
	if err != nil {
		return err
	}
	err = takenIDs(im, contactSpace, im.Contacts.Some, idsOf(b.Contacts, func(c BinContact) BinContactID { return c.ID }),
		func(c BinContact) string { return string(c.ID) })
	if err != nil {
		return err
	}
	err = takenIDs(im, clearingSpace, im.Clearings.Some, idsOf(b.Clearings, func(c Clearing) ClearingID { return c.ID }),
		func(c Clearing) string { return string(c.ID) })
	if err != nil {
		return err
	}
	err = takenIDs(im, quarantineSpace, im.Quarantines.Some, idsOf(b.Quarantines, func(q Quarantine) QuarantineID { return q.ID }),
		func(q Quarantine) string { return string(q.ID) })
	if err != nil {
		return err
	}
	return takenIDs(im, identificationSpace, im.Identifications.Some, idsOf(b.Identifications, func(i Identification) IdentificationID { return i.ID }),
		func(i Identification) string { return string(i.ID) })
}

// addQuarantines records the quarantines after all movements, which none of them
// hindered. Errors: errBroken, the store's.
func (im *importing) addQuarantines(b Book) error {
	return addAfter(im, im.quarantines(), b.Quarantines)
}

// addIdentifications records the identifications of lots, which are derived by
// then unless a row was at fault. Errors: errBroken, the store's.
func (im *importing) addIdentifications(b Book) error {
	return addAfter(im, im.identifications(), b.Identifications)
}

// addAfter records a dated table by itself, in the order of its moments. Errors:
// errBroken, the store's.
func addAfter[T any](im *importing, n datedRows[T], rows Table[T]) error {
	var count TableCount
	steps := plan(im, n, rows, &count)
	slices.SortStableFunc(steps, func(a, b step) int { return a.at.Compare(b.at) })
	for _, s := range steps {
		if err := s.run(); err != nil {
			return err
		}
	}
	im.report.Counts = append(im.report.Counts, count)
	return nil
}

func idsOf[T any, K ~string](rows Table[T], id func(T) K) []K {
	var out []K
	for _, r := range rows {
		out = append(out, id(r.Value))
	}
	return out
}

func takenIDs[T any, K ~string](im *importing, space string, some func([]K) ([]T, error), ids []K, id func(T) string) error {
	there, err := some(slices.DeleteFunc(ids, func(k K) bool { return k == "" }))
	for _, v := range there {
		im.taken[space+id(v)] = true
	}
	return err
}

// plan makes a step of each row.
func plan[T any](im *importing, n datedRows[T], rows Table[T], count *TableCount) []step {
	count.Table = n.name
	var out []step
	for _, r := range rows {
		at := Moment{}
		if n.at != nil {
			at = im.moment(&r.Faults, r.spot(), n.at(&r.Value))
		}
		out = append(out, step{at.Time, n.table, n.id(r.Value), func() error { return addDatedRow(im, n, r, count) }})
	}
	return out
}

// moment settles when a record was, and notes a fault if it can't be.
func (im *importing) moment(faults *Faults, at spot, m *Moment) Moment {
	var own Faults
	if m.Text == "" {
		own.Add("/at", "required", "say when it was: %s", ErrTimeUnreadable.Detail)
	}
	settled := *m
	im.settle(&own, "/at", &settled)
	for _, f := range own[:min(len(own), 1)] {
		*faults = append(*faults, at.point(f))
	}
	return settled
}

// addDatedRow records one row. Errors: errBroken, the store's.
func addDatedRow[T any](im *importing, n datedRows[T], r Row[T], count *TableCount) error {
	im.table, im.follows = n.table, false
	by := MemberID(r.By)
	link(im, im.people, &by)
	n.link(&r.Value)
	id := n.id(r.Value)
	ok := im.ready(r.spot(), r.Faults)
	if ok && by != "" && im.people.ids[r.By] == "" {
		im.note(r.spot(), FieldError{Pointer: "/by", Code: ErrMemberNotFound.Code, Detail: ErrMemberNotFound.Detail})
		ok = false
	}
	if ok && id != "" && im.taken[n.space+id] {
		im.note(r.spot(), FieldError{Code: ErrIDTaken.Code, Detail: ErrIDTaken.Detail})
		ok = false
	}
	if !ok {
		im.refuse(n.space, id, n.into(r.Value))
		return nil
	}
	im.by = by
	err := n.add(r.Value)
	im.by = ""
	if err == nil {
		im.taken[n.space+id] = true
		count.Records++
		return nil
	}
	follows := im.lacksStock(err, n.from(r.Value))
	im.refuse(n.space, id, n.into(r.Value))
	if follows {
		im.followers++
		return nil
	}
	return im.fault(r.spot(), err)
}

// refuse remembers that a record was not made, and what it would have filled.
func (im *importing) refuse(space, id string, into []string) {
	if id != "" {
		im.refused[space+id] = true
	}
	for _, place := range into {
		if place != "" {
			im.short[place] = true
		}
	}
}

// lacksStock reports whether err says that stock is missing where a row at fault
// would have put some.
func (im *importing) lacksStock(err error, from []string) bool {
	e, ok := asFault(err)
	if !ok || !slices.ContainsFunc(from, func(place string) bool { return im.short[place] }) {
		return false
	}
	codes := []string{e.Code}
	for _, f := range e.Fields {
		codes = append(codes, f.Code)
	}
	if len(e.Fields) > 0 {
		codes = codes[1:]
	}
	return !slices.ContainsFunc(codes, func(c string) bool {
		return c != ErrMoreThanBook.Code && c != ErrNoKnownStock.Code && c != ErrSpeciesNeeded.Code
	})
}
