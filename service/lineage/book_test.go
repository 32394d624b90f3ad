package lineage_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

const red = "eisenia-fetida"

var (
	worms = journal.Worms(red)
	start = time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC)
)

func day(n int) time.Time { return start.AddDate(0, 0, n) }

func in(bin string) lineage.Place { return lineage.Place{Bin: bin, Species: red} }

func underWay(transfer string) lineage.Place { return lineage.Place{Transit: transfer, Species: red} }

func lotOf(entry, bin string) string { return lineage.LotID(entry, in(bin)) }

// club is a journal that a test writes, one entry a day, named e1, e2, …
type club struct{ entries []journal.Entry }

func (c *club) add(k journal.Kind, ps ...journal.Posting) string {
	n := len(c.entries) + 1
	id := fmt.Sprint("e", n)
	c.entries = append(c.entries, journal.Entry{ID: id, Kind: k, Effective: day(n), Seq: int64(n), Postings: ps})
	return id
}

func (c *club) stock(bin, origin string, m unit.Mass) string {
	return c.add(journal.Stocking, journal.Receive(origin, journal.Bin(bin), worms, m)...)
}

func (c *club) move(from, to string, m unit.Mass) string {
	return c.add(journal.Split, journal.Move(journal.Bin(from), journal.Bin(to), worms, m)...)
}

func (c *club) grow(bin string, m unit.Mass) string {
	return c.add(journal.Census, journal.Assert(journal.Bin(bin), worms, m, 0)...)
}

func (c *club) lose(bin string, m unit.Mass) string {
	return c.add(journal.Loss, journal.Move(journal.Bin(bin), journal.Account{Kind: journal.Mortality}, worms, m)...)
}

func (c *club) send(bin, transfer string, m unit.Mass) string {
	return c.add(journal.HandOver, journal.Move(journal.Bin(bin), journal.InTransit(transfer), worms, m)...)
}

func (c *club) arrive(transfer string, a journal.Arrival) string {
	return c.add(journal.HandOver, journal.Arrive(transfer, worms, a)...)
}

// reverse takes an entry back, recorded last.
func (c *club) reverse(id string) {
	i := slices.IndexFunc(c.entries, func(e journal.Entry) bool { return e.ID == id })
	r, err := journal.Reverse(c.entries[i], id+"-back")
	if err != nil {
		panic(err)
	}
	r.Seq = int64(len(c.entries) + 1)
	c.entries = append(c.entries, r)
}

// at moves the last entry to another time.
func (c *club) at(when time.Time) { c.entries[len(c.entries)-1].Effective = when }

func (c *club) derive(t *testing.T) (map[string]lineage.Lot, map[lineage.Place]lineage.State) {
	t.Helper()
	lots, states, err := lineage.Derive(c.entries)
	if err != nil {
		t.Fatal(err)
	}
	return lots, states
}
