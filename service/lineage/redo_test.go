package lineage_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

// drawer is a source that has derived lots and the entries of a club.
type drawer struct {
	club club
	lots map[string]lineage.Lot
}

func (s drawer) Lines(p lineage.Place) ([]journal.Line, error) {
	a := journal.Bin(p.Bin)
	if p.Transit != "" {
		a = journal.InTransit(p.Transit)
	}
	lines := journal.Lines(s.club.entries, a, journal.Worms(p.Species))
	standing := journal.Standing(s.club.entries)
	for i, l := range lines {
		lines[i].Void = !slices.ContainsFunc(standing, func(e journal.Entry) bool { return e.ID == l.Entry })
	}
	return lines, nil
}

func (s drawer) Entries(ids []string) ([]journal.Entry, error) {
	return slices.DeleteFunc(slices.Clone(s.club.entries), func(e journal.Entry) bool { return !slices.Contains(ids, e.ID) }), nil
}

func (s drawer) Since(p lineage.Place, from time.Time) ([]lineage.Lot, error) {
	var out []lineage.Lot
	var newest *lineage.Lot
	for _, l := range s.lots {
		switch {
		case l.Place != p:
		case l.Withdrawn || !l.OpenedAt.Before(from):
			out = append(out, l)
		case newest == nil || l.OpenedAt.After(newest.OpenedAt) || l.OpenedAt.Equal(newest.OpenedAt) && l.OpenedSeq > newest.OpenedSeq:
			newest = &l
		}
	}
	if newest != nil {
		out = append(out, *newest)
	}
	return out, nil
}

func (s drawer) Some(ids []string) ([]lineage.Lot, error) {
	var out []lineage.Lot
	for _, id := range ids {
		if l, ok := s.lots[id]; ok {
			out = append(out, l)
		}
	}
	return out, nil
}

func (s drawer) Children(ids []string) ([]string, error) {
	var out []string
	for _, l := range s.lots {
		if slices.ContainsFunc(slices.Concat(l.Parents, l.Via), func(p lineage.Parent) bool { return slices.Contains(ids, p.Lot) }) {
			out = append(out, l.ID)
		}
	}
	return out, nil
}

// tell puts entries into the club that it knows nothing of yet: late ones at any
// moment, also that of another, and reversals.
func (s *drawer) tell(t *rapid.T) []journal.Entry {
	before := len(s.club.entries)
	for range rapid.IntRange(1, 4).Draw(t, "told") {
		m := unit.Mass(rapid.Int64Range(1, 1e9).Draw(t, "mass"))
		from, to, way := drawBin(t).Bin, drawBin(t).Bin, rapid.SampledFrom([]string{"a", "b"}).Draw(t, "transfer")
		switch rapid.IntRange(0, 6).Draw(t, "what") {
		case 0:
			s.club.stock(to, rapid.SampledFrom([]string{"A", "B", "D"}).Draw(t, "origin"), m)
		case 1:
			s.club.grow(to, m)
		case 2:
			s.club.lose(from, m)
		case 3:
			s.club.move(from, to, m)
		case 4:
			s.club.send(from, way, m)
		case 5:
			s.club.arrive(way, journal.Arrival{To: journal.Bin(to), Received: m})
		case 6:
			e := rapid.SampledFrom(s.club.entries).Draw(t, "reversed")
			again := func(r journal.Entry) bool { return r.Reverses == e.ID }
			if e.Kind != journal.Reversal && !slices.ContainsFunc(s.club.entries, again) {
				s.club.reverse(e.ID)
			}
			continue
		}
		s.club.at(day(rapid.IntRange(0, 45).Draw(t, "day")))
	}
	return s.club.entries[before:]
}

func TestRedoingGivesWhatDerivingAllGives(t *testing.T) {
	t.Parallel()
	redone := 0
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		lots, _ := derive(t, m.club.entries)
		s := drawer{m.club, lots}
		for range rapid.IntRange(1, 6).Draw(t, "times") {
			was := slices.Clone(s.club.entries)
			told := s.tell(t)
			want, _, err := lineage.Derive(s.club.entries)
			if err != nil {
				s.club.entries = was
				continue
			}
			changed, err := lineage.Redo(told, s)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range changed {
				if reflect.DeepEqual(s.lots[l.ID], l) {
					t.Fatalf("%+v is called changed and isn't", l)
				}
				s.lots[l.ID] = l
			}
			redone++
			same(t, s.lots, want)
		}
	})
	if redone < 50 {
		t.Errorf("%d changes were tried; want more", redone)
	}
}

func same(t *rapid.T, got, want map[string]lineage.Lot) {
	for id, l := range want {
		if !reflect.DeepEqual(got[id], l) {
			t.Fatalf("redone\n%+v\nderived\n%+v", got[id], l)
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d lots; want %d", len(got), len(want))
	}
}
