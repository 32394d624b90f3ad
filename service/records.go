package service

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
)

// BookRecords are the use-cases that move whole tables of records.
type BookRecords struct{ *Desk }

// Book is a club's whole book as tables of rows. Its references may be names
// instead of ids.
type Book struct {
	Settings        Table[Settings] // one row; none: the club keeps its own
	Members         Table[Member]
	Sites           Table[Site]
	Materials       Table[Material]
	Measures        Table[Measure]
	Cultures        Table[Culture]
	Origins         Table[Origin]
	Bins            Table[Bin]
	Batches         Table[Batch]
	Receipts        Table[Receipt]
	Turnouts        Table[Turnout]
	Reworks         Table[Rework]
	BatchSteps      Table[BatchStep]
	Offers          Table[Offer]
	Transfers       Table[Transfer] // recorded as they were, by Recorded.By
	Feedings        Table[Feeding]
	Checks          Table[Check]
	Censuses        Table[Census]
	Harvests        Table[Harvest]
	Movements       Table[Movement] // without those of censuses, harvests and reworks
	Quarantines     Table[Quarantine]
	Contacts        Table[BinContact]
	Clearings       Table[Clearing]
	Identifications Table[Identification]
}

// Table is the rows of one noun.
type Table[T any] []Row[T]

// Row is one record with where it was read.
type Row[T any] struct {
	File   string // first segment of the pointers to it, as "bins.csv"
	Line   int    // second segment: where it begins in the file
	Parts  []int  // the same for each item or line of a record of several rows
	By     string // name or id of the member who recorded it; empty: who imports
	Value  T
	Faults Faults // what was wrong with it before; such a row is not recorded
}

// ImportReport says what an import recorded, or would record.
type ImportReport struct {
	DryRun   bool
	Counts   []TableCount
	Warnings []FieldError // with pointers to rows
}

// TableCount is how many records of a table were recorded.
type TableCount struct {
	Table   string // as "bins"
	Records int
}

// maxImportFaults is how many faults an import lists.
const maxImportFaults = 1000

// Import records a whole book, or nothing if any row is at fault. Settings, members,
// sites, materials, measures, cultures, origins, bins, batches, offers and transfers come first,
// and receipts, which feedings name, and turnouts; then all that has a moment, in effective order:
// movements before harvests before reworks before censuses before feedings before
// checks before steps of batches before contacts before clearings of the same moment, and a reversal directly
// after what it reverses; then quarantines, and identifications of the lots that
// come of it all. A member row with the name of a member of
// the club is that member. A dry run is the real run, rolled back.
//
// Errors: ErrClubNotFound, ErrForbidden for all but stewards, ErrImport with
// every row at fault: each with the pointer /file/line/column. Rows that fail
// only because another row did are counted in its detail.
func (s BookRecords) Import(ctx context.Context, a Actor, book Book, dryRun bool) (ImportReport, error) {
	through := s.Store.Update
	if dryRun {
		through = s.Store.Rehearse
	}
	var out ImportReport
	err := s.enter(ctx, a, through, func(w *work) error {
		if err := w.may(ImportRecords); err != nil {
			return err
		}
		w.quiet = true
		im := importing{work: w, report: ImportReport{DryRun: dryRun}}
		if err := im.record(book); err != nil && !errors.Is(err, errBroken) {
			return err
		}
		out = im.report
		if err := im.err(); err != nil {
			return err
		}
		if !w.late.IsZero() {
			if err := w.noteLate("book", "", w.late); err != nil {
				return err
			}
		}
		return w.noteImport(out)
	})
	if err != nil {
		return ImportReport{}, err
	}
	return out, nil
}

// Export returns the whole book: what is dated in the order in which an import
// records it, the rest by id, members by name and without their ids and
// accounts. Importing it into an empty club and exporting that gives the same
// again. Errors: ErrClubNotFound, ErrForbidden for all but stewards.
func (s BookRecords) Export(ctx context.Context, a Actor) (Book, error) {
	return read(ctx, s.Desk, a, func(w *work) (Book, error) {
		if err := w.may(ExportRecords); err != nil {
			return Book{}, err
		}
		return w.export()
	})
}

// errBroken ends an import whose transaction can't go on.
var errBroken = errors.New("service: the import can't go on")

// err returns ErrImport with the rows at fault, or nil if there are none.
func (im *importing) err() error {
	if len(im.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(im.faults, func(a, b located) int {
		return cmp.Or(cmp.Compare(a.table, b.table), cmp.Compare(a.line, b.line))
	})
	e := *ErrImport
	for _, f := range im.faults[:min(len(im.faults), maxImportFaults)] {
		e.Fields = append(e.Fields, f.FieldError)
	}
	if more := len(im.faults) - maxImportFaults; more > 0 {
		e.Detail += fmt.Sprintf("; %d more faults are not listed", more)
	}
	if im.followers > 0 {
		e.Detail += fmt.Sprintf("; %d more rows fail because of those", im.followers)
	}
	return &e
}
