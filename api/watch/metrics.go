// Package watch tells operators how the service does: metrics for Prometheus and
// traces by OpenTelemetry. What it is told of a call (api.Call) holds no path, no
// query and nobody's name, so it can't tell them on.
package watch

import (
	"context"
	"database/sql"
	"net/http"
	"strconv"
	"time"

	"lumbricary.example/api"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Metrics are the figures of a running program.
type Metrics struct {
	registry *prometheus.Registry
	now      func() time.Time
	calls    *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	running  *prometheus.GaugeVec
	entries  *prometheus.CounterVec
}

// NewMetrics makes the figures, with those of the process and of Go's runtime.
func NewMetrics(now func() time.Time) *Metrics {
	m := &Metrics{
		registry: prometheus.NewRegistry(), now: now,
		calls: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "lumbricary_http_requests_total", Help: "Requests answered, by class of status.",
		}, []string{"method", "route", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "lumbricary_http_request_duration_seconds", Help: "Time from the header read to the answer written.",
			Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30},
		}, []string{"method", "route"}),
		running: prometheus.NewGaugeVec(prometheus.GaugeOpts{
			Name: "lumbricary_http_requests_in_flight", Help: "Requests being answered.",
		}, []string{"method", "route"}),
		entries: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "lumbricary_journal_entries_total", Help: "Entries written to the journals of all clubs.",
		}, []string{"kind"}),
	}
	m.registry.MustRegister(m.calls, m.seconds, m.running, m.entries,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// Handler answers with the figures, in the formats that Prometheus reads.
func (m *Metrics) Handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{Registry: m.registry, EnableOpenMetrics: true})
}

// Watch is an api.Watcher: it counts calls and takes their time.
func (m *Metrics) Watch(ctx context.Context, call api.Call) (context.Context, func(status int)) {
	running := m.running.WithLabelValues(call.Method, call.Route)
	running.Inc()
	start := m.now()
	return ctx, func(status int) {
		running.Dec()
		m.seconds.WithLabelValues(call.Method, call.Route).Observe(m.now().Sub(start).Seconds())
		m.calls.WithLabelValues(call.Method, call.Route, strconv.Itoa(status/100)+"xx").Inc()
	}
}

// Passphrases adds the queue of passphrases waiting to be hashed, which count
// tells.
func (m *Metrics) Passphrases(count func() (working, waiting int)) {
	gauge := func(state string, value func() int) prometheus.GaugeFunc {
		return prometheus.NewGaugeFunc(prometheus.GaugeOpts{
			Name: "lumbricary_passphrases", Help: "Passphrases being hashed, and waiting for it.", ConstLabels: prometheus.Labels{"state": state},
		}, func() float64 { return float64(value()) })
	}
	m.registry.MustRegister(
		gauge("working", func() int { working, _ := count(); return working }),
		gauge("waiting", func() int { _, waiting := count(); return waiting }))
}

// Database adds the pools of connections to the database, which stats tells by
// their names.
func (m *Metrics) Database(stats func() map[string]sql.DBStats) {
	m.registry.MustRegister(pools{stats})
}
