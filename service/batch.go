package service

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// Product is what a batch holds.
type Product string

// The products.
const (
	Vermicompost Product = "vermicompost"
	Screened     Product = "screened"
	CastingsOnly Product = "castings"
)

// Batch is castings in store under a printable lot number.
type Batch struct {
	ID        BatchID
	LotNumber string
	Product   Product
	MeshMM    float64 // 0: not screened
	Note      string
	CreatedAt time.Time
	Version   int64
}

// addBatch adds an empty batch. Errors: ErrForbidden, ErrInvalid,
// ErrLotNumberTaken.
func (w *work) addBatch(b Batch) (Batch, error) {
	if err := w.may(UseCastings); err != nil {
		return Batch{}, err
	}
	var faults Faults
	b.ID = BatchID(w.id(string(b.ID), &faults))
	if b.LotNumber == "" {
		if err := w.giveLotNumber(&b); err != nil {
			return Batch{}, err
		}
	}
	checkBatch(&faults, b)
	if err := faults.Err(); err != nil {
		return Batch{}, err
	}
	b.CreatedAt, b.Version = w.now, 1
	if err := w.Batches.Insert(b); err != nil {
		return Batch{}, err
	}
	return b, w.LotNumbers.Take(b.LotNumber, b.ID)
}

// giveLotNumber gives a batch the club's next lot number of the year: 2026-001,
// and so on, above every number of that form that was ever given.
func (w *work) giveLotNumber(b *Batch) error {
	year := w.now.In(w.zone).Format("2006-")
	given, err := w.LotNumbers.From(year)
	last := 0
	for _, number := range given {
		if n, err := strconv.Atoi(strings.TrimPrefix(number, year)); err == nil && n < maxLotNumber {
			last = max(last, n)
		}
	}
	b.LotNumber = fmt.Sprintf("%s%03d", year, last+1)
	return err
}

// maxLotNumber is where the running numbers of a year end; a larger one was
// thought of by somebody.
const maxLotNumber = 1_000_000

func checkBatch(faults *Faults, b Batch) {
	checkName(faults, "/lot_number", b.LotNumber)
	checkWord(faults, "/product", b.Product, Vermicompost, Screened, CastingsOnly)
	checkRange(faults, "/mesh_mm", &b.MeshMM, 0, 1000)
	checkNote(faults, "/note", b.Note)
}

// changeBatch changes what is told of a batch. Errors: ErrForbidden, ErrInvalid,
// ErrLotNumberTaken, ErrStale.
func (w *work) changeBatch(old, b Batch) (Batch, error) {
	if err := w.may(UseCastings); err != nil {
		return Batch{}, err
	}
	var faults Faults
	if checkBatch(&faults, b); len(faults) > 0 {
		return Batch{}, faults.Err()
	}
	b.CreatedAt, b.Version = old.CreatedAt, old.Version
	if b.LotNumber != old.LotNumber {
		if err := w.LotNumbers.Take(b.LotNumber, b.ID); err != nil {
			return Batch{}, err
		}
	}
	return put(w.Batches, old, b)
}

// dropBatch removes a batch that never held anything. Errors: ErrForbidden,
// ErrInUse, ErrStale.
func (w *work) dropBatch(b Batch) (Batch, error) {
	if err := w.may(UseCastings); err != nil {
		return Batch{}, err
	}
	return b, w.Batches.Delete(b)
}

// castingsIn returns the dry matter in a batch at the end of that moment.
func (w *work) castingsIn(id BatchID, at time.Time) (unit.Mass, error) {
	lines, err := w.Movements.Lines(journal.Batch(string(id)), journal.Castings)
	return journal.Level(lines, at), err
}
