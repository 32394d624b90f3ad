package lineage_test

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"testing"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"pgregory.net/rapid"
)

// model is a club told as naive floating-point mixtures: in each place a mass
// and the fractions of its origins. It knows nothing of lots or postings.
type model struct {
	club   club
	mass   map[lineage.Place]unit.Mass
	origin map[lineage.Place]map[string]float64
}

// pour mixes m of the fractions given into p.
func (m *model) pour(p lineage.Place, fractions map[string]float64, add unit.Mass) {
	have, more := float64(m.mass[p]), float64(add)
	mixed := map[string]float64{}
	for o, f := range m.origin[p] {
		if have > 0 {
			mixed[o] += f * have / (have + more)
		}
	}
	for o, f := range fractions {
		mixed[o] += f * more / (have + more)
	}
	m.origin[p] = mixed
	m.mass[p] += add
}

// standing lists the places of a kind that have stock.
func (m *model) standing(transit bool) []lineage.Place {
	var out []lineage.Place
	for _, name := range []string{"a", "b", "c", "d"} {
		p := in(name)
		if transit {
			p = underWay(name)
		}
		if m.mass[p] > 0 {
			out = append(out, p)
		}
	}
	return out
}

func drawBin(t *rapid.T) lineage.Place {
	return in(rapid.SampledFrom([]string{"a", "b", "c", "d"}).Draw(t, "bin"))
}

// take draws how much of p is taken: often all of it.
func (m *model) take(t *rapid.T, p lineage.Place) unit.Mass {
	if rapid.IntRange(0, 3).Draw(t, "all") == 0 {
		return m.mass[p]
	}
	return unit.Mass(rapid.Int64Range(1, int64(m.mass[p])).Draw(t, "taken"))
}

// step writes one entry that the books allow, and does the same to the model.
func (m *model) step(t *rapid.T) {
	giver, way := m.standing(false), m.standing(true)
	kind := rapid.IntRange(0, 6).Draw(t, "kind")
	switch {
	case kind <= 3 && len(giver) > 0:
		m.give(t, kind, rapid.SampledFrom(giver).Draw(t, "giver"))
	case kind == 4 && len(way) > 0:
		m.receive(t, rapid.SampledFrom(way).Draw(t, "transfer"))
	case kind == 5:
		p, add := drawBin(t), unit.Mass(rapid.Int64Range(1, 1e9).Draw(t, "growth"))
		m.club.grow(p.Bin, add)
		if m.origin[p] == nil {
			m.origin[p] = map[string]float64{lineage.Unknown: 1}
		}
		m.mass[p] += add
	default:
		p, add := drawBin(t), unit.Mass(rapid.Int64Range(1, 1e9).Draw(t, "stocked"))
		origin := rapid.SampledFrom([]string{"A", "B", "C", "unknown"}).Draw(t, "origin")
		m.club.stock(p.Bin, origin, add)
		m.pour(p, map[string]float64{origin: 1}, add)
	}
}

// give moves, sends or loses some of a bin, or splits it over two others.
func (m *model) give(t *rapid.T, kind int, from lineage.Place) {
	taken := m.take(t, from)
	switch kind {
	case 0:
		m.club.lose(from.Bin, taken)
		m.mass[from] -= taken
		return
	case 1:
		to := underWay(rapid.SampledFrom([]string{"a", "b"}).Draw(t, "transfer"))
		m.club.send(from.Bin, to.Transit, taken)
		m.mass[from] -= taken
		m.pour(to, m.origin[from], taken)
		return
	case 2:
		if to := drawBin(t); to != from {
			m.club.move(from.Bin, to.Bin, taken)
			m.mass[from] -= taken
			m.pour(to, m.origin[from], taken)
		}
		return
	}
	one, two := drawBin(t), drawBin(t)
	if one == from || two == from || one == two || taken < 2 {
		return
	}
	half := taken / 2
	m.club.add(journal.Split, slices.Concat(
		journal.Move(journal.Bin(from.Bin), journal.Bin(one.Bin), worms, half),
		journal.Move(journal.Bin(from.Bin), journal.Bin(two.Bin), worms, taken-half),
	)...)
	m.mass[from] -= taken
	m.pour(one, m.origin[from], half)
	m.pour(two, m.origin[from], taken-half)
}

func (m *model) receive(t *rapid.T, from lineage.Place) {
	taken := m.take(t, from)
	to := drawBin(t)
	dead := taken / 5
	m.club.arrive(from.Transit, journal.Arrival{To: journal.Bin(to.Bin), Received: taken - dead, Dead: dead})
	m.mass[from] -= taken
	m.pour(to, m.origin[from], taken-dead)
}

func drawModel(t *rapid.T) *model {
	m := &model{mass: map[lineage.Place]unit.Mass{}, origin: map[lineage.Place]map[string]float64{}}
	for range rapid.IntRange(1, 40).Draw(t, "entries") {
		m.step(t)
	}
	return m
}

func derive(t *rapid.T, entries []journal.Entry) (map[string]lineage.Lot, map[lineage.Place]lineage.State) {
	lots, states, err := lineage.Derive(entries)
	if err != nil {
		t.Fatal(err)
	}
	return lots, states
}

func TestDerivedBooksAndSharesAgreeWithANaiveModel(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		_, states := derive(t, m.club.entries)
		for p, s := range states {
			if s.Book != m.mass[p] || (s.Book > 0) != s.Lot.Current() {
				t.Fatalf("%s: book %d, lot %+v; model %d", p, s.Book, s.Lot, m.mass[p])
			}
			if s.Book == 0 {
				continue
			}
			for o, want := range m.origin[p] {
				if got := lineage.ShareOf(s.Lot.Shares, o); math.Abs(got-want) > 1e-9 {
					t.Fatalf("%s of %s: %v, model %v", o, p, got, want)
				}
			}
		}
	})
}

func TestEveryLotHasWholeSharesAndParentsThatAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lots, _ := derive(t, drawModel(t).club.entries)
		for id, l := range lots {
			var mass unit.Mass
			depth := 0
			for _, p := range l.Parents {
				if (p.Lot == "") == (p.Origin == "") {
					t.Fatalf("parent %+v is not one of lot and origin", p)
				}
				if parent, ok := lots[p.Lot]; p.Lot != "" && (!ok || parent.Place.Transit != "") {
					t.Fatalf("parent %+v is not a lot of a bin: %+v", p, parent)
				}
				mass += p.Mass
				depth = max(depth, lots[p.Lot].Depth)
			}
			if total(l.Shares) != lineage.One || mass != l.Mass || l.Depth != depth+1 || l.ID != id || id != lineage.LotID(l.OpenedBy, l.Place) {
				t.Fatalf("lot %+v: parents of %d and depth %d", l, mass, depth)
			}
		}
	})
}

// applyAll puts entries one on top of the other, with the touched places alone.
func applyAll(t *rapid.T, entries []journal.Entry) (map[string]lineage.Lot, map[lineage.Place]lineage.State) {
	lots, states := map[string]lineage.Lot{}, map[lineage.Place]lineage.State{}
	for _, e := range entries {
		touched := map[lineage.Place]lineage.State{}
		for _, p := range lineage.Places(e) {
			touched[p] = states[p]
		}
		changed, next, err := lineage.Apply(touched, e)
		if err != nil {
			t.Fatal(err)
		}
		maps.Copy(states, next)
		for _, l := range changed {
			lots[l.ID] = l
		}
	}
	return lots, states
}

func TestApplyingOneByOneGivesWhatDerivingAllAtOnceGives(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := drawModel(t).club.entries
		lots, states := applyAll(t, entries)
		wantLots, wantStates := derive(t, rapid.Permutation(entries).Draw(t, "order"))
		if !reflect.DeepEqual(lots, wantLots) || !reflect.DeepEqual(states, wantStates) {
			t.Fatalf("got %+v\nwant %+v", lots, wantLots)
		}
	})
}

func TestTakingEntriesBackGivesWhatWouldBeWithoutThem(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		want, states := derive(t, m.club.entries)
		extra := m.club
		for i := range rapid.IntRange(1, 4).Draw(t, "mistakes") {
			origin := fmt.Sprint("mistake", i)
			id := extra.stock(drawBin(t).Bin, origin, 77)
			extra.at(day(rapid.IntRange(0, 41).Draw(t, "day")))
			extra.reverse(id)
		}
		lots, again := derive(t, extra.entries)
		withdrawn := 0
		for id, l := range lots {
			if l.Withdrawn {
				withdrawn++
				if s, ok := lots[l.Successor]; l.Successor != "" && (!ok || s.Withdrawn || s.Place != l.Place) {
					t.Fatalf("%+v is succeeded by %+v", l, s)
				}
				delete(lots, id)
			}
		}
		if withdrawn == 0 || !reflect.DeepEqual(lots, want) || !reflect.DeepEqual(again, states) {
			t.Fatalf("got %+v\nwant %+v", lots, want)
		}
	})
}
