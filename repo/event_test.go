package repo_test

import (
	"slices"
	"strconv"
	"testing"
	"time"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// event is the n-th event of a bin: two in one moment.
func event(n, in int) service.BinEvent {
	return service.BinEvent{Bin: bin(in), At: moment(n), Seq: int64(1000 + n), Kind: service.CheckEvent, ID: number("check", n)}
}

func TestATimelineIsPagedInTheOrderOfWhatHappened(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		clubs(t, s)
		feeding := event(8, 0)
		feeding.Kind = service.FeedingEvent
		add := func(events ...service.BinEvent) {
			t.Helper()
			update(t, s, harbour, func(tx service.Tx) error { return tx.Events.Insert(events...) })
		}
		page := func(q service.Query, want ...service.BinEvent) {
			t.Helper()
			view(t, s, harbour, func(tx service.Tx) {
				if got, err := tx.Events.List(q); err != nil || !slices.Equal(got, want) {
					t.Errorf("List(%+v) = %v, %v; want %v", q, got, err, want)
				}
			})
		}
		after := func(e service.BinEvent) service.Place {
			return service.Place{At: e.At, ID: strconv.FormatInt(e.Seq, 10)}
		}
		add()
		add(feeding, event(2, 0), event(2, 1), event(4, 0), event(6, 0))
		page(service.Query{Bin: bin(0), Limit: 2}, event(2, 0), event(4, 0))
		add(event(3, 0), event(5, 0))
		page(service.Query{Bin: bin(0), Limit: 2, After: after(event(4, 0))}, event(5, 0), event(6, 0))
		page(service.Query{Bin: bin(0), Limit: 2, After: after(event(6, 0))}, feeding)
		page(service.Query{Bin: bin(0), Newest: true, Limit: 2}, feeding, event(6, 0))
		page(service.Query{Bin: bin(0), Newest: true, After: after(event(5, 0))}, event(4, 0), event(3, 0), event(2, 0))
		page(service.Query{Bin: bin(1)}, event(2, 1))
		page(service.Query{Bin: bin(0), Kind: string(service.FeedingEvent)}, feeding)
		page(service.Query{Bin: bin(0), From: moment(4), To: moment(4).Add(time.Hour)}, event(4, 0), event(5, 0))
		view(t, s, hillTop, func(tx service.Tx) {
			if got, err := tx.Events.List(service.Query{Bin: bin(0)}); err != nil || len(got) != 0 {
				t.Errorf("another club's timeline: %v, %v", got, err)
			}
		})
	})
}
