package watch

import (
	"context"
	"database/sql"
	"errors"
	"net"
	"net/http"
	"time"

	"lumbricary.example/api"
	"lumbricary.example/service"
)

// Settings say who watches. The zero value: nobody.
type Settings struct {
	Metrics  string // address to serve Prometheus on, as 127.0.0.1:9090; empty: no metrics
	Endpoint string // of an OpenTelemetry collector, as http://127.0.0.1:4318; empty: no traces
	Headers  string // for the collector, as a=b,c=d
	Version  string // of the program
	Now      func() time.Time
}

// Watch is what watches one program.
type Watch struct {
	addr    string
	metrics *Metrics // nil: none
	traces  *Traces  // nil: none
}

// New makes what the settings say. Errors: those of NewOTLP.
func New(s Settings) (*Watch, error) {
	w := &Watch{addr: s.Metrics}
	if s.Metrics != "" {
		w.metrics = NewMetrics(s.Now)
	}
	if s.Endpoint != "" {
		to, err := NewOTLP(s.Endpoint, s.Headers)
		if err != nil {
			return nil, err
		}
		w.traces = NewTraces(to, s.Version)
	}
	return w, nil
}

// Watchers are those of the calls.
func (w *Watch) Watchers() []api.Watcher {
	var all []api.Watcher
	if w.metrics != nil {
		all = append(all, w.metrics.Watch)
	}
	if w.traces != nil {
		all = append(all, w.traces.Watch)
	}
	return all
}

// Journal is the store through which what is written to journals is counted.
func (w *Watch) Journal(store service.Store) service.Store {
	if w.metrics == nil {
		return store
	}
	return w.metrics.Journal(store)
}

// Program adds what the program tells of itself: its pools of connections and
// its queue of passphrases.
func (w *Watch) Program(pools func() map[string]sql.DBStats, passphrases func() (working, waiting int)) {
	if w.metrics != nil {
		w.metrics.Database(pools)
		w.metrics.Passphrases(passphrases)
	}
}

// Serve serves the metrics at /metrics of their own address until ctx ends, if
// there are any, and tells started the address. Errors: the address can't be had.
func (w *Watch) Serve(ctx context.Context, started func(addr string)) error {
	if w.metrics == nil {
		return nil
	}
	var lc net.ListenConfig
	ln, err := lc.Listen(ctx, "tcp", w.addr)
	if err != nil {
		return err
	}
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", w.metrics.Handler())
	srv := &http.Server{Handler: mux, ReadTimeout: 5 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10}
	context.AfterFunc(ctx, func() { _ = srv.Close() })
	go func() { _ = srv.Serve(ln) }() // it ends with ctx
	started(ln.Addr().String())
	return nil
}

// Close sends what spans are left. Errors: those of the exporter.
func (w *Watch) Close(ctx context.Context) error {
	if w.traces == nil {
		return nil
	}
	if err := w.traces.Close(ctx); err != nil {
		return errors.Join(errors.New("watch: the last spans were lost"), err)
	}
	return nil
}
