package service

import (
	"cmp"
	"slices"
	"time"

	"lumbricary.example/service/unit"
)

func (x *exporting) reworks() error {
	all, err := x.work.Reworks.List(Query{})
	for _, r := range all {
		x.all = append(x.all, leaf{r.At.Time, reworkTable, r.Recorded.Seq, string(r.ID), "", func(at time.Time) {
			r.At.Text, r.From, r.Into = x.text(r.At, at), x.parts(r.From), x.parts(r.Into)
			x.book.Reworks = append(x.book.Reworks, Row[Rework]{By: x.by(r.Recorded), Value: r})
		}})
	}
	return err
}

// parts names the batches.
func (x *exporting) parts(parts []ReworkPart) []ReworkPart {
	out := slices.Clone(parts)
	for i := range out {
		out[i].Batch = x.batch(out[i].Batch)
	}
	return out
}

// receipts go out at their own moments: no book depends on their order.
func (x *exporting) receipts() error {
	all, err := x.work.Receipts.List(Query{})
	slices.SortStableFunc(all, func(a, b Receipt) int {
		return cmp.Or(a.At.Time.Compare(b.At.Time), cmp.Compare(a.Recorded.Seq, b.Recorded.Seq))
	})
	for _, r := range all {
		m := x.Names.Materials[r.Material]
		r = r.asBooked(m, x.Names.Measures[r.Measure])
		r.At.Text, r.Material, r.FromMember = x.text(r.At, r.At.Time), MaterialID(m.Name), x.member(r.FromMember)
		r.Measure = MeasureID(x.Names.Measures[r.Measure].Name)
		x.received[r.ID] = true
		x.book.Receipts = append(x.book.Receipts, Row[Receipt]{By: x.by(r.Recorded), Value: r})
	}
	return err
}

// turnouts go out at their own moments.
func (x *exporting) turnouts() error {
	all, err := x.work.Turnouts.List(Query{})
	for _, t := range all {
		t.At.Text = x.text(t.At, t.At.Time)
		x.book.Turnouts = append(x.book.Turnouts, Row[Turnout]{By: x.by(t.Recorded), Value: t})
	}
	return err
}

// asBooked returns a receipt as what it was booked as, where its measure or the
// material's density has changed since.
func (r Receipt) asBooked(m Material, v Measure) Receipt {
	if r.Tare.Unit == "" {
		it := r.item()
		it.Wet, it.Weighed = r.Net, r.onScales()
		if as := it.asBooked(m, v); as.Typed != it.Typed || as.Measure != it.Measure {
			r.Typed, r.Gross, r.Measure, r.Count = as.Typed, unit.Measure{}, "", nil
		}
	}
	r.RejectedTyped = m.partAsBooked(r.RejectedTyped, r.Rejected)
	r.ResidueTyped = m.partAsBooked(r.ResidueTyped, r.Residue)
	return r
}

// partAsBooked is asBooked for a part of a receipt: as its mass.
func (m Material) partAsBooked(typed unit.Measure, booked unit.Mass) unit.Measure {
	if wet, _, err := m.asTyped(typed); typed.Unit == "" || err == nil && wet == booked {
		return typed
	}
	return unit.Measure{Value: booked.Grams(), Unit: "g"}
}

func (x *exporting) batchSteps() error {
	all, err := x.work.BatchSteps.List(Query{})
	for _, s := range all {
		x.all = append(x.all, leaf{s.At.Time, stepTable, s.Recorded.Seq, string(s.ID), "", func(at time.Time) {
			s.At.Text, s.Batch = x.text(s.At, at), x.batch(s.Batch)
			x.book.BatchSteps = append(x.book.BatchSteps, Row[BatchStep]{By: x.by(s.Recorded), Value: s})
		}})
	}
	return err
}
