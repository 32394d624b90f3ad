//go:build bench

package bench_test

import (
	"context"
	"database/sql"
	"encoding/hex"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

const (
	species = "eisenia-fetida"
	seed    = 20260301
	spacing = 10 * time.Second // between two entries
)

// recipe says what a club is made of.
type recipe struct {
	name                string
	lots, bins, origins int
	reach               int // how far, in bins on a ring, stock is passed on; 0: anywhere
}

func recipes() []recipe {
	return []recipe{
		{"20,000 lots, 60 origins, random", 20_000, 200, 60, 0},
		{"600,000 lots, 500 origins, local", 600_000, 3_000, 500, 2},
	}
}

// book is the entries of a club and the lots that they open, in order.
type book struct {
	recipe
	entries []journal.Entry
	lots    []lineage.Lot
	states  map[lineage.Place]lineage.State
	end     time.Time
}

func number(kind, n int) string { return fmt.Sprintf("%08d-0000-7000-8000-%012d", kind, n) }

func binID(n int) string    { return number(1, n) }
func originID(n int) string { return number(2, n) }

// worked makes the book of a recipe: every bin is stocked, then three tenths of
// one are passed on to another, over and over.
func (r recipe) worked(t *testing.T) book {
	t.Helper()
	b := book{recipe: r, states: map[lineage.Place]lineage.State{}, end: time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)}
	random := rand.New(rand.NewPCG(seed, uint64(r.lots)))
	at, index := b.end.Add(-time.Duration(r.lots+1)*spacing), map[string]int{}
	for n := range r.lots {
		to := journal.Bin(binID(n % r.bins))
		postings := journal.Move(journal.Account{Kind: journal.Outside}, to, journal.Worms(species), unit.Kilogram)
		kind := journal.Stocking
		if n < r.bins {
			for i := range postings {
				postings[i].Origin = originID(n * r.origins / r.bins)
			}
		} else {
			from := random.IntN(r.bins)
			onto := (from + 1 + random.IntN(r.bins-1)) % r.bins
			if r.reach > 0 {
				onto = (from + r.bins + (1+random.IntN(r.reach))*(1-2*random.IntN(2))) % r.bins
			}
			stands := b.states[lineage.Place{Bin: binID(from), Species: species}].Book
			postings = journal.Move(journal.Bin(binID(from)), journal.Bin(binID(onto)), journal.Worms(species), max(1, stands*3/10))
			kind = journal.Split
		}
		at = at.Add(spacing)
		e := journal.Entry{ID: number(3, n), Kind: kind, Effective: at, Seq: int64(n + 1), Postings: postings}
		states := map[lineage.Place]lineage.State{}
		for _, p := range lineage.Places(e) {
			states[p] = b.states[p]
		}
		changed, after, err := lineage.Apply(states, e)
		if err != nil {
			t.Fatal(err)
		}
		maps.Copy(b.states, after)
		b.entries = append(b.entries, e)
		for _, l := range changed {
			if i, ok := index[l.ID]; ok {
				b.lots[i] = l
			} else {
				index[l.ID], b.lots = len(b.lots), append(b.lots, l)
			}
		}
	}
	return b
}

// shares is how a lot's row holds them; all ids are UUIDs here.
func shares(s lineage.Shares) []byte {
	var out []byte
	for _, one := range s {
		id, err := hex.DecodeString(strings.ReplaceAll(one.Origin, "-", ""))
		if err != nil {
			panic(err)
		}
		out = append(append(out, 0), id...)
		for shift := 32; shift >= 0; shift -= 8 {
			out = append(out, byte(one.Parts>>shift))
		}
	}
	return out
}

// table is rows of one table.
type table struct {
	name    string
	columns []string
	rows    [][]any
}

func orNull(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// tables lays the book out for a club that one member keeps.
func (b book) tables(club service.ClubID, member service.MemberID) []table {
	movements := table{"movements", strings.Fields("club_id id kind moment_at moment_precision seq recorded_at recorded_by lines terms party currency cause material_mg reason note to_bin to_member"), nil}
	postings := table{"postings", strings.Fields("club_id movement_id line commodity account_kind account_ref amount_mg origin_id moment_at seq"), nil}
	books := table{"books", strings.Fields("club_id account_kind account_ref commodity book_mg"), nil}
	lots := table{"lots", strings.Fields("club_id id bin_id species_id opened_by opened_at opened_seq mass_mg ended_at ended_by depth member_id withdrawn shares"), nil}
	parents := table{"lot_parents", strings.Fields("club_id lot_id line parent_id origin_id mass_mg"), nil}
	sums := map[journal.Account]int64{}
	for _, e := range b.entries {
		us := e.Effective.UnixMicro()
		var to string
		for line, p := range e.Postings {
			sums[p.Account] += int64(p.Amount)
			if p.Amount > 0 {
				to = p.Account.Ref
			}
			postings.rows = append(postings.rows, []any{
				string(club), e.ID, line, string(p.Commodity), string(p.Account.Kind), p.Account.Ref, int64(p.Amount), orNull(p.Origin), us, e.Seq,
			})
		}
		movements.rows = append(movements.rows, []any{
			string(club), e.ID, string(e.Kind), us, "instant", e.Seq, us, string(member), "[]", "", "", "", "", 0, "", "", to, string(member),
		})
	}
	for a, sum := range sums {
		books.rows = append(books.rows, []any{string(club), string(a.Kind), a.Ref, string(journal.Worms(species)), sum})
	}
	for _, l := range b.lots {
		var ended int64
		if !l.EndedAt.IsZero() {
			ended = l.EndedAt.UnixMicro()
		}
		lots.rows = append(lots.rows, []any{
			string(club), l.ID, l.Place.Bin, species, l.OpenedBy, l.OpenedAt.UnixMicro(), l.OpenedSeq, int64(l.Mass), ended, orNull(l.EndedBy),
			l.Depth, string(member), false, shares(l.Shares),
		})
		for line, p := range l.Parents {
			parents.rows = append(parents.rows, []any{string(club), l.ID, line, orNull(p.Lot), p.Origin, int64(p.Mass)})
		}
	}
	return []table{movements, postings, books, lots, parents}
}

// fill writes the rows past everything that would check them.
func fill(ctx context.Context, db *sql.DB, postgres bool, tables []table, last int) error {
	if postgres {
		return copied(ctx, db, tables, last)
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	for _, t := range tables {
		text := "INSERT INTO " + t.name + " (" + strings.Join(t.columns, ", ") + ") VALUES (?" + strings.Repeat(", ?", len(t.columns)-1) + ")"
		insert, err := tx.PrepareContext(ctx, text)
		if err != nil {
			return err
		}
		for _, row := range t.rows {
			if _, err := insert.ExecContext(ctx, row...); err != nil {
				return fmt.Errorf("%s: %w", t.name, err)
			}
		}
	}
	if _, err := tx.ExecContext(ctx, "UPDATE recorded_sequence SET last = ?", last); err != nil {
		return err
	}
	return tx.Commit()
}

// copied is fill on PostgreSQL.
func copied(ctx context.Context, db *sql.DB, tables []table, last int) error {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	return conn.Raw(func(driver any) error {
		pg := driver.(*stdlib.Conn).Conn()
		if _, err := pg.Exec(ctx, "SET session_replication_role = replica"); err != nil {
			return err
		}
		for _, t := range tables {
			if _, err := pg.CopyFrom(ctx, pgx.Identifier{t.name}, t.columns, pgx.CopyFromRows(t.rows)); err != nil {
				return fmt.Errorf("%s: %w", t.name, err)
			}
		}
		if _, err := pg.Exec(ctx, "SELECT setval('recorded_sequence', $1)", last); err != nil {
			return err
		}
		_, err := pg.Exec(ctx, "SET session_replication_role = origin; ANALYZE")
		return err
	})
}

// furnish gives the club its bins and origins.
func (r recipe) furnish(tx service.Tx, member service.MemberID) error {
	now := time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)
	if err := tx.Sites.Insert(service.Site{ID: "cellar", Name: "Cellar", Owner: member, CreatedAt: now, Version: 1}); err != nil {
		return err
	}
	for n := range r.origins {
		o := service.Origin{ID: service.OriginID(originID(n)), Name: fmt.Sprint("Farm ", n), Kind: service.SupplierOrigin, Species: species, CreatedAt: now, Version: 1}
		if err := tx.Origins.Insert(o); err != nil {
			return err
		}
	}
	for n := range r.bins {
		b := service.Bin{
			ID: service.BinID(binID(n)), Name: fmt.Sprint("Bin ", n), Kind: service.Tote, Site: "cellar", Keeper: member, Surface: 0.5,
			Started: service.Moment{Time: now, Precision: service.ToTheInstant}, CreatedAt: now, Version: 1,
		}
		if err := tx.Bins.Insert(b); err != nil {
			return err
		}
	}
	return nil
}

// percentile returns the value at a share of sorted durations.
func percentile(sorted []time.Duration, share float64) time.Duration {
	return sorted[min(len(sorted)-1, int(share*float64(len(sorted))))]
}

func sortedCopy(d []time.Duration) []time.Duration { return slices.Sorted(slices.Values(d)) }
