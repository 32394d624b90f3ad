package service

import (
	"context"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/season"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
	"lumbricary.example/service/yields"
)

// BinRate is how fast a bin processes its feed, and how full it is.
type BinRate struct {
	Bin Bin
	rates.Result
	Stock   unit.Mass   // in the book now, all species together
	Density unit.Figure // worms in the book now per surface, kg/m2
}

// Workings says how the figures came about.
func (b BinRate) Workings() []working.Figure {
	stock := working.Of("stock", b.Stock.Kilograms(), "kg", working.Record{Kind: "bin", ID: string(b.Bin.ID)})
	return append(b.Result.Workings(), rates.Workings(stock, b.Bin.Surface, b.Density))
}

// Workings says how the yields came about.
func (b BinYield) Workings() []working.Figure { return yields.Workings(b.Windows, "/windows") }

// BinYield is how much castings a bin gives per feed.
type BinYield struct {
	Bin     Bin
	Windows []yields.Window // between two full harvests, oldest first
	All     yields.Yields   // a ratio of sums over the windows
}

// rateWindow is the window that a rate looks at when none is given.
const rateWindow = 90 * 24 * time.Hour

// Rate returns a bin's processing rate between two moments, given as times or
// dates; an empty to means now, an empty from 90 days before. Errors:
// ErrClubNotFound, ErrBinNotFound, ErrInvalid.
func (s Reports) Rate(ctx context.Context, a Actor, bin BinID, from, to string) (BinRate, error) {
	return read(ctx, s.Desk, a, func(w *work) (BinRate, error) {
		var faults Faults
		end, start := Moment{Text: to}, Moment{Text: from}
		w.settle(&faults, "/to", &end)
		if w.settle(&faults, "/from", &start); from == "" {
			start.Time = end.Time.Add(-rateWindow)
		}
		if len(faults) == 0 && !start.Time.Before(end.Time) {
			faults.Add("/from", "range", "from lies before to")
		}
		if err := faults.Err(); err != nil {
			return BinRate{}, err
		}
		b, f, err := w.binFacts(bin, start.Time, w.now)
		if err != nil {
			return BinRate{}, err
		}
		in := rates.Input{
			From: start.Time, To: end.Time, Leftovers: f.Leftovers, Anchors: f.Anchors, Jumps: f.Jumps,
			Surface: b.Surface, MeanWormMg: f.MeanWormMg,
		}
		for _, x := range f.Feeds {
			in.Feeds = append(in.Feeds, x.Feed)
		}
		var stock unit.Mass
		for _, x := range f.Stock {
			stock += x.End
		}
		return BinRate{b, rates.Of(in), stock, rates.Density(stock, b.Surface)}, nil
	})
}

// Yield returns a bin's yield over each window between two full harvests and
// over all of them. Errors: ErrClubNotFound, ErrBinNotFound.
func (s Reports) Yield(ctx context.Context, a Actor, bin BinID) (BinYield, error) {
	return read(ctx, s.Desk, a, func(w *work) (BinYield, error) {
		b, f, err := w.binFacts(bin, w.now, w.now)
		if err != nil {
			return BinYield{}, err
		}
		var feeds []yields.Feed
		for _, x := range f.Feeds {
			feeds = append(feeds, yields.Feed(x.Feed))
		}
		var harvests []yields.Harvest
		for _, h := range f.Harvests {
			harvests = append(harvests, h.Harvest)
		}
		windows := yields.Windows(f.Started, feeds, harvests)
		return BinYield{b, windows, yields.Ratio(windows)}, nil
	})
}

// binFacts reads the history of one bin up to the moment to. Errors:
// ErrBinNotFound.
func (w *work) binFacts(id BinID, from, to time.Time) (Bin, *season.BinFacts, error) {
	b, err := w.Bins.Get(id)
	if err != nil {
		return Bin{}, nil, err
	}
	f, err := w.factsOf(id, from, to.Add(time.Microsecond))
	if err != nil {
		return Bin{}, nil, err
	}
	return b, f.bins[id], nil
}
