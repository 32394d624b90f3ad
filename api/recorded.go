package api

import (
	"errors"
	"math"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// Recorded says who wrote a record, and when.
type Recorded struct {
	Seq int64     `json:"seq" example:"42" format:"int64" validate:"required"` // order of recording in the whole service; has gaps
	At  time.Time `json:"at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	By  string    `json:"by" example:"01970000-0000-7000-8000-000000000003" format:"uuid" validate:"required"` // member
}

func recordedOf(r service.Recorded) Recorded { return Recorded{r.Seq, r.At, string(r.By)} }

// Named is a thing of the club by its id, with what the club calls it.
type Named struct {
	ID   string `json:"id" example:"01970000-0000-7000-8000-000000000010" validate:"required"`
	Name string `json:"name" example:"Tote 3" validate:"required"`
}

// namedOrNull names a thing, and is nil where there is none.
func namedOrNull[K ~string](names map[K]string, id K) *Named {
	if id == "" {
		return nil
	}
	return &Named{string(id), names[id]}
}

// typedOrNull shows a quantity as it was typed; null where none was.
func typedOrNull(m unit.Measure) *Quantity {
	if m.Unit == "" {
		return nil
	}
	q := quantityOf(m)
	return &q
}

// typedOrNone is a quantity as the use-cases take it; one that is left out has
// no unit.
func typedOrNone(q *Quantity) unit.Measure {
	if q == nil {
		return unit.Measure{}
	}
	return q.measure()
}

// massOrNone is a mass, 0 where it is left out; one out of range stays so, for
// the use-case to refuse.
func massOrNone(q *Quantity) unit.Mass {
	if q == nil {
		return 0
	}
	m, err := q.measure().Mass()
	switch {
	case err == nil:
		return m
	case q.Value < 0:
		return -1
	}
	return unit.MaxMass + 1
}

// asRead is a number that was read; where it can't be had it is no number,
// which every use-case refuses.
func asRead[T ~float64](v T, err error) T {
	if err != nil {
		return T(math.NaN())
	}
	return v
}

// gramsOrNull is a mass on the wire, in g; null where there is none.
func gramsOrNull(m unit.Mass) *float64 { return orNull(m.Grams()) }

// repointed makes the faults of a use-case point at the member of the request
// that goes by another name.
func repointed(err error, names map[string]string) error {
	return repointedBy(err, func(pointer string) string {
		if name, ok := names[pointer]; ok {
			return name
		}
		return pointer
	})
}

// repointedBy is repointed by a function.
func repointedBy(err error, name func(pointer string) string) error {
	e, ok := errors.AsType[*service.Error](err)
	if !ok || len(e.Fields) == 0 {
		return err
	}
	moved := *e
	moved.Fields = make([]service.FieldError, len(e.Fields))
	for i, f := range e.Fields {
		f.Pointer = name(f.Pointer)
		moved.Fields[i] = f
	}
	return &moved
}
