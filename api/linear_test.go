package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
	"lumbricary.example/service"

	"github.com/anishathalye/porcupine"
)

// call is what a client asks of two bins: to read one, to give from one to the
// other at once, to promise, or to take a promise back.
type call struct {
	kind  string // read, give, promise, cancel
	from  int
	grams int
}

// outcome is what it was told.
type outcome struct {
	done  bool // false: refused for want of worms
	grams int  // of a read
}

// shelf is two bins as one keeper of them both would see them: no call happens
// beside another.
type shelf struct{ book, kept [2]int }

// oneAtATime is the model that histories are held against.
func oneAtATime() porcupine.Model {
	return porcupine.Model{
		Init: func() any { return shelf{book: [2]int{500, 500}} },
		Step: func(state, input, output any) (bool, any) {
			s, c, o := state.(shelf), input.(call), output.(outcome)
			left := s.book[c.from] - s.kept[c.from]
			switch c.kind {
			case "read":
				return s.book[c.from] == o.grams, s
			case "give":
				if o.done != (s.book[c.from] >= c.grams) {
					return false, s
				}
				if o.done {
					s.book[c.from] -= c.grams
					s.book[1-c.from] += c.grams
				}
			case "promise":
				if o.done != (left >= c.grams) {
					return false, s
				}
				if o.done {
					s.kept[c.from] += c.grams
				}
			case "cancel":
				s.kept[c.from] -= c.grams
			}
			return true, s
		},
	}
}

// scales is a program behind a real listener, with a bin of each of two keepers.
type scales struct {
	t       *testing.T
	program *apitest.Program
	base    string // address
	url     string // of the club
	token   string
	bins    [2]string
	keepers [2]string
}

func newScales(t *testing.T, store service.Store) *scales {
	t.Helper()
	p := apitest.On(t, store)
	server := httptest.NewServer(p.Server.Handler())
	t.Cleanup(server.Close)
	return &scales{t: t, program: p, base: server.URL}
}

// fresh puts the scales into a new club, with 500 g in either bin.
func (s *scales) fresh(n int) {
	s.t.Helper()
	handle := fmt.Sprint("harbour-", n)
	ana := s.program.SignUp(fmt.Sprint("ana-", n)).Found(handle)
	s.url, s.token = s.base+"/v1/clubs/"+handle, ana.Token
	site := ana.Post("/sites", `{"name":"Cellar"}`).Want(http.StatusCreated).ID()
	for i, name := range []string{"Bo", "Cy"} {
		s.keepers[i] = ana.Post("/members", `{"name":"`+name+`","role":"keeper"}`).Want(http.StatusCreated).ID()
		s.bins[i] = ana.Post("/bins", fmt.Sprintf(`{"name":"%s's tote","kind":"tote","site":%q,"keeper":%q,"started":"2026-01-01"}`, name, site, s.keepers[i])).Want(http.StatusCreated).ID()
		ana.Post("/movements", fmt.Sprintf(`{"kind":"stocking","at":"2026-02-01","to_bin":%q,"lines":[{"species":"eisenia-fetida","quantity":{"value":500,"unit":"g"}}]}`, s.bins[i])).Want(http.StatusCreated)
	}
}

// send makes a request and decodes the answer.
func (s *scales) send(method, path, body string) (status int, answer map[string]any, err error) {
	r, err := http.NewRequestWithContext(context.Background(), method, s.url+path, strings.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Authorization", "Bearer "+s.token)
	r.Header.Set("Content-Type", "application/json")
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer got.Body.Close()
	return got.StatusCode, answer, json.NewDecoder(got.Body).Decode(&answer)
}

// do makes a call, again while the service is busy. promises are those of the
// client that it hasn't taken back.
func (s *scales) do(c call, promise string) (o outcome, id string, err error) {
	for {
		s.program.Clock.Move(time.Millisecond)
		var status int
		var answer map[string]any
		switch c.kind {
		case "read":
			status, answer, err = s.send(http.MethodGet, "/bins/"+s.bins[c.from]+"/stock", "")
		case "cancel":
			status, answer, err = s.send(http.MethodPost, "/transfers/"+promise+"/cancel", "{}")
		default:
			status, answer, err = s.send(http.MethodPost, "/transfers", fmt.Sprintf(
				`{"terms":"gift","done":%v,"legs":[{"giver":%q,"receiver":%q,"to_bin":%q,"goods":[{"from_bin":%q,"species":"eisenia-fetida","quantity":{"value":%d,"unit":"g"}}]}]}`,
				c.kind == "give", s.keepers[c.from], s.keepers[1-c.from], s.bins[1-c.from], s.bins[c.from], c.grams))
		}
		switch {
		case err != nil:
			return o, "", err
		case status == http.StatusServiceUnavailable:
			continue
		case status == http.StatusConflict && c.kind != "cancel":
			return outcome{}, "", nil
		case status >= http.StatusBadRequest:
			return o, "", fmt.Errorf("%s answered %d: %v", c.kind, status, answer)
		}
		o.done = true
		if book, ok := answer["book_g"].(float64); ok {
			o.grams = int(book)
		}
		id, _ = answer["id"].(string)
		return o, id, nil
	}
}

// history lets clients make calls side by side, and notes when each was made and
// answered.
func (s *scales) history(seed uint64, calls int, draw func(*rand.Rand) call) []porcupine.Operation {
	s.t.Helper()
	var all []porcupine.Operation
	var lock sync.Mutex
	var work sync.WaitGroup
	start := time.Now()
	for client := range linearClients {
		work.Go(func() {
			r := rand.New(rand.NewPCG(seed, uint64(client)))
			promised := map[string]call{}
			for range calls {
				c := draw(r)
				promise := ""
				for id, p := range promised {
					if r.IntN(2) == 0 {
						promise, c = id, call{"cancel", p.from, p.grams}
					}
					break
				}
				op := porcupine.Operation{ClientId: client, Input: c, Call: int64(time.Since(start))}
				got, id, err := s.do(c, promise)
				if err != nil {
					s.t.Error(err)
					return
				}
				op.Output, op.Return = got, int64(time.Since(start))
				delete(promised, promise)
				if c.kind == "promise" && got.done {
					promised[id] = c
				}
				lock.Lock()
				all = append(all, op)
				lock.Unlock()
			}
		})
	}
	work.Wait()
	return all
}

func anyCall(r *rand.Rand) call {
	return call{[]string{"read", "give", "give", "promise"}[r.IntN(4)], r.IntN(2), 1 + r.IntN(200)}
}

// largePromise is a promise of most of what a bin has.
func largePromise(r *rand.Rand) call { return call{"promise", r.IntN(2), 260 + r.IntN(200)} }

// counts are how many histories to look at, and how many calls each client makes;
// the build server raises them.
func counts() (histories, calls int) {
	histories, calls = 10, 20
	if n, err := strconv.Atoi(os.Getenv("LINEAR_HISTORIES")); err == nil {
		histories = n
	}
	if n, err := strconv.Atoi(os.Getenv("LINEAR_CALLS")); err == nil {
		calls = n
	}
	return histories, calls
}

const linearClients = 8

// TestCallsSideBySideAreAsIfOneAfterAnother lets eight clients transfer the worms
// of two bins through HTTP at once, and looks for an order of the calls, one after
// another, that explains every answer.
func TestCallsSideBySideAreAsIfOneAfterAnother(t *testing.T) {
	t.Parallel()
	repotest.Each(t, func(t *testing.T, store *repo.Store) {
		histories, calls := counts()
		s := newScales(t, store)
		for i := range histories {
			s.fresh(i)
			if got := porcupine.CheckOperationsTimeout(oneAtATime(), s.history(uint64(i), calls, anyCall), 5*time.Minute); got != porcupine.Ok {
				t.Fatalf("history %d: %s", i, got)
			}
		}
	})
}

// hasty is a store that looks at what is promised before it lets nobody else
// write.
type hasty struct{ service.Store }

// Update implements service.Store.
func (s hasty) Update(ctx context.Context, club service.ClubID, fn func(service.Tx) error) error {
	var open []service.Transfer
	err := s.View(ctx, club, func(tx service.Tx) (err error) {
		open, err = tx.Transfers.Open()
		return err
	})
	if err != nil {
		return err
	}
	return s.Store.Update(ctx, club, func(tx service.Tx) error {
		tx.Transfers = early{tx.Transfers, open}
		return fn(tx)
	})
}

// early is transfers as they were.
type early struct {
	service.TransferRepo
	open []service.Transfer
}

// Open implements service.TransferRepo.
func (e early) Open() ([]service.Transfer, error) { return e.open, nil }

func TestARaceThatIsPlantedIsFound(t *testing.T) {
	t.Parallel()
	s := newScales(t, hasty{repotest.Postgres(t)})
	for i := range 100 { // short ones: it takes long to see that no order explains a history
		s.fresh(i)
		if porcupine.CheckOperationsTimeout(oneAtATime(), s.history(uint64(i), 4, largePromise), 5*time.Second) == porcupine.Illegal {
			return
		}
	}
	t.Error("worms were promised by what was promised a moment ago, and every history looked as if calls came one after another")
}
