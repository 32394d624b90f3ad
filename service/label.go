package service

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"lumbricary.example/service/balance"
)

// BinLabel is what is said of a bin on its label.
type BinLabel struct {
	Bin  Bin
	Lots []Lot // that stand in it, by species
}

// BinLabels is the labels of bins, by the bins' names.
type BinLabels struct {
	Club   Club
	Labels []BinLabel
	Names  Names
}

// BinLabels returns the labels of bins, or of all bins in use where none is
// named. Errors: ErrClubNotFound, ErrForbidden, ErrBinNotFound.
func (s Reports) BinLabels(ctx context.Context, a Actor, ids []BinID) (BinLabels, error) {
	return read(ctx, s.Desk, a, func(w *work) (out BinLabels, err error) {
		out.Club = w.Club
		if out.Names, err = w.names(); err != nil {
			return out, err
		}
		lots, err := w.lotsIn()
		if err != nil {
			return out, err
		}
		if len(ids) == 0 {
			ids = inUse(out.Names.Bins)
		}
		for _, id := range ids {
			b, ok := out.Names.Bins[id]
			if !ok {
				return out, ErrBinNotFound
			}
			out.Labels = append(out.Labels, BinLabel{b, lots[id]})
		}
		return out, nil
	})
}

// inUse lists the bins that aren't retired, by their names.
func inUse(bins map[BinID]Bin) []BinID {
	var out []BinID
	for id, b := range bins {
		if b.Retired.Time.IsZero() {
			out = append(out, id)
		}
	}
	slices.SortFunc(out, func(a, b BinID) int { return cmp.Or(cmp.Compare(bins[a].Name, bins[b].Name), cmp.Compare(a, b)) })
	return out
}

// lotsIn returns the lots that stand in each bin, by species.
func (w *work) lotsIn() (map[BinID][]Lot, error) {
	lots, err := w.Lots.Standing("")
	out := map[BinID][]Lot{}
	for _, l := range lots {
		if !l.Current() {
			continue
		}
		shown, err := w.showLot(l)
		if err != nil {
			return nil, err
		}
		out[BinID(l.Place.Bin)] = append(out[BinID(l.Place.Bin)], shown)
	}
	for _, of := range out {
		slices.SortFunc(of, func(a, b Lot) int { return cmp.Compare(a.Place.Species, b.Place.Species) })
	}
	return out, err
}

// BatchLabel is what is said of a batch on its label.
type BatchLabel struct {
	Club        Club
	Batch       Batch
	First, Last time.Time // harvests that it is made of; zero: none
	Contents    balance.Contents
}

// BatchLabel returns the label of a batch. Errors: ErrClubNotFound, ErrForbidden,
// ErrBatchNotFound.
func (s Reports) BatchLabel(ctx context.Context, a Actor, id BatchID) (BatchLabel, error) {
	return read(ctx, s.Desk, a, func(w *work) (out BatchLabel, err error) {
		c, err := w.composition(id)
		if err != nil {
			return out, err
		}
		out.Club, out.Batch = w.Club, c.Batch
		for h := range maps.Values(c.Harvests) {
			if out.First.IsZero() || h.At.Time.Before(out.First) {
				out.First = h.At.Time
			}
			if h.At.Time.After(out.Last) {
				out.Last = h.At.Time
			}
		}
		out.Contents, err = w.contents(id, w.now.Add(futureGrace))
		return out, err
	})
}

// Labelled is a thing that a label is on.
type Labelled struct {
	Kind LabelledKind
	ID   string
	Name string // of a lot: that of its bin
}

// LabelledKind says what sort of thing a label is on.
type LabelledKind string

// The kinds of things with labels.
const (
	LabelledBin   LabelledKind = "bin"
	LabelledBatch LabelledKind = "batch"
	LabelledLot   LabelledKind = "lot"
)

// Labelled returns what has an id that was read off a label or a sheet. Errors:
// ErrClubNotFound, ErrForbidden, ErrLabelNotFound.
func (s Reports) Labelled(ctx context.Context, a Actor, id string) (Labelled, error) {
	return read(ctx, s.Desk, a, func(w *work) (Labelled, error) {
		if b, err := w.Bins.Get(BinID(id)); KindOf(err) != NotFound {
			return Labelled{LabelledBin, id, b.Name}, err
		}
		if b, err := w.Batches.Get(BatchID(id)); KindOf(err) != NotFound {
			return Labelled{LabelledBatch, id, b.LotNumber}, err
		}
		l, err := w.Lots.Get(LotID(id))
		if KindOf(err) == NotFound {
			return Labelled{}, ErrLabelNotFound
		}
		if err != nil {
			return Labelled{}, err
		}
		if l.Place.Bin == "" {
			return Labelled{}, ErrLabelNotFound // under way
		}
		b, err := w.Bins.Get(BinID(l.Place.Bin))
		return Labelled{LabelledLot, id, b.Name}, err
	})
}
