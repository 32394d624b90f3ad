package yields_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

func TestWindowsRunFromFullHarvestToFullHarvest(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1),
		[]yields.Feed{feed("f1", 1, 10*kg), feed("f2", 5, 20*kg), feed("f3", 10, 40*kg), feed("f4", 25, 80*kg)},
		[]yields.Harvest{full("h1", 10, 3*kg), full("h2", 20, 5*kg)})
	if len(ws) != 2 {
		t.Fatalf("%d windows, want 2: what is open at the end is none", len(ws))
	}
	for i, want := range []struct {
		from, to       int
		closing        string
		feed, castings unit.Mass
		records        []string
	}{
		{1, 10, "h1", 30 * kg, 3 * kg, []string{"f1", "f2", "h1"}},
		{10, 20, "h2", 40 * kg, 5 * kg, []string{"f3", "h2"}},
	} {
		w := ws[i]
		if !w.From.Equal(day(want.from)) || !w.To.Equal(day(want.to)) || w.Closing != want.closing {
			t.Errorf("window %d: %v to %v by %s", i, w.From, w.To, w.Closing)
		}
		if w.Sums.FeedWet != want.feed || w.Sums.CastingsWet != want.castings {
			t.Errorf("window %d: sums %+v", i, w.Sums)
		}
		if !slices.Equal(w.Records, want.records) {
			t.Errorf("window %d: records %v, want %v", i, w.Records, want.records)
		}
	}
}

func TestPartialHarvestsInsideAWindowCount(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1), []yields.Feed{feed("f", 2, 10*kg)},
		[]yields.Harvest{partial("p1", 5, kg), full("h1", 10, 3*kg), partial("p2", 10, 2*kg), partial("p3", 11, 9*kg)})
	if len(ws) != 1 || ws[0].Sums.CastingsWet != 6*kg {
		t.Errorf("%+v, want p1, h1 and p2 in one window", ws)
	}
}

func TestFullHarvestsOfOneMomentCloseOneWindow(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1), []yields.Feed{feed("f", 2, 10*kg)},
		[]yields.Harvest{full("h2", 10, 2*kg), full("h1", 10, 3*kg)})
	if len(ws) != 1 || ws[0].Closing != "h2" || ws[0].Sums.CastingsWet != 5*kg {
		t.Errorf("%+v, want one window closed by h2 with both harvests", ws)
	}
}

func TestWhatLiesBeforeTheStartIsInNoWindow(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(5),
		[]yields.Feed{feed("old", 4, 10*kg), feed("f", 6, 20*kg)},
		[]yields.Harvest{full("older", 3, kg), full("at the start", 5, kg), full("h", 10, 3*kg)})
	if len(ws) != 1 || !slices.Equal(ws[0].Records, []string{"f", "h"}) || !ws[0].From.Equal(day(5)) {
		t.Errorf("%+v, want f and h only", ws)
	}
}

func TestTheMaterialsOfAFeedingAreOneRecord(t *testing.T) {
	t.Parallel()
	ws := yields.Windows(day(1),
		[]yields.Feed{feed("f", 2, 10*kg), bedding("f", 2, kg), feed("f", 2, kg)}, []yields.Harvest{full("h", 10, 3*kg)})
	if !slices.Equal(ws[0].Records, []string{"f", "h"}) {
		t.Errorf("records %v", ws[0].Records)
	}
	if s := ws[0].Sums; s.FeedWet != 11*kg || s.BeddingWet != kg {
		t.Errorf("sums %+v", s)
	}
}

func TestMaterialPutBackIsNoCastings(t *testing.T) {
	t.Parallel()
	h := full("h", 10, 10*kg)
	h.PutBack = 4 * kg
	w := yields.Windows(day(1), nil, []yields.Harvest{h})[0]
	if w.Sums.CastingsWet != 6*kg || w.Sums.CastingsDry.Mass != 2400*unit.Gram {
		t.Errorf("%+v, want 6 kg wet, 2.4 kg dry", w.Sums)
	}
	h.PutBack = 11 * kg
	if got := h.Castings(); got != 0 {
		t.Errorf("more put back than taken out: %v", got)
	}
}

func TestWindowsLoseAndDoubleNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		feeds := rapid.SliceOf(rapid.Custom(func(t *rapid.T) yields.Feed {
			f := feed(rapid.StringN(1, 2, -1).Draw(t, "id"), rapid.IntRange(1, 20).Draw(t, "day"), unit.Mass(rapid.Int64Range(0, 1e9).Draw(t, "wet")))
			f.Bedding = rapid.Bool().Draw(t, "bedding")
			return f
		})).Draw(t, "feeds")
		harvests := rapid.SliceOf(rapid.Custom(func(t *rapid.T) yields.Harvest {
			h := full(rapid.StringN(1, 2, -1).Draw(t, "id"), rapid.IntRange(2, 20).Draw(t, "day"), unit.Mass(rapid.Int64Range(0, 1e9).Draw(t, "wet")))
			h.Full = rapid.Bool().Draw(t, "full")
			return h
		})).Draw(t, "harvests")

		ws := yields.Windows(day(1), feeds, harvests)
		var last time.Time
		for i, w := range ws {
			if !w.From.Before(w.To) || i > 0 && !w.From.Equal(last) {
				t.Fatalf("window %d: %v to %v after %v", i, w.From, w.To, last)
			}
			last = w.To
		}
		var got, want yields.Sums
		for _, w := range ws {
			got = got.Plus(w.Sums)
		}
		for _, f := range feeds {
			switch {
			case !f.At.Before(last):
			case f.Bedding:
				want.BeddingWet += f.Wet
			default:
				want.FeedWet += f.Wet
			}
		}
		for _, h := range harvests {
			if !h.At.After(last) {
				want.CastingsWet += h.Wet
			}
		}
		if got.FeedWet != want.FeedWet || got.BeddingWet != want.BeddingWet || got.CastingsWet != want.CastingsWet {
			t.Fatalf("windows hold %+v, records %+v", got, want)
		}
	})
}

func TestTheOrderOfRecordsChangesNothing(t *testing.T) {
	t.Parallel()
	feeds := []yields.Feed{feed("f3", 12, 3*kg), feed("f1", 2, kg), feed("f2", 2, 2*kg)}
	harvests := []yields.Harvest{full("h2", 20, 2*kg), partial("p", 2, kg), full("h1", 10, kg)}
	before := [2]any{slices.Clone(feeds), slices.Clone(harvests)}
	want := yields.Windows(day(1), feeds, harvests)
	if !reflect.DeepEqual(before, [2]any{feeds, harvests}) {
		t.Error("the arguments were changed")
	}
	slices.Reverse(feeds)
	slices.Reverse(harvests)
	if got := yields.Windows(day(1), feeds, harvests); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v\nin the other order %+v", got, want)
	}
}
