// Package metrics shows the watch's own health to Prometheus.
//
// The order in which its rules apply: a scrape reads one immutable state and
// never the database; instants are Unix timestamps, not ages, so that a scrape
// that is late does not lie; what is not known has no sample, never a zero
// that would read as 1970 or as fine; no label holds a name or an identifier.
package metrics

import (
	"net/http"
	"runtime/debug"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Job is what is known of one scheduled job.
type Job struct {
	Succeeded time.Time     // end of the last run that ended well; zero: never
	Late      time.Duration // from its slot to its start
	Missed    int           // slots that it stood for beside its own
	Failing   bool          // the newest run has not ended well
	Next      time.Time     // the next slot
	Interval  time.Duration // longest time between two slots
}

// State is what a scrape shows.
type State struct {
	Jobs       map[string]Job
	Mails      map[string]int // by state
	OldestMail time.Time      // that waits; zero: none waits
	Engine     string
	House      *House // nil before anything was judged
}

// Collector shows the newest state.
type Collector struct {
	state    atomic.Pointer[State]
	registry *prometheus.Registry
}

// New makes a collector with a registry of its own, which also has the
// process's and the runtime's own metrics.
func New() *Collector {
	c := &Collector{registry: prometheus.NewRegistry()}
	c.registry.MustRegister(c, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return c
}

// Set replaces the state, which must not be altered after.
func (c *Collector) Set(s State) { c.state.Store(&s) }

// Handler answers scrapes.
func (c *Collector) Handler() http.Handler {
	return promhttp.HandlerFor(c.registry, promhttp.HandlerOpts{Registry: c.registry})
}

func describe(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc("antidotary_"+name, help, labels, nil)
}

var (
	jobSuccess  = describe("job_last_success_timestamp_seconds", "When a job last ended well (Unix time). Absent: never.", "job")
	jobNext     = describe("job_next_timestamp_seconds", "When a job is due next (Unix time).", "job")
	jobInterval = describe("job_interval_seconds", "The longest time between two times at which a job is due.", "job")
	jobLate     = describe("job_lateness_seconds", "How long after it was due the last run that ended well began.", "job")
	jobMissed   = describe("job_missed_slots", "Times at which a job was due and nobody ran it, which its last run stood for.", "job")
	jobFailing  = describe("job_failing", "1 while a job's newest run has not ended well.", "job")
	mails       = describe("outbox_messages", "Mails by state.", "state")
	oldestMail  = describe("outbox_oldest_pending_timestamp_seconds", "When the oldest mail that waits was queued (Unix time). Absent: none waits.")
	build       = describe("build_info", "Always 1; which program this is.", "version", "engine", "go")
)

// Describe implements prometheus.Collector.
func (c *Collector) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{jobSuccess, jobNext, jobInterval, jobLate, jobMissed, jobFailing, mails, oldestMail, build} {
		out <- d
	}
	for _, d := range ofHouse {
		out <- d
	}
}

// Collect implements prometheus.Collector.
func (c *Collector) Collect(out chan<- prometheus.Metric) {
	s := c.state.Load()
	if s == nil {
		return
	}
	gauge := func(d *prometheus.Desc, v float64, labels ...string) {
		out <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	at := func(d *prometheus.Desc, t time.Time, labels ...string) {
		if !t.IsZero() {
			gauge(d, float64(t.UnixMicro())/1e6, labels...)
		}
	}
	for name, j := range s.Jobs {
		at(jobSuccess, j.Succeeded, name)
		at(jobNext, j.Next, name)
		gauge(jobInterval, j.Interval.Seconds(), name)
		gauge(jobFailing, yes(j.Failing), name)
		if !j.Succeeded.IsZero() {
			gauge(jobLate, j.Late.Seconds(), name)
			gauge(jobMissed, float64(j.Missed), name)
		}
	}
	for state, n := range s.Mails {
		gauge(mails, float64(n), state)
	}
	at(oldestMail, s.OldestMail)
	if s.House != nil {
		s.House.collect(gauge, at)
	}
	version, goVersion := programVersion()
	gauge(build, 1, version, s.Engine, goVersion)
}

func programVersion() (version, goVersion string) {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown", "unknown"
	}
	return info.Main.Version, info.GoVersion
}
