package web

import (
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Metrics are the figures that /metrics shows, in a registry of their own. Labels take words of the
// program only, never text of a client, so their number is bounded.
type Metrics struct {
	// Registry takes the figures of other rooms.
	Registry *prometheus.Registry

	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	streams  prometheus.Gauge
	messages prometheus.Counter
	scans    map[string]prometheus.Counter
	other    prometheus.Counter
}

func newMetrics() *Metrics {
	scans := prometheus.NewCounterVec(prometheus.CounterOpts{
		Name: "tagd_scans_total", Help: "Scans answered, by verdict.",
	}, []string{"verdict"})
	m := &Metrics{
		Registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "tagd_http_requests_total", Help: "Requests answered, by method, route and status.",
		}, []string{"method", "route", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "tagd_http_request_seconds", Help: "Time from the head of a request to the end of its answer, by route, streams left out.",
			Buckets: []float64{.0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10},
		}, []string{"route"}),
		streams: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "tagd_streams", Help: "Streams of server-sent events that are open.",
		}),
		messages: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "tagd_stream_messages_total", Help: "Messages sent on streams.",
		}),
		scans: map[string]prometheus.Counter{},
		other: scans.WithLabelValues("other"),
	}
	for _, v := range []string{"accepted", "check", "refused", "kept"} {
		m.scans[v] = scans.WithLabelValues(v)
	}
	m.Registry.MustRegister(m.requests, m.seconds, m.streams, m.messages, scans,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// Scan counts a scan that was answered with a verdict: "accepted", "check", "refused" or "kept".
// Any other word is counted as other.
func (m *Metrics) Scan(verdict string) {
	if c, ok := m.scans[verdict]; ok {
		c.Inc()
		return
	}
	m.other.Inc()
}

var methods = map[string]bool{
	http.MethodGet: true, http.MethodHead: true, http.MethodPost: true, http.MethodPut: true,
	http.MethodPatch: true, http.MethodDelete: true, http.MethodOptions: true,
}

// request counts one request. A route is the template that it matched; no template is "none".
func (m *Metrics) request(c echo.Context, took time.Duration) {
	route, method := c.Path(), c.Request().Method
	if route == "" {
		route = "none"
	}
	if !methods[method] {
		method = "other"
	}
	m.requests.WithLabelValues(method, route, strconv.Itoa(c.Response().Status)).Inc()
	if c.Response().Header().Get("Content-Type") != eventStream {
		m.seconds.WithLabelValues(route).Observe(took.Seconds())
	}
}

func (m *Metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.Registry, promhttp.HandlerOpts{})
}
