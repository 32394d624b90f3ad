package exposure_test

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/exposure"
)

func day(n int) time.Time { return time.Date(2026, 3, n, 12, 0, 0, 0, time.UTC) }

func bin(name string) exposure.Place { return exposure.Place{Kind: exposure.Bin, Ref: name} }

func goes(n int, from, to string) exposure.Event {
	return exposure.Event{At: day(n), Seq: int64(n), Record: from + to, Why: "split", From: []exposure.Place{bin(from)}, To: []exposure.Place{bin(to)}}
}

func shares(n int, a, b string) exposure.Event {
	both := []exposure.Place{bin(a), bin(b)}
	return exposure.Event{At: day(n), Seq: int64(n), Record: "tools", Why: "contact", From: both, To: both}
}

func clears(n int, a string) exposure.Event {
	return exposure.Event{At: day(n), Seq: int64(n), Record: "clearing", Clears: bin(a)}
}

func refs(reached []exposure.Reached) (out []string) {
	for _, r := range reached {
		out = append(out, r.Ref)
	}
	return out
}

func want(t *testing.T, got []exposure.Reached, places ...string) {
	t.Helper()
	if !slices.Equal(refs(got), places) {
		t.Errorf("it reached %v; want %v", refs(got), places)
	}
}

func TestAPlaceIsExposedFromTheFirstArrivalOutOfAnExposedOne(t *testing.T) {
	t.Parallel()
	events := []exposure.Event{goes(9, "c", "d"), goes(2, "a", "b"), goes(5, "b", "c"), goes(1, "b", "x"), goes(6, "b", "c")}
	got := exposure.Forward(bin("a"), day(1), events)
	want(t, got, "a", "b", "c", "d")
	if c := got[2]; !c.At.Equal(day(5)) || c.By != bin("b") || c.Record != "bc" || c.Why != "split" {
		t.Errorf("c was reached as %+v; want from b on the 5th", c)
	}
	want(t, exposure.Forward(bin("a"), day(3), events), "a")
}

func TestSharedToolsExposeBothWays(t *testing.T) {
	t.Parallel()
	events := []exposure.Event{shares(2, "a", "b"), shares(3, "c", "b")}
	want(t, exposure.Forward(bin("a"), day(1), events), "a", "b", "c")
	want(t, exposure.Forward(bin("c"), day(1), events), "c", "b")
	want(t, exposure.Back(bin("c"), day(9), day(1), events), "c", "b", "a")
}

func TestAClearingEndsExposureUntilTheNext(t *testing.T) {
	t.Parallel()
	events := []exposure.Event{goes(2, "a", "b"), clears(3, "b"), goes(4, "b", "c"), goes(5, "a", "b"), goes(6, "b", "d")}
	got := exposure.Forward(bin("a"), day(1), events)
	want(t, got, "a", "b", "b", "d")
	if !got[1].Cleared.Equal(day(3)) || !got[2].Cleared.IsZero() {
		t.Errorf("b was cleared at %v and %v; want on the 3rd, and not again", got[1].Cleared, got[2].Cleared)
	}
	want(t, exposure.Back(bin("c"), day(9), day(1), events), "c", "b")
	want(t, exposure.Back(bin("d"), day(9), day(1), events), "d", "b", "a")
}

func TestATraceBackStopsAtItsEarliestDay(t *testing.T) {
	t.Parallel()
	events := []exposure.Event{goes(2, "a", "b"), goes(4, "b", "c"), goes(6, "x", "c")}
	got := exposure.Back(bin("c"), day(5), day(1), events)
	want(t, got, "c", "b", "a")
	if !got[2].At.Equal(day(2)) || got[2].By != bin("b") {
		t.Errorf("a is told as %+v; want into b on the 2nd", got[2])
	}
	want(t, exposure.Back(bin("c"), day(5), day(3), events), "c", "b")
}

// What Forward finds from a is what Back finds a from: both against a plain search
// that looks at every way through the events.
func TestForwardAndBackAgreeWithTryingEveryWay(t *testing.T) {
	t.Parallel()
	names := []string{"a", "b", "c", "d", "e"}
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 1))
		var events []exposure.Event
		for n := 2; n < 14; n++ {
			a, b := names[r.IntN(5)], names[r.IntN(5)]
			switch r.IntN(5) {
			case 0:
				events = append(events, shares(n, a, b))
			case 1:
				events = append(events, clears(n, a))
			default:
				events = append(events, goes(n, a, b))
			}
		}
		for _, start := range names {
			reached := refs(exposure.Forward(bin(start), day(1), events))
			for _, end := range names {
				here := walks(start, end, events)
				if slices.Contains(standing(start, events), end) != here {
					t.Fatalf("seed %d: from %s, %s is exposed at the end: %v; trying every way says %v", seed, start, end, !here, here)
				}
				back := slices.Contains(refs(exposure.Back(bin(end), day(30), day(1), events)), start)
				if here && (!back || !slices.Contains(reached, end)) {
					t.Fatalf("seed %d: %s comes to %s; forward says %v, back says %v", seed, start, end, reached, back)
				}
			}
		}
	}
}

// standing are the places that are exposed at the end.
func standing(start string, events []exposure.Event) (out []string) {
	for _, r := range exposure.Forward(bin(start), day(1), events) {
		if r.Cleared.IsZero() {
			out = append(out, r.Ref)
		}
	}
	return out
}

// walks tries, event by event, whether something that starts in start can be in
// end after the last.
func walks(start, end string, events []exposure.Event) bool {
	here := map[string]bool{start: true}
	for _, e := range events {
		delete(here, e.Clears.Ref)
		if slices.ContainsFunc(e.From, func(p exposure.Place) bool { return here[p.Ref] }) {
			for _, p := range e.To {
				here[p.Ref] = true
			}
		}
	}
	return here[end]
}
