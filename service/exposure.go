package service

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/exposure"
	"lumbricary.example/service/journal"
)

// traceMonths is how far a trace goes back unless it is said, as plant-health
// protocols ask.
const traceMonths = 6

// Exposure is a page of a trace of what may have carried something along: forward
// from a place, where it may be; back, where it may come from.
type Exposure struct {
	Club     Club
	Back     bool
	Since    time.Time      // no further back than that
	Start    ExposedPlace   // at the head of the whole trace, and of its first page
	Places   []ExposedPlace // in the order in which they were reached; back: the latest first
	Traced   int            // places in the whole trace, the start among them
	Exposed  int            // of them, those that no clearing ended; of a trace back 0
	Cautions []TraceCaution
}

// ExposedPlace is a place of a trace, and what the club calls it.
type ExposedPlace struct {
	exposure.Reached
	Name       string
	ByName     string   // of the place that it was reached from
	Keeper     MemberID // who keeps it now; empty: nobody in the club, or the club itself
	KeeperName string
}

// key tells the places of a trace apart: a record reaches a place once.
func key(r exposure.Reached) string { return r.Record + "/" + string(r.Kind) + "/" + r.Ref }

// At is where the place stands in its trace.
func (p ExposedPlace) At() Place { return Place{At: p.Reached.At, ID: key(p.Reached)} }

// traced is where a trace begins, and when: forward not before after, back from
// until; zero: whenever, and from now.
type traced struct {
	place        exposure.Place
	after, until time.Time
}

// BinExposure returns a page of the trace from a bin: since q.From, or six months
// ago; back if q.Newest. Of q it heeds After and Limit, which must be positive,
// besides. Errors: ErrClubNotFound, ErrForbidden, ErrBinNotFound.
func (s Reports) BinExposure(ctx context.Context, a Actor, id BinID, q Query) (Exposure, error) {
	return s.exposure(ctx, a, q, func(w *work) (traced, error) {
		_, err := w.Bins.Get(id)
		return traced{place: binPlace(id)}, err
	})
}

// BatchExposure is BinExposure from a batch. Errors: ErrClubNotFound,
// ErrForbidden, ErrBatchNotFound.
func (s Reports) BatchExposure(ctx context.Context, a Actor, id BatchID, q Query) (Exposure, error) {
	return s.exposure(ctx, a, q, func(w *work) (traced, error) {
		_, err := w.Batches.Get(id)
		return traced{place: batchPlace(id)}, err
	})
}

// ReceiptExposure is BinExposure from feedstock or bedding that came in. Errors:
// ErrClubNotFound, ErrForbidden, ErrReceiptNotFound.
func (s Reports) ReceiptExposure(ctx context.Context, a Actor, id ReceiptID, q Query) (Exposure, error) {
	return s.exposure(ctx, a, q, func(w *work) (traced, error) {
		_, err := w.Receipts.Get(id)
		return traced{place: receiptPlace(id)}, err
	})
}

// LotExposure is BinExposure from the bin of a lot: forward from when the lot
// opened, back from when it ended. Errors: ErrClubNotFound, ErrForbidden,
// ErrLotNotFound.
func (s Reports) LotExposure(ctx context.Context, a Actor, id LotID, q Query) (Exposure, error) {
	return s.exposure(ctx, a, q, func(w *work) (traced, error) {
		l, err := w.Lots.Get(id)
		if err == nil && l.Place.Bin == "" {
			err = ErrLotNotFound // it is under way
		}
		t := traced{place: binPlace(BinID(l.Place.Bin)), after: l.OpenedAt}
		if !l.EndedAt.IsZero() {
			t.until = slices.MaxFunc([]time.Time{l.EndedAt.Add(-time.Microsecond), l.OpenedAt}, time.Time.Compare) // what ended it came later
		}
		return t, err
	})
}

func (s Reports) exposure(ctx context.Context, a Actor, q Query, start func(*work) (traced, error)) (Exposure, error) {
	return read(ctx, s.Desk, a, func(w *work) (Exposure, error) {
		t, err := start(w)
		if err != nil {
			return Exposure{}, err
		}
		x := exposing{
			work: w, movements: map[MovementID]Movement{}, legs: map[LegID]Movement{}, batches: map[BatchID]string{},
			receipts: map[ReceiptID]Receipt{}, toTheDay: map[string]bool{}, unnamed: map[BinID][]time.Time{},
		}
		return x.trace(t, q)
	})
}

// exposing is a trace in the making.
type exposing struct {
	*work
	names     Names
	events    []exposure.Event
	movements map[MovementID]Movement
	legs      map[LegID]Movement    // a movement of each that is or was under way
	batches   map[BatchID]string    // lot numbers
	receipts  map[ReceiptID]Receipt // of the trace
	toTheDay  map[string]bool       // records that are told to the day
	unnamed   map[BinID][]time.Time // feedings that name no receipt
}

// trace walks from where it begins, and tells the page after the place of q.
func (x *exposing) trace(t traced, q Query) (Exposure, error) {
	out := Exposure{Club: x.Club, Back: q.Newest, Since: x.since(t, q)}
	if err := x.gather(out.Since); err != nil {
		return out, err
	}
	all := exposure.Forward(t.place, out.Since, x.events)
	if q.Newest {
		all = exposure.Back(t.place, cmp.Or(t.until, x.now.Add(futureGrace)), out.Since, x.events)
		all[0].At = cmp.Or(t.until, x.now)
	}
	all = exposure.Arrived(all, x.events)
	if err := x.lookUp(all); err != nil {
		return out, err
	}
	out.Traced, out.Start, out.Cautions = len(all), x.tell(all[0]), x.cautions(all, q.Newest)
	for _, r := range all {
		if !q.Newest && r.Cleared.IsZero() {
			out.Exposed++
		}
	}
	for _, r := range after(all, q) {
		out.Places = append(out.Places, x.tell(r))
	}
	return out, nil
}

// since is how far back a trace goes: without q.From, to the beginning of the day
// six months ago.
func (x *exposing) since(t traced, q Query) time.Time {
	since := q.From
	if since.IsZero() {
		last := x.now
		if q.Newest {
			last = cmp.Or(t.until, x.now)
		}
		y, m, d := last.In(x.zone).AddDate(0, -traceMonths, 0).Date()
		since = time.Date(y, m, d, 0, 0, 0, 0, x.zone).UTC()
	}
	if !q.Newest && since.Before(t.after) {
		since = t.after
	}
	return since
}

// after is the page of a trace after the place of q. A place that isn't there any
// more, as its record was taken back, is passed by its moment.
func after(all []exposure.Reached, q Query) []exposure.Reached {
	if q.After.ID != "" {
		i := slices.IndexFunc(all, func(r exposure.Reached) bool { return key(r) == q.After.ID })
		if i < 0 {
			i = slices.IndexFunc(all[1:], func(r exposure.Reached) bool {
				return q.Newest && r.At.Before(q.After.At) || !q.Newest && r.At.After(q.After.At)
			})
			if i < 0 {
				return nil
			}
		}
		all = all[i+1:]
	}
	return all[:min(len(all), q.Limit)]
}

// lookUp reads what the places of a trace are called.
func (x *exposing) lookUp(all []exposure.Reached) (err error) {
	var batches []BatchID
	var receipts []ReceiptID
	for _, r := range all {
		switch r.Kind {
		case exposure.Batch:
			batches = append(batches, BatchID(r.Ref))
		case exposure.Receipt:
			receipts = append(receipts, ReceiptID(r.Ref))
		case exposure.Bin, exposure.Way, exposure.Outside:
		}
	}
	if x.names, err = x.work.names(); err != nil {
		return err
	}
	stored, err := x.Batches.Some(batches)
	if err != nil {
		return err
	}
	for _, b := range stored {
		x.batches[b.ID] = b.LotNumber
	}
	came, err := x.Receipts.Some(receipts)
	for _, r := range came {
		x.receipts[r.ID] = r
	}
	return err
}

// tell says what the club calls a place, and who keeps it now.
func (x *exposing) tell(r exposure.Reached) ExposedPlace {
	out := ExposedPlace{Reached: r, Name: x.nameOfPlace(r.Place), Keeper: x.keeperOf(r.Place)}
	if r.By.Kind != "" {
		out.ByName = x.nameOfPlace(r.By)
	}
	out.KeeperName = x.names.Members[out.Keeper]
	return out
}

func (x *exposing) nameOfPlace(p exposure.Place) string {
	switch p.Kind {
	case exposure.Bin:
		return x.names.Bins[BinID(p.Ref)].Name
	case exposure.Batch:
		return x.batches[BatchID(p.Ref)]
	case exposure.Receipt:
		return x.nameOfReceipt(x.receipts[ReceiptID(p.Ref)])
	case exposure.Way:
		return x.nameOfWay(x.legs[LegID(p.Ref)])
	case exposure.Outside:
	}
	return x.nameOfOutside(x.movements[MovementID(p.Ref)])
}

func (x *exposing) nameOfReceipt(r Receipt) string {
	name := x.names.Materials[r.Material].Name
	switch {
	case r.From != "":
		name += " from " + r.From
	case r.FromMember != "":
		name += " from " + x.names.Members[r.FromMember]
	}
	return name
}

// nameOfWay says whom a leg is on the way to.
func (x *exposing) nameOfWay(m Movement) string {
	if m.ToMember == "" {
		return "on the way to " + m.Party
	}
	return "on the way to " + x.names.Members[m.ToMember]
}

// nameOfOutside says who it was on the other side of a movement.
func (x *exposing) nameOfOutside(m Movement) string {
	var origins []string
	for _, l := range m.Lines {
		if o, known := x.names.Origins[l.Origin]; known && !slices.Contains(origins, o.Name) {
			origins = append(origins, o.Name)
		}
	}
	switch {
	case len(origins) > 0:
		return strings.Join(origins, ", ")
	case m.Party != "":
		return m.Party
	case m.Kind == journal.Arriving:
		return x.names.Members[m.ToMember]
	case m.Kind == journal.Use:
		return "put to use"
	}
	return "an unknown origin"
}

// keeperOf is who keeps what stands in a place now. Castings in store and what
// came in are the club's.
func (x *exposing) keeperOf(p exposure.Place) MemberID {
	switch p.Kind {
	case exposure.Bin:
		return x.names.Bins[BinID(p.Ref)].Keeper
	case exposure.Way:
		return x.legs[LegID(p.Ref)].FromMember
	case exposure.Outside:
		if m := x.movements[MovementID(p.Ref)]; m.Kind == journal.Arriving {
			return m.ToMember
		}
	case exposure.Batch, exposure.Receipt:
	}
	return ""
}
