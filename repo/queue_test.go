package repo_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"slices"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"
)

// called is a job that was worked on, and for the how-manieth time.
type called struct {
	job     service.DeliveryJob
	attempt int
}

// working works off the queue until the test ends, and tells what it was called
// for. The first failing jobs fail once.
func working(t *testing.T, s *repo.Store, failing int) <-chan called {
	t.Helper()
	calls := make(chan called, 100)
	stop, err := s.Work(t.Context(), slog.New(slog.DiscardHandler), func(_ context.Context, job service.DeliveryJob, attempt int) error {
		calls <- called{job, attempt}
		if attempt <= failing {
			return errors.New("not delivered")
		}
		return nil
	})
	must(t, err)
	t.Cleanup(func() { must(t, stop()) })
	return calls
}

// queueing queues a delivery of the north in the transaction of its row.
func queueing(n int) func(service.Tx) error {
	return func(tx service.Tx) error {
		return tx.Queue.Deliver(service.DeliveryJob{Club: north, Delivery: service.DeliveryID(id(n))})
	}
}

// next waits for a call.
func next(t *testing.T, calls <-chan called) called {
	t.Helper()
	select {
	case c := <-calls:
		return c
	case <-t.Context().Done():
		t.Fatal("nothing was called")
	}
	return called{}
}

func TestWhatIsCommittedIsWorkedOnAndWhatIsRolledBackIsNot(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, s *repo.Store) {
		twoClubs(t, s)
		refused := errors.New("no")
		if err := s.Update(t.Context(), north, func(tx service.Tx) error { return errors.Join(queueing(1)(tx), refused) }); !errors.Is(err, refused) {
			t.Fatal(err)
		}
		must(t, s.Rehearse(t.Context(), north, queueing(2)))
		must(t, s.Update(t.Context(), north, queueing(3)))
		_, err := s.Once(t.Context(), north, service.OnceKey{Key: "k"}, func(ctx context.Context) (service.Answer, error) {
			return service.Answer{}, s.Update(ctx, north, queueing(4))
		})
		must(t, err)
		calls := working(t, s, 0)
		got := []called{next(t, calls), next(t, calls)}
		for _, n := range []int{3, 4} {
			if !slices.Contains(got, called{service.DeliveryJob{Club: north, Delivery: service.DeliveryID(id(n))}, 1}) {
				t.Errorf("%d isn't among %+v", n, got)
			}
		}
		must(t, s.Update(t.Context(), north, queueing(5))) // while it works
		if c := next(t, calls); string(c.job.Delivery) != id(5) {
			t.Errorf("%+v", c)
		}
	})
}

func TestWhatFailsIsWorkedOnAgain(t *testing.T) {
	t.Parallel()
	s := repotest.SQLite(t)
	twoClubs(t, s)
	must(t, s.Update(t.Context(), north, queueing(1)))
	calls := working(t, s, 1)
	first, second := next(t, calls), next(t, calls)
	if first.attempt != 1 || second.attempt != 2 || first.job != second.job {
		t.Errorf("%+v, %+v", first, second)
	}
}

// queuerPath is the variable that makes the test binary queue one delivery
// after the other in that file, until it is killed.
const queuerPath = "REPO_TEST_QUEUER"

func queueForEver(path string) {
	s, err := repo.Open(context.Background(), path, repo.Options{})
	for n := 100; err == nil; n++ {
		if err = s.Update(context.Background(), north, queueing(n)); err == nil {
			fmt.Println(id(n)) // committed: whoever reads this may count on it
		}
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

func TestWhatWasQueuedIsWorkedOnAfterTheDeathOfTheProgram(t *testing.T) {
	t.Parallel()
	path := repotest.SQLiteURL(t)
	s, err := repo.Open(t.Context(), path, repo.Options{})
	must(t, err)
	twoClubs(t, s)
	must(t, s.Close())

	queuer := exec.CommandContext(t.Context(), os.Args[0])
	queuer.Env = append(os.Environ(), queuerPath+"="+path)
	queuer.Stderr = os.Stderr
	out, err := queuer.StdoutPipe()
	must(t, err)
	must(t, queuer.Start())
	told := map[string]bool{}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if told[lines.Text()] = true; len(told) == 20 {
			must(t, queuer.Process.Kill()) // SIGKILL, in the middle of a write
		}
	}
	_ = queuer.Wait()

	s, err = repo.Open(t.Context(), path, repo.Options{})
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	calls := working(t, s, 0)
	for len(told) > 0 {
		delete(told, string(next(t, calls).job.Delivery))
	}
}
