package service

import (
	"fmt"
	"slices"
	"strings"
)

// importing is one import under way in one transaction.
type importing struct {
	*work
	report    ImportReport
	faults    []located
	followers int // rows that fail only because of rows at fault
	table     int // which table's rows are being recorded
	follows   bool
	derived   bool // the lots are
	people    directory
	places    directory
	stuffs    directory
	vessels   directory
	cultures  directory
	origins   directory
	bins      directory
	batches   directory
	offers    directory
	transfers directory
	taken     map[string]bool // ids of records, by space and id
	refused   map[string]bool // the same of rows at fault
	short     map[string]bool // bins and batches that lack what rows at fault would have put there
}

// located is a fault with where to sort it.
type located struct {
	FieldError
	table, line int
}

// spot is where a row was read.
type spot struct {
	file  string
	line  int
	parts []int
}

func (r Row[T]) spot() spot { return spot{r.File, r.Line, r.Parts} }

// record records the book. Errors: errBroken, the store's.
func (im *importing) record(b Book) error {
	im.taken, im.refused, im.short = map[string]bool{}, map[string]bool{}, map[string]bool{}
	im.bulk = true
	if err := im.look(); err != nil {
		return err
	}
	for _, step := range []func(Book) error{
		im.addSettings, im.addMembers, im.addSites, im.addMaterials, im.addMeasures, im.addCultures, im.addOrigins, im.mergeCultures, im.addBins, im.addBatches,
		im.addOffers, im.addTransfers, im.addReceipts, im.addTurnouts, im.addDated, im.addQuarantines, im.checkRetired,
	} {
		if err := step(b); err != nil {
			return err
		}
	}
	if im.derived = len(im.faults) == 0; im.derived {
		if err := im.redo(im.posted...); err != nil {
			return err
		}
	}
	return im.addIdentifications(b)
}

// look finds what the club has before.
func (im *importing) look() error {
	names, err := im.names()
	if err != nil {
		return err
	}
	lots, err := index(im.Batches, func(b Batch) (BatchID, string) { return b.ID, b.LotNumber })
	im.people, im.places = directoryOf(names.Members, itself), directoryOf(names.Sites, itself)
	im.stuffs = directoryOf(names.Materials, func(m Material) string { return m.Name })
	im.vessels = directoryOf(names.Measures, func(m Measure) string { return m.Name })
	im.cultures = directoryOf(names.Cultures, func(c Culture) string { return c.Name })
	im.origins = directoryOf(names.Origins, func(o Origin) string { return o.Name })
	im.bins = directoryOf(names.Bins, func(b Bin) string { return b.Name })
	im.batches = directoryOf(lots, itself)
	if err != nil {
		return err
	}
	offers, err := index(im.Offers, func(o Offer) (OfferID, string) { return o.ID, string(o.ID) })
	if err != nil {
		return err
	}
	transfers, err := index(im.Transfers, func(t Transfer) (TransferID, string) { return t.ID, string(t.ID) })
	im.offers, im.transfers = directoryOf(offers, itself), directoryOf(transfers, itself)
	return err
}

func itself(s string) string { return s }

// directory finds the things of one noun by id or name.
type directory struct {
	ids     map[string]string // by id and by name
	refused map[string]bool   // ids and names of rows at fault
}

func directoryOf[T any, K ~string](things map[K]T, name func(T) string) directory {
	d := directory{map[string]string{}, map[string]bool{}}
	for id, v := range things {
		d.add(string(id), name(v))
	}
	return d
}

func (d directory) add(id, name string) { d.ids[id], d.ids[name] = id, id }

func (d directory) refuse(id, name string) { d.refused[id], d.refused[name] = true, true }

// link turns a name into an id. A reference to a row at fault makes this row
// one that follows; one that nobody knows stays, for the noun's own check.
func link[K ~string](im *importing, d directory, ref *K) {
	id, ok := d.ids[string(*ref)]
	switch {
	case *ref == "":
	case ok:
		*ref = K(id)
	case d.refused[string(*ref)]:
		im.follows = true
	}
}

// noun is how the rows of a noun that has a name are recorded.
type noun[T any] struct {
	name  string
	known directory
	key   func(T) (id, name string)
	taken *Error                      // when the name is
	there func(Row[T]) (string, bool) // the id of what the row is already, if it may be
	link  func(*T)
	add   func(T) (T, error)
}

// addNouns records a table. Errors: errBroken, the store's.
func addNouns[T any](im *importing, n noun[T], rows Table[T]) error {
	im.table++
	added := 0
	for _, r := range rows {
		id, name := n.key(r.Value)
		if there, ok := n.there(r); ok {
			n.known.ids[id], n.known.ids[name] = there, there
			delete(n.known.ids, "")
			continue
		}
		im.follows = false
		n.link(&r.Value)
		if !im.ready(r.spot(), r.Faults) || !im.unique(r.spot(), n, id, name) {
			n.known.refuse(id, name)
			continue
		}
		out, err := n.add(r.Value)
		if err != nil {
			n.known.refuse(id, name)
			if err := im.fault(r.spot(), err); err != nil {
				return err
			}
			continue
		}
		n.known.add(n.key(out))
		added++
	}
	im.report.Counts = append(im.report.Counts, TableCount{n.name, added})
	return nil
}

// unique notes a fault when another row or the club has the id or the name.
func (im *importing) unique(at spot, n interface{ clash(id, name string) *Error }, id, name string) bool {
	e := n.clash(id, name)
	if e != nil {
		im.note(at, FieldError{Code: e.Code, Detail: e.Detail})
	}
	return e == nil
}

func (n noun[T]) clash(id, name string) *Error {
	if _, ok := n.known.ids[id]; ok && id != "" {
		return ErrIDTaken
	}
	if _, ok := n.known.ids[name]; ok && name != "" {
		return n.taken
	}
	return nil
}

// ready reports whether a row can be recorded; if not it notes or counts why.
func (im *importing) ready(at spot, faults Faults) bool {
	for _, f := range faults {
		im.faults = append(im.faults, located{f, im.table, at.line})
	}
	if len(faults) == 0 && im.follows {
		im.followers++
	}
	return len(faults) == 0 && !im.follows
}

// fault notes what a use-case found wrong with a row. Errors: err itself if it
// is no fault of the row's; errBroken when the database refused it, as an
// aborted transaction takes nothing more.
func (im *importing) fault(at spot, err error) error {
	e, ok := asFault(err)
	if !ok {
		return err
	}
	fields := e.Fields
	if len(fields) == 0 {
		fields = []FieldError{{Code: e.Code, Detail: e.Detail}}
	}
	for _, f := range fields {
		im.note(at, f)
	}
	if e.Code == ErrIDTaken.Code || strings.HasSuffix(e.Code, "-taken") {
		return errBroken
	}
	return nil
}

// note lists a fault at the row and column that its pointer is about.
func (im *importing) note(at spot, f FieldError) {
	line, f := at.line, at.point(f)
	if strings.HasSuffix(f.Code, "-not-found") {
		f.Detail += ", nor in this import; use its name or its id"
	}
	if n := len(im.faults); n > 0 && im.faults[n-1].Pointer == f.Pointer {
		return // one fault a cell is enough
	}
	im.faults = append(im.faults, located{f, im.table, line})
}

// point turns a use-case's pointer into one at a row and column.
func (s spot) point(f FieldError) FieldError {
	part, column := columnOf(f.Pointer, f.Code)
	line := s.line
	if part < len(s.parts) {
		line = s.parts[part]
	}
	f.Pointer = fmt.Sprintf("/%s/%d", s.file, line)
	if column != "" {
		f.Pointer += "/" + column
	}
	return f
}

// warn adds a warning about a row.
func (im *importing) warn(at spot, column, code, detail string) {
	im.report.Warnings = append(im.report.Warnings, FieldError{Pointer: fmt.Sprintf("/%s/%d/%s", at.file, at.line, column), Code: code, Detail: detail})
}

// columnOf returns the column that a use-case's pointer is about, and which of
// the record's rows: /items/1/quantity is the quantity of the second. An error
// without a pointer is about the column that its code speaks of.
func columnOf(pointer, code string) (part int, column string) {
	path := strings.Split(strings.TrimPrefix(pointer, "/"), "/")
	switch path[0] {
	case "":
		column = columnOfCode[code]
	case "castings":
		column = "quantity"
	case "items", "lines", "worms", "parts":
		column = columnOfWhole[path[0]+" "+code]
		if len(path) == 3 {
			part, column = number(path[1]), path[2]
		}
		if path[0] == "worms" {
			column = "worms_" + column
		}
	case "heat_treatment":
		if column = path[1]; column == "what" {
			column = "heat_what"
		}
	default:
		column = path[0]
	}
	if code == "unit" {
		column = columnOfUnit[column]
	}
	return part, column
}

// columnOfCode is where an error is that has no pointer.
var columnOfCode = map[string]string{
	ErrIDTaken.Code:           "id",
	ErrMemberNameTaken.Code:   "name",
	ErrSiteNameTaken.Code:     "name",
	ErrBinNameTaken.Code:      "name",
	ErrMaterialNameTaken.Code: "name",
	ErrMeasureNameTaken.Code:  "name",
	ErrCultureNameTaken.Code:  "name",
	ErrOriginNameTaken.Code:   "name",
	ErrLotNumberTaken.Code:    "lot_number",
	ErrMoreThanBook.Code:      "quantity",
	ErrBooksClosed.Code:       "at",
	ErrQuarantined.Code:       "at",
	ErrReversalOf.Code:        "reverses",
	ErrReversedBefore.Code:    "reverses",
	ErrMovementNotFound.Code:  "reverses",
}

// columnOfWhole is where a fault of all items or lines is, by member and code.
var columnOfWhole = map[string]string{
	"items range": "material", "parts range": "batch", "parts shape": "quantity", "lines range": "quantity", "lines shape": "from_bin", "worms range": "quantity",
}

// columnOfUnit is where the unit of a quantity is.
var columnOfUnit = map[string]string{
	"net": "net_unit", "gross": "gross_unit", "rejected": "rejected_unit", "residue": "residue_unit", "mass": "mass_unit",
	"volume": "volume_unit", "tare": "tare_unit", "quantity": "unit", "estimate": "unit", "low": "unit", "high": "unit",
	"worms_quantity": "worms_unit", "temperature": "temperature_unit",
}

// number reads the digits of a pointer that a use-case made.
func number(digits string) (n int) {
	for _, c := range digits {
		n = n*10 + int(c-'0')
	}
	return n
}

// clone keeps an import from changing the slices of its book.
func clone[T any](s *[]T) []T {
	*s = slices.Clone(*s)
	return *s
}
