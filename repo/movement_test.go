package repo_test

import (
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"strconv"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/quantity"
	"lumbricary.example/service/unit"
)

// sale is a movement with everything in it that a movement can have.
func sale() service.Movement {
	m := move(7, inBin(0), outside(), 250000)
	m.Kind, m.At.Precision = journal.HandOver, service.ToTheDay
	m.Lines = []service.Line{{
		FromBin: bin(0), Origin: "fair", Species: fetida, Typed: unit.Measure{Value: 0.25, Unit: "kg"},
		SizeClass: quantity.Breeders, Density: 120.5, SampleMg: 410.5, Moisture: ptr(unit.Percent(52.5)),
		Booked: ptr(unit.Mass(250000)), Mass: 250000, Basis: quantity.Weighed, Worms: 600, CV: 0.02,
		MeanMg: 410.5, MeanBasis: "sample",
	}}
	m.ToBin, m.FromBatch, m.Terms, m.Party = bin(1), "spring", service.Sale, "Garden shop"
	m.FromMember, m.ToMember, m.PriceMinor, m.Currency = founder, keeper, ptr(int64(0)), "EUR"
	m.Cause, m.MaterialMass, m.Reason, m.Note = service.WriteOff, 1000, "typo", "in a bag"
	return m
}

// stocked returns the movement that stocks a bin; the origin is known.
func stocked(n, into int, mass unit.Mass) service.Movement {
	m := move(n, outside(), inBin(into), mass)
	m.Kind, m.Postings[0].Origin = journal.Stocking, "fair"
	return m
}

// enter inserts movements in one transaction.
func enter(ms ...service.Movement) func(service.Tx) error {
	return func(tx service.Tx) error {
		for _, m := range ms {
			if err := tx.Movements.Insert(m); err != nil {
				return err
			}
		}
		return nil
	}
}

func TestAMovementIsReadAsItWasWritten(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		first, second := stocked(1, 0, 900000), sale()
		back := move(8, outside(), inBin(0), 250000)
		back.Kind, back.Reverses, back.Reason = journal.Reversal, second.ID, "fell through"
		update(t, s, harbour, enter(first, second, back))
		second.ReversedBy = back.ID
		view(t, s, harbour, func(tx service.Tx) {
			for _, want := range []service.Movement{first, second, back} {
				if got, err := tx.Movements.Get(want.ID); err != nil || !reflect.DeepEqual(got, want) {
					t.Errorf("Get = %+v, %v; want %+v", got, err, want)
				}
			}
			got, err := tx.Movements.Some([]service.MovementID{back.ID, "nobody"})
			if want := []service.Movement{back}; err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("Some = %+v, %v; want %+v", got, err, want)
			}
			if _, err := tx.Movements.Get("nobody"); !errors.Is(err, service.ErrMovementNotFound) {
				t.Errorf("Get of an id that isn't there: %v", err)
			}
			entries, err := tx.Movements.Entries()
			want := []journal.Entry{first.Entry(), second.Entry(), back.Entry()}
			if err != nil || !reflect.DeepEqual(entries, want) {
				t.Errorf("Entries = %+v, %v; want %+v", entries, err, want)
			}
		})
	})
}

func TestAMovementIsInsertedAndReversedOnce(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		reversal := func(n int) service.Movement {
			m := move(n, inBin(0), outside(), 10)
			m.Kind, m.Reverses = journal.Reversal, stocked(1, 0, 10).ID
			return m
		}
		update(t, s, harbour, enter(stocked(1, 0, 500)))
		update(t, s, harbour, enter(reversal(2)))
		if err := s.Update(t.Context(), harbour, enter(reversal(3))); !errors.Is(err, service.ErrReversedBefore) {
			t.Errorf("a second reversal: %v; want ErrReversedBefore", err)
		}
		again := stocked(4, 0, 500)
		again.ID = stocked(1, 0, 0).ID
		if err := s.Update(t.Context(), harbour, enter(again)); !errors.Is(err, service.ErrIDTaken) {
			t.Errorf("an id that is there: %v; want ErrIDTaken", err)
		}
		view(t, s, harbour, func(tx service.Tx) {
			if stock, err := tx.Movements.Stock(bin(0)); err != nil || stock[fetida] != 490 {
				t.Errorf("after what was refused the book is %v, %v; want 490", stock, err)
			}
		})
	})
}

func TestNoBookOfABinOrBatchGoesBelowZero(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		update(t, s, harbour, enter(stocked(1, 0, 500)))
		castings := move(2, journal.Batch("spring"), journal.Account{Kind: journal.Processing}, 1)
		for i := range castings.Postings {
			castings.Postings[i].Commodity = journal.Castings
		}
		for name, m := range map[string]service.Movement{
			"more than the book":    move(2, inBin(0), outside(), 501),
			"out of an unused bin":  move(2, inBin(1), inBin(0), 1),
			"out of an empty batch": castings,
		} {
			if err := s.Update(t.Context(), harbour, enter(m)); !errors.Is(err, service.ErrMoreThanBook) {
				t.Errorf("%s: %v; want ErrMoreThanBook", name, err)
			}
		}
		through := move(2, inBin(0), inBin(1), 501)
		through.Postings = append(journal.Receive("fair", inBin(0), journal.Worms(string(fetida)), 1), through.Postings...)
		update(t, s, harbour, enter(through)) // out before in, but never short as a whole
	})
}

func TestMovementsArePagedInEffectiveOrder(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		late := move(6, inBin(0), inBin(1), 5)
		late.At.Time = late.At.Time.Add(-3 * time.Hour) // the moment of 3, recorded after it
		update(t, s, harbour, enter(stocked(1, 0, 500), move(5, inBin(0), inBin(2), 5), stocked(3, 1, 500), late))
		expectPage(t, s, service.Query{Limit: 2}, 1, 3)
		update(t, s, harbour, enter(stocked(2, 0, 1), stocked(4, 1, 1)))
		expectPage(t, s, service.Query{Limit: 2, After: after(stocked(3, 0, 0))}, 6, 4)
		expectPage(t, s, service.Query{After: after(late)}, 4, 5)
		expectPage(t, s, service.Query{Newest: true, Limit: 3}, 5, 4, 6)
		expectPage(t, s, service.Query{Newest: true, Limit: 9, After: after(late)}, 3, 2, 1)
		expectPage(t, s, service.Query{From: late.At.Time, To: stocked(4, 0, 0).At.Time}, 3, 6)
		view(t, s, harbour, func(tx service.Tx) {
			at, seq, err := tx.Movements.Last()
			if want := stocked(5, 0, 0); err != nil || !at.Equal(want.At.Time) || seq != want.Recorded.Seq {
				t.Errorf("Last = %v, %d, %v; want those of movement 5", at, seq, err)
			}
		})
	})
}

// after is the place of a movement in its list.
func after(m service.Movement) service.Place {
	return service.Place{At: m.At.Time, ID: strconv.FormatInt(m.Recorded.Seq, 10)}
}

// expectPage sees that a query finds the movements of these numbers, in order.
func expectPage(t *testing.T, s *repo.Store, q service.Query, numbers ...int) {
	t.Helper()
	want := []service.MovementID{}
	for _, n := range numbers {
		want = append(want, stocked(n, 0, 0).ID)
	}
	view(t, s, harbour, func(tx service.Tx) {
		list, err := tx.Movements.List(q)
		got := []service.MovementID{}
		for _, m := range list {
			got = append(got, m.ID)
		}
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("List(%+v) = %v, %v; want %v", q, got, err, want)
		}
	})
}

func TestMovementsAreFoundByBinSpeciesBatchKindAndMember(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		night := move(4, outside(), inBin(0), 70)
		for i := range night.Postings {
			night.Postings[i].Commodity = journal.Worms(string(eugeniae))
		}
		bagged := move(6, journal.Account{Kind: journal.Processing}, journal.Batch("spring"), 80)
		for i := range bagged.Postings {
			bagged.Postings[i].Commodity = journal.Castings
		}
		given := move(5, inBin(1), inBin(2), 5)
		given.Kind, given.FromMember, given.ToMember = journal.HandOver, founder, keeper
		update(t, s, harbour, enter(stocked(1, 0, 500), stocked(2, 1, 500), move(3, inBin(0), inBin(1), 5), night, given, bagged))
		expectPage(t, s, service.Query{Bin: bin(0)}, 1, 3, 4)
		expectPage(t, s, service.Query{Bin: bin(0), Species: fetida}, 1, 3)
		expectPage(t, s, service.Query{Species: eugeniae}, 4)
		expectPage(t, s, service.Query{Batch: "spring"}, 6)
		expectPage(t, s, service.Query{Bin: bin(3)})
		expectPage(t, s, service.Query{Kind: string(journal.Split)}, 3, 4, 6)
		expectPage(t, s, service.Query{Member: keeper}, 5)
		expectPage(t, s, service.Query{Bin: bin(1), Limit: 2}, 2, 3)
		expectPage(t, s, service.Query{Bin: bin(1), Limit: 2, After: after(stocked(3, 0, 0))}, 5)
		expectPage(t, s, service.Query{Bin: bin(1), Newest: true, Limit: 2}, 5, 3)
		expectPage(t, s, service.Query{Bin: bin(0), Kind: string(journal.Split), Limit: 1}, 3)
		expectPage(t, s, service.Query{Bin: bin(1), Member: founder, Limit: 1}, 5)
		expectPage(t, s, service.Query{Bin: bin(1), From: stocked(3, 0, 0).At.Time, To: given.At.Time}, 3)
	})
}

func TestAFilterThatANounHasNotIsRefusedNotIgnored(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		view(t, s, harbour, func(tx service.Tx) {
			_, movements := tx.Movements.List(service.Query{Bin: bin(0), Batch: "spring"})
			_, lots := tx.Lots.List(service.Query{Kind: "starter"})
			_, events := tx.Events.List(service.Query{Species: fetida})
			_, feedings := tx.Feedings.List(service.Query{Batch: "spring"})
			_, sites := tx.Sites.List(service.Query{From: noon})
			for noun, err := range map[string]error{"movements": movements, "lots": lots, "events": events, "feedings": feedings, "sites": sites} {
				if err == nil {
					t.Errorf("%s answered another question", noun)
				}
			}
		})
	})
}

func TestABinAndAKindAreFoundBehindManyOthers(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		var many []service.Movement
		for n := range 1100 {
			many = append(many, stocked(n, 0, 1))
		}
		for _, n := range []int{3, 700, 1090} {
			many[n].Kind = journal.Loss
		}
		update(t, s, harbour, enter(many...))
		expectPage(t, s, service.Query{Bin: bin(0), Kind: string(journal.Loss), Limit: 2}, 3, 700)
		expectPage(t, s, service.Query{Bin: bin(0), Kind: string(journal.Loss), Limit: 2, After: after(many[700])}, 1090)
		expectPage(t, s, service.Query{Bin: bin(0), Kind: string(journal.Loss)}, 3, 700, 1090)
		view(t, s, harbour, func(tx service.Tx) {
			if all, err := tx.Movements.List(service.Query{Bin: bin(0)}); err != nil || len(all) != len(many) {
				t.Errorf("List without a limit has %d, %v; want %d", len(all), err, len(many))
			}
		})
	})
}

// walk is random movements with the books they should add up to.
type walk struct {
	random *rand.Rand
	books  map[service.BinID]map[service.SpeciesID]unit.Mass
	all    []service.Movement
}

// step makes one movement that no book is too small for. Its moment may lie
// before those of earlier steps.
func (w *walk) step(n int) service.Movement {
	species := []service.SpeciesID{fetida, eugeniae}[w.random.IntN(2)]
	from, to := w.random.IntN(5)-1, w.random.IntN(5)-1 // four bins, or -1: growth
	mass := unit.Mass(1 + w.random.Int64N(1000))
	if from >= 0 {
		mass = min(mass, w.books[bin(from)][species])
	}
	account := func(n int) journal.Account {
		if n < 0 {
			return journal.Account{Kind: journal.Growth}
		}
		return inBin(n)
	}
	m := move(n, account(from), account(to), mass)
	m.At = exactly(noon.Add(time.Duration(w.random.IntN(40)) * time.Hour))
	for i := range m.Postings {
		m.Postings[i].Commodity = journal.Worms(string(species))
	}
	if mass == 0 {
		m.Postings = nil
	}
	w.all = append(w.all, m)
	add(w.books, m)
	return m
}

// add brings books up to date with the postings of m on bins.
func add(books map[service.BinID]map[service.SpeciesID]unit.Mass, m service.Movement) {
	for _, p := range m.Postings {
		if p.Account.Kind != journal.BinAccount {
			continue
		}
		b := service.BinID(p.Account.Ref)
		if books[b] == nil {
			books[b] = map[service.SpeciesID]unit.Mass{}
		}
		species, _ := p.Commodity.Species()
		books[b][service.SpeciesID(species)] += p.Amount
	}
}

// at sums the postings on bins before a moment.
func (w *walk) at(moment time.Time) map[service.BinID]map[service.SpeciesID]unit.Mass {
	books := map[service.BinID]map[service.SpeciesID]unit.Mass{}
	for _, m := range w.all {
		if m.At.Time.Before(moment) {
			add(books, m)
		}
	}
	return books
}

// nonzero leaves out books that are zero.
func nonzero(books map[service.BinID]map[service.SpeciesID]unit.Mass) map[service.BinID]map[service.SpeciesID]unit.Mass {
	out := map[service.BinID]map[service.SpeciesID]unit.Mass{}
	for b, of := range books {
		of = maps.Clone(of)
		maps.DeleteFunc(of, func(_ service.SpeciesID, m unit.Mass) bool { return m == 0 })
		if len(of) > 0 {
			out[b] = of
		}
	}
	return out
}

func TestTheBooksAreTheSumOfThePostings(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		w := walk{random: rand.New(rand.NewPCG(5, 1)), books: map[service.BinID]map[service.SpeciesID]unit.Mass{}}
		update(t, s, harbour, func(tx service.Tx) error {
			var err error
			for n := range 200 {
				err = errors.Join(err, tx.Movements.Insert(w.step(n)))
			}
			return err
		})
		view(t, s, harbour, func(tx service.Tx) {
			now, err := tx.Movements.StockAt(time.Time{})
			if want := nonzero(w.books); err != nil || !reflect.DeepEqual(now, want) {
				t.Errorf("StockAt now = %v, %v; want %v", now, err, want)
			}
			for n := range 4 {
				got, err := tx.Movements.Stock(bin(n))
				if want := nonzero(w.books)[bin(n)]; err != nil || !maps.Equal(got, want) {
					t.Errorf("Stock(%d) = %v, %v; want %v", n, got, err, want)
				}
			}
			some, err := tx.Movements.Stocks([]service.BinID{bin(1), bin(2), "nowhere"})
			if all := nonzero(w.books); err != nil || !maps.Equal(some[bin(1)], all[bin(1)]) || !maps.Equal(some[bin(2)], all[bin(2)]) || some[bin(0)] != nil {
				t.Errorf("Stocks = %v, %v; want those of 1 and 2 of %v", some, err, all)
			}
			for _, hour := range []int{0, 1, 20, 39, 40} {
				at := noon.Add(time.Duration(hour) * time.Hour)
				got, err := tx.Movements.StockAt(at)
				if want := nonzero(w.at(at)); err != nil || !reflect.DeepEqual(got, want) {
					t.Errorf("StockAt(%d h) = %v, %v; want %v", hour, got, err, want)
				}
				of, err := tx.Movements.StockOf(bin(1), at)
				if want := nonzero(w.at(at))[bin(1)]; err != nil || !maps.Equal(of, want) {
					t.Errorf("StockOf(1, %d h) = %v, %v; want %v", hour, of, err, want)
				}
			}
			entries, err := tx.Movements.Entries()
			if err != nil || !slices.IsSortedFunc(entries, journal.Compare) || len(entries) != len(w.all) {
				t.Fatalf("Entries has %d of %d, or not in order, or %v", len(entries), len(w.all), err)
			}
			for _, c := range []journal.Commodity{journal.Worms(string(fetida)), journal.Worms(string(eugeniae))} {
				for _, a := range []journal.Account{inBin(0), inBin(3), {Kind: journal.Growth}} {
					got, err := tx.Movements.Lines(a, c)
					if want := journal.Lines(entries, a, c); err != nil || !reflect.DeepEqual(got, want) {
						t.Errorf("Lines(%v, %s) = %v, %v; want %v", a, c, got, err, want)
					}
				}
			}
		})
	})
}

func TestAnotherClubsJournalIsEmpty(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		update(t, s, harbour, enter(stocked(1, 0, 500)))
		view(t, s, hillTop, func(tx service.Tx) {
			_, getErr := tx.Movements.Get(stocked(1, 0, 0).ID)
			if !errors.Is(getErr, service.ErrMovementNotFound) {
				t.Errorf("Get: %v; want ErrMovementNotFound", getErr)
			}
			list, err1 := tx.Movements.List(service.Query{Bin: bin(0)})
			stock, err2 := tx.Movements.Stock(bin(0))
			all, err3 := tx.Movements.StockAt(time.Time{})
			past, err4 := tx.Movements.StockAt(noon.AddDate(1, 0, 0))
			lines, err5 := tx.Movements.Lines(inBin(0), journal.Worms(string(fetida)))
			entries, err6 := tx.Movements.Entries()
			last, seq, err7 := tx.Movements.Last()
			must(t, errors.Join(err1, err2, err3, err4, err5, err6, err7))
			if n := len(list) + len(stock) + len(all) + len(past) + len(lines) + len(entries); n != 0 || !last.IsZero() || seq != 0 {
				t.Errorf("found %v %v %v %v %v %v %v %d", list, stock, all, past, lines, entries, last, seq)
			}
		})
		update(t, s, hillTop, enter(stocked(1, 0, 7)))
		view(t, s, harbour, func(tx service.Tx) {
			if stock, err := tx.Movements.Stock(bin(0)); err != nil || stock[fetida] != 500 {
				t.Errorf("the same movement in another club made the book %v, %v; want 500", stock, err)
			}
		})
	})
}

func TestSequencesRiseAcrossClubsAndWritersDoNotMeet(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		var before int64
		for n := range 6 {
			club := []service.ClubID{harbour, hillTop}[n%2]
			update(t, s, club, func(tx service.Tx) error {
				seq, err := tx.Movements.NextSeq()
				if seq <= before {
					return fmt.Errorf("sequence %d after %d", seq, before)
				}
				before = seq
				return err
			})
		}
		done := make(chan error)
		for n := range 8 {
			go func() {
				done <- s.Update(t.Context(), harbour, func(tx service.Tx) error {
					return tx.Movements.Insert(stocked(n, 0, 5))
				})
			}()
		}
		for range 8 {
			if err := <-done; err != nil {
				t.Error(err)
			}
		}
		view(t, s, harbour, func(tx service.Tx) {
			if stock, err := tx.Movements.Stock(bin(0)); err != nil || stock[fetida] != 40 {
				t.Errorf("eight writers at once made the book %v, %v; want 40", stock, err)
			}
		})
	})
}
