package service

import (
	"errors"
	"slices"
	"strconv"
	"strings"
)

// reworks are the rows by which batches become others.
func (im *importing) reworks() datedRows[Rework] {
	places := func(parts []ReworkPart) (out []string) {
		for _, p := range parts {
			out = append(out, string(p.Batch))
		}
		return out
	}
	return datedRows[Rework]{
		name: "reworks", table: reworkTable, space: journalSpace,
		id: func(r Rework) string { return string(r.ID) },
		at: func(r *Rework) *Moment { return &r.At },
		link: func(r *Rework) {
			for i := range clone(&r.From) {
				link(im, im.batches, &r.From[i].Batch)
			}
			for i := range clone(&r.Into) {
				link(im, im.batches, &r.Into[i].Batch)
			}
		},
		from: func(r Rework) []string { return places(r.From) },
		into: func(r Rework) []string { return places(r.Into) },
		add: func(r Rework) error {
			_, err := im.addRework(r)
			return inRows(err, len(r.From))
		},
	}
}

// inRows turns pointers into what goes in and comes out into ones into the rows
// of a rework, of which the first n go in.
func inRows(err error, n int) error {
	e, ok := errors.AsType[*Error](err)
	if !ok {
		return err
	}
	out := *e
	out.Fields = slices.Clone(e.Fields)
	for i := range out.Fields {
		path := strings.Split(out.Fields[i].Pointer, "/")
		switch {
		case len(path) < 2 || path[1] != "from" && path[1] != "into":
			continue
		case len(path) > 2 && path[1] == "into":
			path[2] = strconv.Itoa(number(path[2]) + n)
		}
		path[1] = "parts"
		out.Fields[i].Pointer = strings.Join(path, "/")
	}
	return &out
}

// addReceipts records what came in, before anything is fed from it.
func (im *importing) addReceipts(b Book) error {
	ids := idsOf(b.Receipts, func(r Receipt) ReceiptID { return r.ID })
	if err := takenIDs(im, receiptSpace, im.Receipts.Some, ids, func(r Receipt) string { return string(r.ID) }); err != nil {
		return err
	}
	return addAfter(im, datedRows[Receipt]{
		name: "receipts", table: receiptTable, space: receiptSpace,
		id: func(r Receipt) string { return string(r.ID) },
		at: func(r *Receipt) *Moment { return &r.At },
		link: func(r *Receipt) {
			link(im, im.stuffs, &r.Material)
			link(im, im.vessels, &r.Measure)
			link(im, im.people, &r.FromMember)
		},
		from: nowhere[Receipt], into: nowhere[Receipt],
		add: func(r Receipt) error {
			_, err := im.addReceipt(r)
			return err
		},
	}, b.Receipts)
}

// addTurnouts records how many took part.
func (im *importing) addTurnouts(b Book) error {
	ids := idsOf(b.Turnouts, func(t Turnout) TurnoutID { return t.ID })
	if err := takenIDs(im, turnoutSpace, im.Turnouts.Some, ids, func(t Turnout) string { return string(t.ID) }); err != nil {
		return err
	}
	return addAfter(im, datedRows[Turnout]{
		name: "turnouts", table: turnoutTable, space: turnoutSpace,
		id:   func(t Turnout) string { return string(t.ID) },
		at:   func(t *Turnout) *Moment { return &t.At },
		link: func(*Turnout) {},
		from: nowhere[Turnout], into: nowhere[Turnout],
		add: func(t Turnout) error {
			_, err := im.addTurnout(t)
			return err
		},
	}, b.Turnouts)
}

// batchSteps are the rows of what was done to batches.
func (im *importing) batchSteps() datedRows[BatchStep] {
	return datedRows[BatchStep]{
		name: "batch_steps", table: stepTable, space: stepSpace,
		id:   func(s BatchStep) string { return string(s.ID) },
		at:   func(s *BatchStep) *Moment { return &s.At },
		link: func(s *BatchStep) { link(im, im.batches, &s.Batch) },
		from: nowhere[BatchStep], into: nowhere[BatchStep],
		add: func(s BatchStep) error {
			_, err := im.addBatchStep(s)
			return err
		},
	}
}
