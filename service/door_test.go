package service_test

import (
	"database/sql"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
	"lumbricary.example/service/journal"
	"lumbricary.example/service/unit"
)

// waits returns when a transaction waits for a lock of the database at url.
func waits(t *testing.T, url string) {
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	n := 0
	for deadline := time.Now().Add(time.Minute); n == 0; runtime.Gosched() {
		err := db.QueryRowContext(t.Context(), `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`).Scan(&n)
		if err != nil || time.Now().After(deadline) {
			t.Fatalf("nobody waits for a lock: %v", err)
		}
	}
}

// A record without a moment happens when its turn has come, not when it began to
// wait: else it would stand in the book before records that were acknowledged
// while it waited, and could be refused, or let through, by a past that nobody saw.
func TestWhatIsToldWithoutAMomentHappensAfterAllThatWasWrittenWhileItWaited(t *testing.T) {
	t.Parallel()
	url := repotest.URLs(t)["postgres"]
	store, err := repo.Open(t.Context(), url, repo.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	h := newHouse(t, store)
	bin, origin := h.bin("tote", h.bo.ID), h.origin("shop")
	var later atomic.Bool
	began, turn := h.now, h.now.Add(time.Minute)
	h.Now = func() time.Time {
		if later.Load() {
			return turn
		}
		return began
	}
	told := make(chan service.Movement)
	err = store.Update(t.Context(), h.club.ID, func(service.Tx) error {
		go func() {
			m, err := h.Movements.Add(t.Context(), h.ana, service.Movement{
				Kind: journal.Stocking, ToBin: bin, Lines: []service.Line{{Origin: origin, Species: fetida, Typed: unit.Measure{Value: 1, Unit: "kg"}}},
			})
			if err != nil {
				t.Error(err)
			}
			told <- m
		}()
		waits(t, url)
		later.Store(true)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if m := <-told; !m.At.Time.Equal(turn) || !m.Recorded.At.Equal(turn) {
		t.Errorf("happened at %s, recorded at %s; want both at %s", m.At.Time, m.Recorded.At, turn)
	}
}
