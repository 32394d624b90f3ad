package api

import (
	"testing"
	"time"

	"lumbricary.example/service"
)

func TestACursorIsReadBackInItsListOnly(t *testing.T) {
	t.Parallel()
	s := &Server{CursorKey: []byte("key")}
	for _, at := range []service.Place{
		{ID: "a"}, {At: time.Date(2026, 5, 1, 8, 0, 0, 1000, time.UTC), ID: "b"}, {At: time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC), ID: ""},
	} {
		cursor := s.cursor("list", at)
		if got, err := s.place("list", cursor); err != nil || got != at {
			t.Errorf("%v is read as %v, %v", at, got, err)
		}
		if _, err := s.place("other", cursor); service.ErrCursor.Is(err) == false {
			t.Errorf("in another list: %v", err)
		}
		if _, err := (&Server{CursorKey: []byte("other")}).place("list", cursor); !service.ErrCursor.Is(err) {
			t.Errorf("of another service: %v", err)
		}
	}
}

func TestAChangedCursorIsRefused(t *testing.T) {
	t.Parallel()
	s := &Server{CursorKey: []byte("key")}
	good := s.cursor("list", service.Place{ID: "01970000-0000-7000-8000-000000000001"})
	for i := range len(good) {
		for _, other := range []byte("A_") {
			if good[i] == other {
				continue
			}
			bad := good[:i] + string(other) + good[i+1:]
			if _, err := s.place("list", bad); !service.ErrCursor.Is(err) {
				t.Errorf("changed at %d: %v", i, err)
			}
		}
		if _, err := s.place("list", good[:i]); !service.ErrCursor.Is(err) {
			t.Errorf("cut at %d: %v", i, err)
		}
	}
}
