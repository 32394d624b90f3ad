package api

import (
	"strconv"
	"strings"
	"testing"
	"time"
)

// at is a clock that a test moves.
type at struct{ time.Time }

func (a *at) now() time.Time { return a.Time }

func limiterOf(perMinute float64, burst int) (*limiter, *at) {
	clock := &at{time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)}
	return newLimiter("test", Allowance{perMinute, burst}, clock.now), clock
}

func TestABucketHoldsABurstAndFillsAgain(t *testing.T) {
	t.Parallel()
	l, clock := limiterOf(60, 3)
	for left := 2; left >= 0; left-- {
		if s := l.take("ana"); s.wait != 0 || s.left != left || s.reset != time.Duration(3-left)*time.Second {
			t.Errorf("%+v, want %d left", s, left)
		}
	}
	for range 5 { // asking in vain costs nothing
		if s := l.take("ana"); s.wait != time.Second || s.left != 0 {
			t.Errorf("%+v", s)
		}
	}
	if s := l.take("ben"); s.wait != 0 {
		t.Errorf("another caller: %+v", s)
	}
	clock.Time = clock.Add(time.Second)
	if s := l.take("ana"); s.wait != 0 || s.left != 0 {
		t.Errorf("a second later: %+v", s)
	}
}

func TestIdleCallersAreForgotten(t *testing.T) {
	t.Parallel()
	l, clock := limiterOf(60, 3)
	for i := range 100 {
		l.take(strconv.Itoa(i))
	}
	clock.Time = clock.Add(2 * time.Second)
	l.take("busy")
	clock.Time = clock.Add(time.Second)
	l.take("busy")
	if len(l.buckets) != 1 {
		t.Errorf("%d callers are remembered", len(l.buckets))
	}
}

func TestALimiterRemembersSoManyAtMost(t *testing.T) {
	t.Parallel()
	l, _ := limiterOf(60, 3)
	for i := range mostBuckets + 10 {
		l.take(strconv.Itoa(i))
	}
	if len(l.buckets) > mostBuckets {
		t.Errorf("%d callers are remembered", len(l.buckets))
	}
}

func TestWithoutAnAllowanceThereIsNoLimiter(t *testing.T) {
	t.Parallel()
	for _, of := range []Allowance{{}, {PerMinute: 60}, {Burst: 3}, {-1, 3}} {
		if newLimiter("x", of, time.Now) != nil {
			t.Errorf("%+v limits", of)
		}
	}
}

func TestLimitsAreReadFromSettings(t *testing.T) {
	t.Parallel()
	read := func(set map[string]string) (Limits, error) {
		return ReadLimits(func(k string) string { return set[k] })
	}
	usual, err := read(nil)
	if want := (Limits{Allowance{600, 120}, Allowance{30, 60}, Allowance{3, 10}}); err != nil || usual != want {
		t.Errorf("%+v, %v; want %+v", usual, err, want)
	}
	if l, err := read(map[string]string{"CALLS_PER_MINUTE": "0", "SIGN_INS_BURST": "6"}); err != nil || l.Calls.PerMinute != 0 || l.Account.Burst != 1 {
		t.Errorf("%+v, %v", l, err)
	}
	_, err = read(map[string]string{"CALLS_PER_MINUTE": "many", "CALLS_BURST": "-1"})
	if err == nil || !strings.Contains(err.Error(), "CALLS_PER_MINUTE") || !strings.Contains(err.Error(), "CALLS_BURST") {
		t.Error(err)
	}
}
