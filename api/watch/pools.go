package watch

import (
	"database/sql"

	"github.com/prometheus/client_golang/prometheus"
)

// pools is a prometheus.Collector of pools of connections.
type pools struct {
	stats func() map[string]sql.DBStats
}

// poolFigures are the figures of a pool.
func poolFigures() []struct {
	name, help string
	kind       prometheus.ValueType
	value      func(sql.DBStats) float64
} {
	return []struct {
		name, help string
		kind       prometheus.ValueType
		value      func(sql.DBStats) float64
	}{
		{"max_connections", "Connections that may be open.", prometheus.GaugeValue, func(s sql.DBStats) float64 { return float64(s.MaxOpenConnections) }},
		{"open_connections", "Connections that are open.", prometheus.GaugeValue, func(s sql.DBStats) float64 { return float64(s.OpenConnections) }},
		{"busy_connections", "Connections in use.", prometheus.GaugeValue, func(s sql.DBStats) float64 { return float64(s.InUse) }},
		{"waits_total", "Times that a call waited for a connection.", prometheus.CounterValue, func(s sql.DBStats) float64 { return float64(s.WaitCount) }},
		{"wait_seconds_total", "Time that calls waited for a connection.", prometheus.CounterValue, func(s sql.DBStats) float64 { return s.WaitDuration.Seconds() }},
	}
}

func poolDesc(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("lumbricary_database_"+name, help, []string{"pool"}, nil)
}

// Describe implements prometheus.Collector.
func (p pools) Describe(out chan<- *prometheus.Desc) {
	for _, f := range poolFigures() {
		out <- poolDesc(f.name, f.help)
	}
}

// Collect implements prometheus.Collector.
func (p pools) Collect(out chan<- prometheus.Metric) {
	for pool, stats := range p.stats() {
		for _, f := range poolFigures() {
			out <- prometheus.MustNewConstMetric(poolDesc(f.name, f.help), f.kind, f.value(stats), pool)
		}
	}
}
