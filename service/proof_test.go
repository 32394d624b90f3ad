package service_test

import (
	"database/sql"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/proof"
	"lumbricary.example/service/unit"
)

// ledger is a book with at least one of everything that a rule is about, among
// random movements.
type ledger struct {
	*house
	url                        string
	a, b, c                    service.BinID
	stocked, gone, given, back service.MovementID
	counted                    service.CensusID
	fed                        service.FeedingID
	seen                       service.CheckID
	line                       service.CultureID
	first, second              service.QuarantineID
}

func newLedger(t *testing.T, url string, seed uint64) *ledger {
	t.Helper()
	store, err := repo.Open(t.Context(), url, repo.Options{Connections: 4})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	l := &ledger{house: newHouse(t, store), url: url}
	l.a, l.b, l.c = l.bin("A", l.bo.ID), l.bin("B", l.bo.ID), l.bin("C", l.cy.ID)
	l.stocked = l.stock(l.a, l.origin("harbour line"), 2, "2026-01-02").ID
	l.move(split(l.a, l.b, 30, "%", "2026-01-10"))
	l.given = l.move(service.Movement{
		Kind: journal.HandOver, At: service.Moment{Text: "2026-01-12"}, Terms: service.Gift, ToBin: l.c,
		Lines: []service.Line{{FromBin: l.a, Typed: unit.Measure{Value: 100, Unit: "g"}}},
	}).ID
	l.gone = l.move(loss(l.a, 20, "g", "2026-01-15")).ID
	g := func(v float64) unit.Measure { return unit.Measure{Value: v, Unit: "g"} }
	l.counted = must(l.Censuses.Add(t.Context(), l.ana, service.Census{
		Bin: l.a, Species: fetida, At: service.Moment{Text: "2026-01-20"}, Typed: service.CensusText{Estimate: g(900), Low: g(800), High: g(1000)},
	}))(t).ID
	l.back = must(l.Reverse(t.Context(), l.ana, l.move(loss(l.a, 30, "g", "2026-01-21")).ID, service.Movement{Reason: "not lost"}))(t).ID
	batch := must(l.Batches.Add(t.Context(), l.ana, service.Batch{LotNumber: "1", Product: service.CastingsOnly}))(t).ID
	must(l.Harvests.Add(t.Context(), l.ana, service.Harvest{Bin: l.a, At: service.Moment{Text: "2026-01-25"}, Typed: unit.Measure{Value: 1, Unit: "kg"}, Batch: batch}))(t)
	scraps := must(l.Materials.Add(t.Context(), l.ana, service.Material{Name: "scraps", Kind: service.FeedMaterial}))(t).ID
	l.fed = must(l.Feedings.Add(t.Context(), l.ana, service.Feeding{
		Bin: l.a, At: service.Moment{Text: "2026-01-26"}, Items: []service.FeedingItem{{Material: scraps, Typed: unit.Measure{Value: 1, Unit: "kg"}}},
	}))(t).ID
	seen := must(l.Checks.Add(t.Context(), l.ana, service.Check{Bin: l.a, At: service.Moment{Text: "2026-01-27"}}))(t)
	l.seen = must(l.Checks.Remove(t.Context(), l.ana, seen.ID, seen.Version))(t).ID
	must(l.Contacts.Add(t.Context(), l.ana, service.BinContact{Bins: []service.BinID{l.a, l.b}, At: service.Moment{Text: "2026-04-02"}, What: service.SharedTools}))(t)
	cleared := must(l.Clearings.Add(t.Context(), l.ana, service.Clearing{Bin: l.a, At: service.Moment{Text: "2026-04-03"}, How: "scalded"}))(t)
	must(l.Clearings.Remove(t.Context(), l.ana, cleared.ID, cleared.Version))(t)
	isolated := func(from, to string) service.QuarantineID {
		q := service.Quarantine{Bin: l.c, At: service.Moment{Text: from}, Released: service.Moment{Text: to}, Outcome: service.Sound}
		return must(l.Quarantines.Add(t.Context(), l.ana, q))(t).ID
	}
	l.first, l.second = isolated("2026-01-13", "2026-02-01"), isolated("2026-04-20", "2026-04-28")
	l.line = must(l.Cultures.Add(t.Context(), l.ana, service.Culture{Name: "reds", Species: fetida}))(t).ID
	must(l.Origins.Add(t.Context(), l.ana, service.Origin{Name: "quay line", Kind: service.WildOrigin, Species: fetida, Culture: l.line}))(t)
	l.wander(rand.New(rand.NewPCG(seed, 1)))
	return l
}

// wander records random movements; those that the book refuses don't matter.
func (l *ledger) wander(dice *rand.Rand) {
	l.Helper()
	bins := []service.BinID{l.a, l.b, l.c}
	for range 20 {
		from, to := bins[dice.IntN(2)], bins[dice.IntN(2)]
		at := fmt.Sprintf("2026-%02d-%02d", 2+dice.IntN(3), 1+dice.IntN(28))
		var err error
		switch dice.IntN(3) {
		case 0:
			_, err = l.Movements.Add(l.Context(), l.ana, split(from, to, float64(1+dice.IntN(50)), "%", at))
		case 1:
			_, err = l.Movements.Add(l.Context(), l.ana, loss(from, float64(1+dice.IntN(40)), "g", at))
		case 2:
			level := unit.Measure{Value: float64(100 + dice.IntN(900)), Unit: "g"}
			_, err = l.Censuses.Add(l.Context(), l.ana, service.Census{
				Bin: to, Species: fetida, At: service.Moment{Text: at}, Typed: service.CensusText{Estimate: level, Low: level, High: level},
			})
		}
		if err != nil && service.KindOf(err) == service.Internal {
			l.Fatal(err)
		}
	}
}

// damage runs a statement past every guard, as the database's owner.
func (l *ledger) damage(statement string) {
	l.Helper()
	driver := "sqlite"
	if strings.Contains(l.url, "://") {
		driver = "pgx"
	}
	db, err := sql.Open(driver, l.url)
	if err != nil {
		l.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	done, err := db.ExecContext(l.Context(), statement)
	if err != nil {
		l.Fatalf("%s: %v", statement, err)
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		l.Fatalf("%s: %d rows, %v", statement, n, err)
	}
}

func (l *ledger) wrong() []proof.Finding {
	l.Helper()
	return must(l.Prove(l.Context(), "harbour"))(l.T)[0].Wrong
}

// damages are statements by the rule that they break, and what the finding says.
func (l *ledger) damages() map[string][2]string {
	return map[string][2]string{
		"entries are sound":                      {`UPDATE postings SET amount_mg = amount_mg + 7 WHERE line = 0 AND movement_id = '` + string(l.stocked) + `'`, string(l.stocked)},
		"the club sums to zero":                  {`UPDATE postings SET amount_mg = amount_mg + 7 WHERE line = 0 AND movement_id = '` + string(l.stocked) + `'`, "found 7 mg"},
		"reversals take back one entry whole":    {`UPDATE movements SET moment_at = moment_at + 1 WHERE id = '` + string(l.back) + `'`, string(l.back)},
		"books are never negative":               {`UPDATE movements SET moment_at = 1 WHERE id = '` + string(l.gone) + `'`, "bin:" + string(l.a)},
		"nothing stays in transit":               {`UPDATE postings SET account_kind = 'transit', account_ref = 't' WHERE line = 1 AND movement_id = '` + string(l.given) + `'`, "found 100000 mg"},
		"censuses hold":                          {`UPDATE censuses SET posted_mg = posted_mg + 1 WHERE id = '` + string(l.counted) + `'`, string(l.counted)},
		"retired bins are empty":                 {`UPDATE bins SET retired_at = 1777000000000000, retired_precision = 'instant' WHERE id = '` + string(l.c) + `'`, "bin:" + string(l.c)},
		"a bin is in one quarantine at a time":   {`UPDATE quarantines SET released_at = 0 WHERE id = '` + string(l.first) + `'`, string(l.second)},
		"origins belong to cultures that stand":  {`UPDATE cultures SET merged_into = 'another' WHERE id = '` + string(l.line) + `'`, string(l.line)},
		"shares sum to one":                      {`UPDATE lots SET shares = '' WHERE id = '` + string(l.lot(l.a)) + `'`, string(l.lot(l.a))},
		"postings stand at their entry's moment": {`UPDATE postings SET seq = seq + 1000 WHERE movement_id = '` + string(l.stocked) + `'`, string(l.stocked)},
		"books sum up the postings":              {`UPDATE books SET book_mg = book_mg + 5 WHERE account_kind = 'bin' AND account_ref = '` + string(l.b) + `'`, "bin:" + string(l.b)},
		"lots are those of the journal":          {`UPDATE lots SET mass_mg = mass_mg + 1 WHERE id = '` + string(l.lot(l.b)) + `'`, string(l.lot(l.b))},
		"totals are what the records add up to":  {`UPDATE monthly_totals SET records = records + 1 WHERE kind = 'fed'`, "fed"},
		"timelines tell every record once":       {`DELETE FROM bin_events WHERE record_id = '` + string(l.fed) + `'`, string(l.fed)},
	}
}

func TestEveryRuleIsProvenOnADamagedBookAndWhatIsDerivedIsHealed(t *testing.T) {
	t.Parallel()
	for i, v := range proof.Verifications() {
		t.Run(v.Rule, func(t *testing.T) {
			t.Parallel()
			repotest.EachURL(t, func(t *testing.T, url string) {
				l := newLedger(t, url, uint64(i))
				if wrong := l.wrong(); len(wrong) > 0 {
					t.Fatalf("before any damage: %v", wrong)
				}
				damage, ok := l.damages()[v.Rule]
				if !ok {
					t.Fatal("say in damages how this rule is broken")
				}
				l.damage(damage[0])
				named := func(f proof.Finding) bool { return f.Rule == v.Rule && strings.Contains(f.String(), damage[1]) }
				if wrong := l.wrong(); !slices.ContainsFunc(wrong, named) {
					t.Fatalf("%s isn't named: %v", damage[1], wrong)
				}
				if v.Derived {
					l.heals(named)
				}
			})
		})
	}
}

// heals sees that a rebuild tells what it heals, and heals it.
func (l *ledger) heals(named func(proof.Finding) bool) {
	l.Helper()
	if done := must(l.Rebuild(l.Context(), ""))(l.T)[0]; !slices.ContainsFunc(done.Healed, named) || len(done.Wrong) > 0 {
		l.Errorf("healed %v, left %v", done.Healed, done.Wrong)
	}
	if wrong := l.wrong(); len(wrong) > 0 {
		l.Errorf("after it: %v", wrong)
	}
	if again := must(l.Rebuild(l.Context(), "harbour"))(l.T)[0]; len(again.Healed) > 0 {
		l.Errorf("and again %v", again.Healed)
	}
}

func TestARebuildMakesAgainWhatWasLostAltogether(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		l := newLedger(t, url, 99)
		before := must(l.Lots.List(t.Context(), l.ana, service.Query{}))(t)
		for _, table := range []string{"bin_events", "books", "monthly_totals", "lot_parents", "lots"} {
			l.damage("DELETE FROM " + table)
		}
		l.damage(`INSERT INTO bin_events (club_id, bin_id, moment_at, seq, kind, record_id) SELECT club_id, id, 1, 1, 'check', 'nothing' FROM bins`)
		done := must(l.Rebuild(t.Context(), ""))(t)[0]
		for _, want := range []string{"expected the lot, found none", "found 0 mg", "a feeding in the timeline", string(l.seen), "expected no such line"} {
			if !strings.Contains(fmt.Sprint(done.Healed), want) {
				t.Errorf("%q isn't among %v", want, done.Healed)
			}
		}
		after := must(l.Lots.List(t.Context(), l.ana, service.Query{}))(t)
		if wrong := l.wrong(); len(wrong) > 0 || fmt.Sprint(before) != fmt.Sprint(after) {
			t.Errorf("%v\n%v\nis not\n%v", wrong, after, before)
		}
	})
}

func TestAJournalThatIsDamagedIsNotRebuilt(t *testing.T) {
	t.Parallel()
	repotest.EachURL(t, func(t *testing.T, url string) {
		l := newLedger(t, url, 7)
		l.damage(`UPDATE movements SET moment_at = 1 WHERE id = '` + string(l.given) + `'`)
		l.damage(`DELETE FROM bin_events`)
		before := l.wrong()
		if _, err := l.Rebuild(t.Context(), ""); err == nil || !strings.Contains(err.Error(), "club harbour") {
			t.Errorf("error %v", err)
		}
		if after := l.wrong(); !slices.Equal(before, after) {
			t.Errorf("%v is not %v", after, before)
		}
	})
}

func TestAClubThatIsNamedIsProvenAloneAndOneThatIsNotIsNotFound(t *testing.T) {
	t.Parallel()
	h := newHouse(t, repotest.SQLite(t))
	h.found("hill", "Eve")
	if all := must(h.Prove(t.Context(), ""))(t); len(all) != 2 || all[0].Club.Handle != "harbour" || all[1].Club.Handle != "hill" {
		t.Errorf("%v", all)
	}
	if one := must(h.Prove(t.Context(), "hill"))(t); len(one) != 1 || one[0].Club.Handle != "hill" {
		t.Errorf("%v", one)
	}
	_, err := h.Prove(t.Context(), "dale")
	wantError(t, err, service.ErrClubNotFound)
}
