package rates_test

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/rates"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/yields"
)

const kg = unit.Kilogram

// day returns noon of the nth day.
func day(n int) time.Time { return time.Date(2025, 3, n, 12, 0, 0, 0, time.UTC) }

func feed(id string, n int, wet unit.Mass) rates.Feed {
	m := yields.Moisture{Known: true, Percent: 75, Basis: yields.Measured}
	return rates.Feed{ID: id, At: day(n), Wet: wet, Moisture: m}
}

func bedding(id string, n int, wet unit.Mass) rates.Feed {
	f := feed(id, n, wet)
	f.Bedding = true
	return f
}

func all(check string, n int, p unit.Percent) rates.Leftover {
	return rates.Leftover{Check: check, At: day(n), All: &p}
}

func named(check string, n int, shares map[string]unit.Percent) rates.Leftover {
	return rates.Leftover{Check: check, At: day(n), Of: shares}
}

func stocking(n int, m unit.Mass) rates.Anchor {
	return rates.Anchor{ID: "stocking", At: day(n), Mass: m, CV: 0.02, Kind: rates.Stocking}
}

func census(n int, m unit.Mass) rates.Anchor {
	return rates.Anchor{ID: fmt.Sprint("census ", n), At: day(n), Mass: m, CV: 0.2, Kind: rates.Census}
}

// week is a bin that a kilogram of worms and 5.25 kg of feed went into on the
// first day, all of it gone on the eighth.
func week() rates.Input {
	return rates.Input{
		From: day(1), To: day(31),
		Feeds:     []rates.Feed{feed("f", 1, 5250*unit.Gram)},
		Leftovers: []rates.Leftover{all("c", 8, 0)},
		Anchors:   []rates.Anchor{stocking(1, kg)},
		Surface:   0.5,
	}
}

func near(t *testing.T, what string, f unit.Figure, want, tolerance float64) {
	t.Helper()
	if !f.Known || math.Abs(f.Value-want) > tolerance {
		t.Errorf("%s = %+v, want %v", what, f, want)
	}
}

func none(t *testing.T, what string, f unit.Figure, reason string) {
	t.Helper()
	if f.Known || f.Reason != reason || f.Unit == "" {
		t.Errorf("%s = %+v, want none for %q, with its unit", what, f, reason)
	}
}

func flags(t *testing.T, what string, f unit.Figure, want ...string) {
	t.Helper()
	if !slices.Equal(f.Flags, want) {
		t.Errorf("%s: flags %v, want %v", what, f.Flags, want)
	}
}

// The rate of Ndegwa, Thompson & Das 2000, 0.75 kg feed per kg worms per day,
// from 5.25 kg in a week: computed.
func TestRateIsWhatDisappearedPerWormDay(t *testing.T) {
	t.Parallel()
	r := rates.Of(week())
	near(t, "rate", r.Rate, 0.75, 1e-12)
	near(t, "processed, wet", r.ProcessedWet, 5.25, 1e-12)
	near(t, "processed, dry", r.ProcessedDry, 1.3125, 1e-12)
	near(t, "worm-days", r.WormDays, 7, 1e-12)
	near(t, "rate per area", r.RatePerArea, 1.5, 1e-12)
	flags(t, "rate", r.Rate)
	if r.Rate.Unit != "kg/kg/d" || r.RatePerArea.Unit != "kg/m2/d" || r.WormDays.Unit != "kg.d" || r.ProcessedWet.Unit != "kg" {
		t.Errorf("units of %+v", r)
	}
	if !r.From.Equal(day(1)) || !r.To.Equal(day(8)) {
		t.Errorf("ends %v and %v, want the start and the check", r.From, r.To)
	}
	if want := []string{"f", "stocking", "c"}; !slices.Equal(r.Records, want) {
		t.Errorf("records %v, want %v", r.Records, want)
	}
}

func TestTheChangeInLeftoversIsTakenOff(t *testing.T) {
	t.Parallel()
	in := week()
	in.From = day(2)
	in.Feeds = []rates.Feed{feed("old", 1, 10*kg), feed("new", 5, 4*kg), feed("later", 12, 9*kg)}
	in.Leftovers = []rates.Leftover{all("a", 4, 40), named("b", 12, map[string]unit.Percent{"old": 10, "new": 50})}
	r := rates.Of(in)
	near(t, "processed, wet", r.ProcessedWet, 10*0.3+4*0.5, 1e-12)
	near(t, "processed, dry", r.ProcessedDry, (10*0.3+4*0.5)/4, 1e-12)
	near(t, "rate", r.Rate, 5.0/8, 1e-12)
	if !r.From.Equal(day(4)) || !r.To.Equal(day(12)) {
		t.Errorf("ends %v and %v, want the checks", r.From, r.To)
	}
	if want := []string{"old", "stocking", "a", "new", "b"}; !slices.Equal(r.Records, want) {
		t.Errorf("records %v, want %v", r.Records, want)
	}
}

func TestBeddingIsGivenApartAndTogether(t *testing.T) {
	t.Parallel()
	in := week()
	in.Feeds = append(in.Feeds, bedding("b", 1, 2*kg))
	in.Leftovers = []rates.Leftover{named("c", 8, map[string]unit.Percent{"f": 20, "b": 50})}
	r := rates.Of(in)
	near(t, "feed", r.ProcessedWet, 4.2, 1e-12)
	near(t, "bedding, wet", r.BeddingWet, 1, 1e-12)
	near(t, "bedding, dry", r.BeddingDry, 0.25, 1e-12)
	near(t, "together, wet", r.TogetherWet, 5.2, 1e-12)
	near(t, "together, dry", r.TogetherDry, 1.3, 1e-12)
	near(t, "rate, of feed alone", r.Rate, 0.6, 1e-12)
}

func TestBeddingLaidBeforeTheWindowLeavesTheBinUnfed(t *testing.T) {
	t.Parallel()
	in := week()
	in.From = day(2)
	in.Anchors = []rates.Anchor{stocking(2, kg)}
	in.Feeds = []rates.Feed{bedding("b", 1, 2*kg), feed("f", 3, 3*kg)}
	in.Leftovers = []rates.Leftover{all("c", 9, 50)}
	r := rates.Of(in)
	near(t, "feed", r.ProcessedWet, 1.5, 1e-12)
	none(t, "bedding", r.BeddingWet, "leftover-unknown")
	none(t, "together", r.TogetherDry, "leftover-unknown")
	if !r.From.Equal(day(2)) {
		t.Errorf("begins %v, want the window's start", r.From)
	}
}

func TestSharesNeverRise(t *testing.T) {
	t.Parallel()
	in := week()
	in.Feeds = []rates.Feed{feed("f", 1, 10*kg), feed("g", 5, 10*kg)}
	in.Leftovers = []rates.Leftover{
		named("a", 4, map[string]unit.Percent{"f": 30, "g": 5}), // g is not there yet
		all("b", 7, 60), // f has 30 still, g 60
		named("c", 9, map[string]unit.Percent{"f": 45, "g": 20}),
	}
	near(t, "processed", rates.Of(in).ProcessedWet, 10*0.7+10*0.8, 1e-12)
}

func TestSharesOutsideReasonAreHeldToIt(t *testing.T) {
	t.Parallel()
	in := week()
	in.Leftovers = []rates.Leftover{all("c", 8, 140)}
	near(t, "more than all left", rates.Of(in).ProcessedWet, 0, 0)
	in.Leftovers = []rates.Leftover{all("c", 8, -3)}
	near(t, "less than nothing left", rates.Of(in).ProcessedWet, 5.25, 1e-12)
}

func TestWithoutTwoEndsThereIsNothing(t *testing.T) {
	t.Parallel()
	early := week()
	early.Feeds = append(early.Feeds, feed("before the window", 1, kg))
	early.From = day(2)
	outside := week()
	outside.To = day(7)
	silent := week()
	silent.Leftovers = []rates.Leftover{{Check: "says nothing", At: day(8)}}
	same := early
	same.Leftovers = []rates.Leftover{all("c", 8, 30), all("d", 8, 20)}
	unstarted := rates.Input{From: day(1), To: day(9), Leftovers: []rates.Leftover{all("c", 1, 0)}}
	for name, in := range map[string]rates.Input{
		"one check": early, "check after the window": outside, "a check that says nothing": silent,
		"two checks at once": same, "a check at the start": unstarted, "no records": {From: day(1), To: day(9)},
	} {
		r := rates.Of(in)
		for _, f := range []unit.Figure{
			r.ProcessedWet, r.ProcessedDry, r.BeddingWet, r.BeddingDry, r.TogetherWet, r.TogetherDry,
			r.WormDays, r.Rate, r.RatePerArea,
		} {
			none(t, name, f, "no-leftover-record")
		}
		if !r.From.IsZero() || len(r.Records) > 0 {
			t.Errorf("%s: %+v rests on nothing", name, r)
		}
	}
}

func TestAFeedingThatAnEndIsSilentAboutIsUnknown(t *testing.T) {
	t.Parallel()
	in := week()
	in.Feeds = append(in.Feeds, feed("g", 2, kg))
	in.Leftovers = []rates.Leftover{all("b", 5, 50), named("c", 8, map[string]unit.Percent{"f": 10})}
	r := rates.Of(in)
	none(t, "processed, wet", r.ProcessedWet, "leftover-unknown")
	none(t, "processed, dry", r.ProcessedDry, "leftover-unknown")
	none(t, "rate", r.Rate, "leftover-unknown")
	none(t, "rate per area", r.RatePerArea, "leftover-unknown")
	near(t, "worm-days", r.WormDays, 7, 1e-12)
}

func TestAFeedingSeenGoneNeedsNoMoreMention(t *testing.T) {
	t.Parallel()
	in := week()
	in.Feeds = append(in.Feeds, feed("g", 6, kg), rates.Feed{ID: "dust", At: day(1), Wet: kg})
	in.Leftovers = []rates.Leftover{
		named("b", 5, map[string]unit.Percent{"f": 0, "dust": 0}), named("c", 8, map[string]unit.Percent{"g": 10}),
	}
	near(t, "processed since the start", rates.Of(in).ProcessedWet, 5.25+1+0.9, 1e-12)
	in.From = day(4)
	r := rates.Of(in)
	near(t, "processed since it was gone", r.ProcessedDry, 0.225, 1e-12)
	if slices.Contains(r.Records, "dust") {
		t.Errorf("records %v name what was gone", r.Records)
	}
}

func TestAMissingMoistureLeavesNoDryMass(t *testing.T) {
	t.Parallel()
	in := week()
	in.Feeds[0].Moisture = yields.Moisture{}
	r := rates.Of(in)
	none(t, "dry", r.ProcessedDry, "moisture-unknown")
	near(t, "rate", r.Rate, 0.75, 1e-12)
}

func TestARateNeedsFeedWormsAndASurface(t *testing.T) {
	t.Parallel()
	hungry := week()
	hungry.Feeds = nil
	near(t, "processed without feed", rates.Of(hungry).ProcessedWet, 0, 0)
	none(t, "rate without feed", rates.Of(hungry).Rate, "no-feed")

	empty := week()
	empty.Anchors = []rates.Anchor{{ID: "census", At: day(1), Kind: rates.Census, CV: math.Inf(1)}}
	near(t, "worm-days without worms", rates.Of(empty).WormDays, 0, 0)
	none(t, "rate without worms", rates.Of(empty).Rate, "no-stock")

	flat := week()
	flat.Surface = 0
	none(t, "rate per area", rates.Of(flat).RatePerArea, "no-surface")
}

func TestARateOutsideThePublishedOnesNamesTheLikelyCause(t *testing.T) {
	t.Parallel()
	of := func(stock unit.Mass, meanMg float64) unit.Figure {
		in := week()
		in.Anchors, in.MeanWormMg = []rates.Anchor{stocking(1, stock)}, meanMg
		return rates.Of(in).Rate
	}
	flags(t, "1.5", of(500*unit.Gram, 0))
	flags(t, "1.51", of(497*unit.Gram, 0), rates.FlagOutside, rates.FlagAbove)
	flags(t, "0.14", of(5350*unit.Gram, 0))
	flags(t, "0.139", of(5400*unit.Gram, 0), rates.FlagOutside, rates.FlagBelow)
	flags(t, "2.1 g a worm", of(kg, 2800))
	flags(t, "2.25 g a worm", of(kg, 3000), rates.FlagPerWorm)
}

func TestNoChangeIsNoRateOfItsOwnAccord(t *testing.T) {
	t.Parallel()
	in := week()
	in.From = day(2)
	in.Leftovers = []rates.Leftover{all("a", 4, 30), all("b", 8, 30)}
	r := rates.Of(in)
	near(t, "processed", r.ProcessedWet, 0, 0)
	flags(t, "processed", r.ProcessedWet, rates.FlagNoChange)
	if r.ProcessedWet.Low != 0 || r.ProcessedWet.High < 1 {
		t.Errorf("processed %+v: two looks at 5 kg may miss a kilogram", r.ProcessedWet)
	}
	flags(t, "rate", r.Rate, rates.FlagOutside, rates.FlagBelow)

	in.Leftovers[1] = all("b", 8, 40) // says nothing new of f: at most 30 % are left
	if r := rates.Of(in); r.ProcessedWet.Level != 0 || r.Rate.Level != 0 {
		t.Errorf("processed %+v, rate %+v: nothing is known of the error", r.ProcessedWet, r.Rate)
	}
}

func TestTheOrderOfRecordsChangesNothing(t *testing.T) {
	t.Parallel()
	in := week()
	in.Feeds = append(in.Feeds, feed("g", 3, kg), feed("h", 5, 2*kg))
	in.Leftovers = []rates.Leftover{all("a", 4, 50), all("b", 8, 20), all("c", 12, 10)}
	in.Anchors = append(in.Anchors, census(9, 2*kg), census(20, kg))
	in.Jumps = []rates.Jump{{ID: "i", At: day(3), Mass: -100 * unit.Gram}, {ID: "j", At: day(6), Mass: 200 * unit.Gram}}
	want := rates.Of(in)
	slices.Reverse(in.Feeds)
	slices.Reverse(in.Leftovers)
	slices.Reverse(in.Anchors)
	slices.Reverse(in.Jumps)
	if got := rates.Of(in); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v\nin the other order %+v", got, want)
	}
	if in.Feeds[0].ID != "h" || in.Anchors[0].ID != "census 20" || in.Leftovers[0].Check != "c" || in.Jumps[0].ID != "j" {
		t.Error("the arguments were changed")
	}
}

func ExampleOf() {
	noneLeft := unit.Percent(0)
	r := rates.Of(rates.Input{
		From:      day(1),
		To:        day(8),
		Feeds:     []rates.Feed{{ID: "scraps", At: day(1), Wet: 5250 * unit.Gram}},
		Leftovers: []rates.Leftover{{Check: "look", At: day(8), All: &noneLeft}},
		Anchors:   []rates.Anchor{{ID: "red worms", At: day(1), Mass: unit.Kilogram, CV: 0.02, Kind: rates.Stocking}},
	})
	fmt.Printf("%.2f (%.2f to %.2f) %s\n", r.Rate.Value, r.Rate.Low, r.Rate.High, r.Rate.Unit)
	fmt.Println(r.ProcessedDry.Reason)
	// Output:
	// 0.75 (0.64 to 0.88) kg/kg/d
	// moisture-unknown
}
