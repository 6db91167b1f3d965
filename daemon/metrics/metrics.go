// Package metrics shows the watch's own health to Prometheus.
//
// The order in which its rules apply: a scrape reads one immutable state and
// never the database; instants are Unix timestamps, not ages, so that a scrape
// that is late does not lie; what is not known has no sample, never a zero
// that would read as 1970 or as fine; no label holds a name or an identifier,
// and none is called job or instance: Prometheus puts its own in their place,
// and a rule that asks for ours would match nothing.
package metrics

import (
	"cmp"
	"net/http"
	"runtime/debug"
	"slices"
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
	Answered   time.Time      // when the database last answered all this
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

// Described is a metric as people read of it.
type Described struct {
	Name, Unit, Meaning string
	Labels              []string
}

// described lists every metric of ours, as its variables are made.
var (
	described []Described
	descs     []*prometheus.Desc
)

// All lists every metric of ours, sorted by name.
func All() []Described {
	return slices.SortedFunc(slices.Values(described), func(a, b Described) int { return cmp.Compare(a.Name, b.Name) })
}

func describe(name, unit, meaning string, labels ...string) *prometheus.Desc {
	name = "antidotary_" + name
	desc := prometheus.NewDesc(name, meaning+" Unit: "+unit+".", labels, nil)
	described, descs = append(described, Described{name, unit, meaning, labels}), append(descs, desc)
	return desc
}

var (
	jobSuccess  = describe("job_last_success_timestamp_seconds", unix, "When a job last ended well. Absent: never.", "task")
	jobNext     = describe("job_next_timestamp_seconds", unix, "When a job is due next.", "task")
	jobInterval = describe("job_interval_seconds", "seconds", "The longest time between two times at which a job is due.", "task")
	jobLate     = describe("job_lateness_seconds", "seconds", "How long after it was due the last run that ended well began.", "task")
	jobMissed   = describe("job_missed_slots", "times", "Times at which a job was due and nobody ran it, which its last run stood for.", "task")
	jobFailing  = describe("job_failing", yesNo, "1 while a job's newest run has not ended well.", "task")
	mails       = describe("outbox_messages", "mails", "Mails by state. A state that no mail is in is absent.", "state")
	oldestMail  = describe("outbox_oldest_pending_timestamp_seconds", unix, "When the oldest mail that waits was queued. Absent: none waits.")
	answered    = describe("database_answered_timestamp_seconds", unix, "When the database last answered what is shown here; asked each half minute.")
	build       = describe("build_info", yesNo, "Always 1; which program this is.", "version", "engine", "go")
)

// Describe implements prometheus.Collector.
func (c *Collector) Describe(out chan<- *prometheus.Desc) {
	for _, d := range descs {
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
	at(answered, s.Answered)
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
