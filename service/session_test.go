package service

import (
	"errors"
	"testing"
	"time"
)

func TestWhatARefreshTokenDoesToItsSession(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	day := 24 * time.Hour
	begun := Session{ID: "s", Account: "a", Generation: 5, CreatedAt: start, RotatedAt: start.Add(day), ExpiresAt: start.Add(31 * day)}
	for name, c := range map[string]struct {
		generation int64
		at         time.Duration // after the last rotation
		want       int64         // generation after; -1: ended
	}{
		"the newest token":                  {5, day, 6},
		"the newest token at the last hour": {5, 30*day - 1, 6},
		"the one before, at once":           {4, 0, 5},
		"the one before, after 10 s":        {4, 10 * time.Second, 5},
		"the one before, later":             {4, 10*time.Second + 1, -1},
		"an old one, at once":               {3, 0, -1},
		"one that was never given":          {6, 0, -1},
	} {
		after, err := begun.refreshed(c.generation, begun.RotatedAt.Add(c.at))
		switch {
		case c.want == -1:
			if !errors.Is(err, ErrSessionEnded) || after.Why != TokenReplayed || after.EndedAt.IsZero() {
				t.Errorf("%s: %+v, %v", name, after, err)
			}
		case err != nil || after.Generation != c.want:
			t.Errorf("%s: %+v, %v", name, after, err)
		case after.Generation == begun.Generation && after != begun:
			t.Errorf("%s changes the session: %+v", name, after)
		}
	}
}

func TestASessionThatIsOverStaysAsItIs(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	old := Session{CreatedAt: start, RotatedAt: start, ExpiresAt: start.Add(time.Hour)}
	ended := old.ended(start, SignedOut)
	for name, s := range map[string]Session{"expired": old, "ended": ended} {
		after, err := s.refreshed(s.Generation, start.Add(time.Hour))
		if !errors.Is(err, ErrSessionEnded) || after != s {
			t.Errorf("%s: %+v, %v", name, after, err)
		}
	}
	if again := ended.ended(start.Add(time.Minute), SignedOutAll); again != ended {
		t.Errorf("ended twice: %+v", again)
	}
}

func TestASessionSlidesForThirtyDaysAndLastsForAHundredAndEighty(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	day := 24 * time.Hour
	s := Session{CreatedAt: start, RotatedAt: start, ExpiresAt: lasting(start, start)}
	now := start
	for s.Alive(now) {
		next, err := s.refreshed(s.Generation, now)
		if err != nil {
			t.Fatal(err)
		}
		want := min(now.Add(30*day).Unix(), start.Add(180*day).Unix())
		if next.ExpiresAt.Unix() != want {
			t.Errorf("refreshed on day %v it expires %v", now.Sub(start)/day, next.ExpiresAt)
		}
		s, now = next, now.Add(20*day)
	}
	if now != start.Add(180*day) {
		t.Errorf("it lasted until %v", now)
	}
}
