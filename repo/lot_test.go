package repo_test

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
)

// lot returns a lot that the n-th movement opened in a bin, half from the fair.
func lot(n, in int) service.Lot {
	opener := stocked(n, in, 0)
	place := lineage.Place{Bin: string(bin(in)), Species: string(fetida)}
	return service.Lot{
		Lot: lineage.Lot{
			ID: number("lot", n), Place: place, OpenedBy: string(opener.ID), OpenedAt: opener.At.Time,
			OpenedSeq: opener.Recorded.Seq, Mass: 500, Depth: 1,
			Parents: []lineage.Parent{{Origin: "fair", Mass: 250}, {Origin: lineage.Unknown, Mass: 250}},
			Shares:  lineage.Shares{{Origin: "fair", Parts: lineage.One / 2}, {Origin: lineage.Unknown, Parts: lineage.One / 2}},
		},
		Member: founder,
	}
}

// child returns a lot that has others as parents.
func child(n, in int, of ...service.Lot) service.Lot {
	l := lot(n, in)
	l.Parents, l.Depth = nil, 2
	for _, p := range of {
		l.Parents = append(l.Parents, lineage.Parent{Lot: p.ID, Mass: 100})
	}
	return l
}

// opened enters the movements of lots and puts the lots.
func opened(all ...service.Lot) func(service.Tx) error {
	return func(tx service.Tx) error {
		for _, l := range all {
			var n int
			if _, err := fmt.Sscanf(l.ID, "lot-%d", &n); err != nil {
				return err
			}
			if err := tx.Movements.Insert(stocked(n, 0, 1)); err != nil {
				return err
			}
		}
		return tx.Lots.Insert(all)
	}
}

// expectLots sees that got is want, after sorting by id.
func expectLots(t *testing.T, what string, got []service.Lot, err error, want ...service.Lot) {
	t.Helper()
	slices.SortFunc(got, func(a, b service.Lot) int { return cmp.Compare(a.ID, b.ID) })
	if err != nil || len(got) != len(want) || len(want) > 0 && !reflect.DeepEqual(got, want) {
		t.Errorf("%s = %+v, %v; want %+v", what, got, err, want)
	}
}

func expectChildren(t *testing.T, got []service.LotID, err error, want ...service.Lot) {
	t.Helper()
	if err != nil || !slices.EqualFunc(got, want, func(id service.LotID, l service.Lot) bool { return string(id) == l.ID }) {
		t.Errorf("Children = %v, %v; want %+v", got, err, want)
	}
}

func TestALotIsReadWithItsParentsAndShares(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		one, two := lot(1, 0), lot(2, 1)
		three := child(3, 1, one, two)
		three.EndedAt, three.EndedBy = three.OpenedAt.Add(time.Hour), three.OpenedBy
		three.Withdrawn, three.Successor = true, two.ID
		update(t, s, harbour, opened(one, two, three))
		view(t, s, harbour, func(tx service.Tx) {
			got, err := tx.Lots.Get("lot-03")
			if err != nil || !reflect.DeepEqual(got, three) {
				t.Errorf("Get = %+v, %v; want %+v", got, err, three)
			}
			some, err := tx.Lots.Some([]service.LotID{"lot-02", "nobody", "lot-01"})
			expectLots(t, "Some", some, err, one, two)
			children, err := tx.Lots.Children([]service.LotID{"lot-01", "lot-02"})
			expectChildren(t, children, err, three)
			none, err := tx.Lots.Children([]service.LotID{"lot-03"})
			expectChildren(t, none, err)
			if _, err := tx.Lots.Get("nobody"); !errors.Is(err, service.ErrLotNotFound) {
				t.Errorf("Get of an id that isn't there: %v; want ErrLotNotFound", err)
			}
		})
	})
}

func TestPuttingALotAgainReplacesItAndNoOther(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		one, two := lot(1, 0), lot(2, 1)
		update(t, s, harbour, opened(one, two))
		one.Shares, one.Parents, one.Mass = lineage.Pure("fair"), one.Parents[:1], 900
		one.EndedAt, one.EndedBy = one.OpenedAt.Add(time.Minute), two.OpenedBy
		update(t, s, harbour, func(tx service.Tx) error { return tx.Lots.Update([]service.Lot{one}) })
		view(t, s, harbour, func(tx service.Tx) {
			list, err := tx.Lots.List(service.Query{})
			expectLots(t, "List", list, err, one, two)
		})
	})
}

func TestMixingALotAgainLeavesItsParentsAndNoOtherClubs(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		one, two := lot(1, 0), lot(2, 1)
		update(t, s, harbour, opened(one, two))
		update(t, s, hillTop, opened(one, two))
		two.Mass, two.Depth, two.Shares = 1, 7, lineage.Pure("fair")
		two.EndedAt, two.EndedBy = two.OpenedAt.Add(time.Minute), two.OpenedBy
		two.Withdrawn, two.Successor = true, one.ID
		update(t, s, harbour, func(tx service.Tx) error { return tx.Lots.Remix([]service.Lot{two}) })
		view(t, s, harbour, func(tx service.Tx) {
			list, err := tx.Lots.List(service.Query{})
			expectLots(t, "List", list, err, one, two)
		})
		view(t, s, hillTop, func(tx service.Tx) {
			list, err := tx.Lots.List(service.Query{})
			expectLots(t, "another club's List", list, err, one, lot(2, 1))
		})
	})
}

func TestALotUnderWayIsFoundByItsPlaceAndByWhatCameByIt(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		one, way := lot(1, 0), lot(2, 1)
		way.Place = lineage.Place{Transit: "leg", Species: string(fetida)}
		three := child(3, 1, one)
		three.Via = []lineage.Parent{{Lot: way.ID, Mass: 100}}
		update(t, s, harbour, opened(one, way, three))
		view(t, s, harbour, func(tx service.Tx) {
			newest, err := tx.Lots.Newest([]lineage.Place{way.Place, {Transit: "other", Species: string(fetida)}, three.Place})
			expectLots(t, "Newest", newest, err, way, three)
			children, err := tx.Lots.Children([]service.LotID{service.LotID(way.ID)})
			expectChildren(t, children, err, three)
			list, err := tx.Lots.List(service.Query{})
			expectLots(t, "List", list, err, one, three)
			all, err := tx.Lots.Standing("")
			expectLots(t, "Standing", all, err, one, three)
		})
	})
}

func TestABareLotIsOneOfABinWithoutItsShares(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		one, way := lot(1, 0), lot(2, 1)
		way.Place = lineage.Place{Transit: "leg", Species: string(fetida)}
		way.Parents = []lineage.Parent{{Lot: one.ID, Mass: 100}}
		three := child(3, 1, one)
		update(t, s, harbour, opened(one, way, three))
		one.Shares, three.Shares = nil, nil
		view(t, s, harbour, func(tx service.Tx) {
			some, err := tx.Lots.Bare([]service.LotID{"lot-01", "lot-02", "nobody"})
			expectLots(t, "Bare", some, err, one)
			children, err := tx.Lots.BareChildren([]service.LotID{"lot-01"})
			expectLots(t, "BareChildren", children, err, three)
		})
	})
}

func TestTheLotsOfAPlaceSinceAMomentBeginWithTheOneThatStoodThere(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		old, never, stood, since, after := lot(1, 0), lot(2, 0), lot(3, 0), lot(5, 0), lot(6, 0)
		never.Withdrawn, after.Withdrawn, after.Successor = true, true, since.ID
		update(t, s, harbour, opened(old, never, stood, since, after, lot(7, 1)))
		view(t, s, harbour, func(tx service.Tx) {
			lots, err := tx.Lots.Since(old.Place, since.OpenedAt)
			expectLots(t, "Since", lots, err, never, stood, since, after)
			waiting, err := tx.Lots.Waiting([]lineage.Place{old.Place})
			expectLots(t, "Waiting", waiting, err, never)
		})
	})
}

func TestTheNewestLotOfEachSpeciesStandsInABin(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		old, ended, other, elsewhere, never := lot(1, 0), lot(2, 0), lot(3, 0), lot(4, 1), lot(5, 0)
		ended.EndedAt, ended.EndedBy = ended.OpenedAt.Add(time.Minute), ended.OpenedBy
		other.Place.Species = string(eugeniae)
		never.Withdrawn = true
		update(t, s, harbour, opened(old, ended, other, elsewhere, never))
		view(t, s, harbour, func(tx service.Tx) {
			of, err := tx.Lots.Standing(bin(0))
			expectLots(t, "Standing in one bin", of, err, ended, other)
			all, err := tx.Lots.Standing("")
			expectLots(t, "Standing in all bins", all, err, ended, other, elsewhere)
			none, err := tx.Lots.Standing(bin(3))
			expectLots(t, "Standing in an unused bin", none, err)
		})
		view(t, s, hillTop, func(tx service.Tx) {
			none, err := tx.Lots.Standing("")
			expectLots(t, "Standing in another club", none, err)
		})
	})
}

func TestLotsArePagedByWhenTheyOpened(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		update(t, s, harbour, opened(lot(5, 0), lot(1, 1), lot(3, 0), lot(7, 0)))
		page := func(q service.Query, want ...string) {
			t.Helper()
			view(t, s, harbour, func(tx service.Tx) {
				list, err := tx.Lots.List(q)
				got := []string{}
				for _, l := range list {
					got = append(got, l.ID)
				}
				if err != nil || !slices.Equal(got, want) {
					t.Errorf("List(%+v) = %v, %v; want %v", q, got, err, want)
				}
			})
		}
		after := func(l service.Lot) service.Place { return service.Place{At: l.OpenedAt, ID: l.ID} }
		page(service.Query{Limit: 2}, "lot-01", "lot-03")
		update(t, s, harbour, opened(lot(2, 0), lot(4, 0)))
		page(service.Query{Limit: 2, After: after(lot(3, 0))}, "lot-04", "lot-05")
		page(service.Query{Limit: 2, After: after(lot(5, 0))}, "lot-07")
		page(service.Query{Newest: true, Limit: 2}, "lot-07", "lot-05")
		page(service.Query{Bin: bin(1), Member: founder, Species: fetida}, "lot-01")
		page(service.Query{From: lot(3, 0).OpenedAt, To: lot(5, 0).OpenedAt}, "lot-03", "lot-04")
	})
}

func TestManyLotsAreWrittenAtOnce(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		var all []service.Lot
		for n := range 1200 {
			l := lot(1, 0)
			l.ID = fmt.Sprintf("lot-%04d", n)
			all = append(all, l)
		}
		update(t, s, harbour, enter(stocked(1, 0, 1)))
		update(t, s, harbour, func(tx service.Tx) error { return tx.Lots.Insert(all) })
		update(t, s, harbour, func(tx service.Tx) error { return tx.Lots.Update(all) })
		update(t, s, harbour, func(tx service.Tx) error { return tx.Lots.Remix(all) })
		view(t, s, harbour, func(tx service.Tx) {
			list, err := tx.Lots.List(service.Query{})
			expectLots(t, "List", list, err, all...)
		})
	})
}
