package rates_test

import (
	"math"
	"slices"
	"testing"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
)

// wormDays returns the worm-days of ten days.
func wormDays(anchors []rates.Anchor, jumps ...rates.Jump) unit.Figure {
	in := week()
	in.From, in.To = day(10), day(20)
	in.Leftovers = []rates.Leftover{all("a", 10, 50), all("b", 20, 10)}
	in.Anchors, in.Jumps = anchors, jumps
	return rates.Of(in).WormDays
}

func jump(n int, m unit.Mass) rates.Jump {
	return rates.Jump{ID: "jump", At: day(n), Mass: m, CV: 0.1}
}

func TestWormDaysFollowTheAnchors(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		anchors []rates.Anchor
		jumps   []rates.Jump
		want    float64
	}{
		{"constant after the last anchor", []rates.Anchor{census(3, 2*kg)}, nil, 20},
		{"linear between anchors", []rates.Anchor{census(10, 1*kg), census(20, 3*kg)}, nil, 20},
		{"anchors outside the window", []rates.Anchor{census(5, 1*kg), census(25, 3*kg)}, nil, 20},
		{"a bend at an anchor", []rates.Anchor{census(10, 1*kg), census(15, 3*kg), census(20, 1*kg)}, nil, 20},
		{"constant from the middle", []rates.Anchor{census(10, 1*kg), census(15, 3*kg)}, nil, 25},
		{"an arrival after the last anchor", []rates.Anchor{census(5, 1*kg)}, []rates.Jump{jump(15, 2*kg)}, 20},
		{"a departure before the window", []rates.Anchor{census(5, 3*kg)}, []rates.Jump{jump(8, -1*kg)}, 20},
		{"a jump that explains all of the change", []rates.Anchor{census(10, 1*kg), census(20, 3*kg)}, []rates.Jump{jump(18, 2*kg)}, 14},
		// from 1 kg down to 0.6 by the line, up to 2.6, down to 2 kg
		{"a jump that explains too much of it", []rates.Anchor{census(10, 1*kg), census(20, 2*kg)}, []rates.Jump{jump(14, 2*kg)}, 17},
		{"a jump before the first anchor", []rates.Anchor{census(10, 1*kg)}, []rates.Jump{jump(9, 2*kg)}, 10},
		{"a jump at an anchor follows it", []rates.Anchor{census(10, 1*kg)}, []rates.Jump{jump(10, 2*kg)}, 30},
		{"a jump at the next anchor follows that", []rates.Anchor{census(10, 1*kg), census(20, 1*kg)}, []rates.Jump{jump(20, 2*kg)}, 10},
	} {
		near(t, c.name, wormDays(c.anchors, c.jumps...), c.want, 1e-9)
	}
}

func TestOfTwoAnchorsAtOnceTheSurerCounts(t *testing.T) {
	t.Parallel()
	counted, guessed := census(10, 2*kg), census(10, 4*kg)
	counted.CV, guessed.CV = 0.1, 0.5
	near(t, "worm-days", wormDays([]rates.Anchor{guessed, counted}), 20, 1e-9)
}

func TestDeparturesOfMoreThanThereWasCountAsAnEmptyBin(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		anchors []rates.Anchor
		jumps   []rates.Jump
		want    float64
	}{
		{"emptied for good", []rates.Anchor{census(5, 1*kg)}, []rates.Jump{jump(15, -2*kg)}, 5},
		// 1 kg falls by 0.6 kg a day to −2 kg, jumps to 3 kg and falls to 0
		{"falling through", []rates.Anchor{census(10, 1*kg), census(20, 0)}, []rates.Jump{jump(15, 5*kg)}, 0.5/0.6 + 0.5*3*5},
		// −3 kg after the departure, rising by 0.5 kg a day to 2 kg
		{"rising through", []rates.Anchor{census(10, 2*kg), census(20, 2*kg)}, []rates.Jump{jump(10, -5*kg)}, 0.5 * 2 * 4},
	} {
		got := wormDays(c.anchors, c.jumps...)
		near(t, c.name, got, c.want, 1e-9)
		flags(t, c.name, got, rates.FlagBelowZero)
	}
	exact := wormDays([]rates.Anchor{census(5, 300*unit.Gram)}, jump(6, -100*unit.Gram), jump(7, -200*unit.Gram))
	near(t, "emptied exactly", exact, 0, 0)
	flags(t, "emptied exactly", exact)
}

func TestWithoutAnAnchorAtTheFirstEndThereIsNoStock(t *testing.T) {
	t.Parallel()
	for _, anchors := range [][]rates.Anchor{nil, {census(11, kg)}, {stocking(11, kg)}, {census(21, kg)}} {
		none(t, "worm-days", wormDays(anchors), "no-stock-estimate")
	}
	in := week()
	in.Anchors = []rates.Anchor{census(3, kg)}
	none(t, "worm-days of a new bin with a late census", rates.Of(in).WormDays, "no-stock-estimate")
	none(t, "its rate", rates.Of(in).Rate, "no-stock-estimate")
	in.Anchors = []rates.Anchor{stocking(9, kg)}
	none(t, "worm-days of a bin stocked after the window", rates.Of(in).WormDays, "no-stock-estimate")
}

func TestANewBinHoldsNoWormsBeforeItsFirstStocking(t *testing.T) {
	t.Parallel()
	in := week()
	in.Anchors = []rates.Anchor{stocking(3, kg)}
	r := rates.Of(in)
	near(t, "worm-days", r.WormDays, 5, 1e-12)
	if !r.From.Equal(day(1)) {
		t.Errorf("begins %v, want the first feeding", r.From)
	}
	in.Anchors = []rates.Anchor{stocking(1, kg)}
	in.Feeds = []rates.Feed{feed("f", 4, kg)}
	if r := rates.Of(in); !r.From.Equal(day(1)) || math.Abs(r.WormDays.Value-7) > 1e-12 {
		t.Errorf("%+v, want it to begin with the stocking", r)
	}
}

// With exact anchors only the drift is left. A random walk of 5 % per square
// root of a day from the window's start gives ∫ B dt a standard error of
// B·0.05·√(T³/3), of its own mean B·T: computed.
func TestUncertaintyGrowsAfterTheLastAnchor(t *testing.T) {
	t.Parallel()
	half := func(f unit.Figure) float64 { return math.Log(f.High / f.Value) }
	sure := func(n int, m unit.Mass) rates.Anchor {
		a := census(n, m)
		a.CV = 0
		return a
	}
	want := 1.959963984540054 * 0.05 * math.Sqrt(10.0/3)
	at := wormDays([]rates.Anchor{sure(10, kg)})
	if got := half(at); math.Abs(got-want) > 1e-12 {
		t.Errorf("half-width %v, want %v", got, want)
	}
	cut := wormDays([]rates.Anchor{sure(10, kg)}, jump(13, 0), jump(18, 0))
	if got := half(cut); math.Abs(got-want) > 1e-12 {
		t.Errorf("half-width in three pieces %v, want %v", got, want)
	}
	// From five days earlier the walk has variance 5·0.05² more all along.
	earlier := wormDays([]rates.Anchor{sure(5, kg)})
	if got, want := half(earlier), 1.959963984540054*0.05*math.Sqrt(5+10.0/3); math.Abs(got-want) > 1e-12 {
		t.Errorf("half-width five days later %v, want %v", got, want)
	}
	if between := wormDays([]rates.Anchor{sure(5, kg), sure(25, kg)}); half(between) != 0 {
		t.Errorf("between two anchors: %+v", between)
	}
}

// Two anchors at the ends, each counting half: SE = √(0.2² + 0.2²)·½·10 kg·d
// of 10 kg·d. Computed.
func TestTheErrorsOfAnchorsAreIndependent(t *testing.T) {
	t.Parallel()
	f := wormDays([]rates.Anchor{census(10, kg), census(20, kg)})
	if got, want := math.Log(f.High/f.Value), 1.959963984540054*0.2/math.Sqrt2; math.Abs(got-want) > 1e-12 {
		t.Errorf("half-width %v, want %v", got, want)
	}
}

func TestRecordsNameTheAnchorsThatBearOnTheWindow(t *testing.T) {
	t.Parallel()
	in := week()
	in.From, in.To = day(10), day(20)
	in.Leftovers = []rates.Leftover{all("a", 10, 50), all("b", 20, 10)}
	in.Anchors = []rates.Anchor{stocking(1, kg), census(9, kg), census(22, kg), census(28, kg)}
	in.Jumps = []rates.Jump{jump(5, kg)}
	if got, want := rates.Of(in).Records, []string{"f", "census 9", "a", "b", "census 22"}; !slices.Equal(got, want) {
		t.Errorf("records %v, want %v", got, want)
	}
}
