package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service"
)

func TestEveryKindOfErrorHasAStatus(t *testing.T) {
	t.Parallel()
	for kind := service.Internal; kind <= service.Unavailable; kind++ {
		if http.StatusText(statusOf[kind]) == "" {
			t.Errorf("kind %d has none", kind)
		}
	}
	for _, e := range service.Catalogue() {
		p := problemOf(e, "id")
		if p.Type != "/problems/"+e.Code || p.Status != statusOf[e.Kind] || p.Title != http.StatusText(p.Status) {
			t.Errorf("%s is %+v", e.Code, p)
		}
	}
}

func TestAnErrorNobodyClassedShowsNothing(t *testing.T) {
	t.Parallel()
	for _, err := range []error{
		fmt.Errorf("open: %w", errors.New("password=hunter2")),
		&service.Error{Kind: service.Internal, Code: "hunter2", Detail: "hunter2"},
		service.ErrInternal.With("hunter2").Because(errors.New("hunter2")),
	} {
		p := problemOf(err, "id")
		if p.Status != http.StatusInternalServerError || p.Type != "/problems/internal" || strings.Contains(fmt.Sprint(p), "hunter2") {
			t.Errorf("%v shows %+v", err, p)
		}
	}
}

func TestTheCauseOfAnErrorIsNotShown(t *testing.T) {
	t.Parallel()
	p := problemOf(fmt.Errorf("bin: %w", service.ErrBinRetired.Because(errors.New("hunter2"))), "id")
	if p.Status != http.StatusConflict || p.Detail != service.ErrBinRetired.Detail || strings.Contains(fmt.Sprint(p), "hunter2") {
		t.Errorf("%+v", p)
	}
}

func TestRunningOutOfTimeIsBusy(t *testing.T) {
	t.Parallel()
	if p := problemOf(fmt.Errorf("query: %w", context.DeadlineExceeded), "id"); p.Type != "/problems/busy" || p.Status != http.StatusServiceUnavailable {
		t.Errorf("%+v", p)
	}
}

func TestRetryAfterIsInWholeSeconds(t *testing.T) {
	t.Parallel()
	busy := service.ErrBusy.With("busy")
	busy.RetryAfter = 1200 * time.Millisecond
	s := testServer(func(*request) (answer, error) { return answer{}, busy })
	if got := s.call("GET", "/x").Header().Get("Retry-After"); got != "2" {
		t.Errorf("Retry-After: %q", got)
	}
}
