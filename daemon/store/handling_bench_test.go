package store

import (
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/daemon/scale"
	"antidotary/deploy"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// BenchmarkHandling measures a crowd's million sessions: to read them from the
// database, to judge them all and to fill the matrix of a day (everybody and
// every species), and the ratio of the latter two to the first; then the
// effect of one session more.
//
//	go test ./daemon/store -run '^$' -bench Handling -benchtime 1x
func BenchmarkHandling(b *testing.B) {
	today := day.In(noon, time.UTC)
	st, err := Open(b.Context(), filepath.Join(b.TempDir(), "crowd.db"), Options{Clock: func() time.Time { return noon }})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { st.Close() })
	if err := st.Load(b.Context(), scale.Handling(scale.Crowd, 1_000_000, today)); err != nil {
		b.Fatal(err)
	}
	book, err := compliance.ReadRulebook(day.Embedded(), deploy.Rules())
	if err != nil {
		b.Fatal(err)
	}
	full, _, err := st.Snapshot(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	var read, judge, matrix, again time.Duration
	may := 0
	for b.Loop() {
		var only compliance.Snapshot
		read += took(b, func() error { return tables[inventory.KindSession].load(b.Context(), st.reader, &only) })
		var s *ladder.Standings
		judge += took(b, func() error {
			v := compliance.NewView(book, full, compliance.Ask{Now: noon})
			for site := range full.Sites.All() {
				s = v.Standings(site.ID)
				break
			}
			return nil
		})
		matrix += took(b, func() error { may = filled(full, s, today); return nil })
		again += took(b, func() error { oneMore(full, s, today); return nil })
	}
	if may == 0 {
		b.Fatal("nobody may open anything")
	}
	each := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 / float64(b.N) }
	b.ReportMetric(each(read), "ms-read")
	b.ReportMetric(each(judge), "ms-judge")
	b.ReportMetric(each(matrix), "ms-matrix")
	b.ReportMetric(float64(judge+matrix)/float64(read), "all/read")
	b.ReportMetric(each(again), "ms-one-more")
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.HeapAlloc)/(1<<20), "MB-live")
	runtime.KeepAlive(full)
}

// filled answers for everybody and every species, and counts who may.
func filled(all *compliance.Snapshot, s *ladder.Standings, on day.Day) (may int) {
	for p := range all.People.All() {
		for sp := range all.Species.All() {
			if s.May(p.ID, sp.ID, ladder.Hook, on, 0).May == inventory.Yes {
				may++
			}
		}
	}
	return may
}

// oneMore is a session of today, and its effect on what its trainee may open.
func oneMore(all *compliance.Snapshot, s *ladder.Standings, on day.Day) {
	for x := range all.Sessions.All() {
		more := *x
		more.ID, more.On = inventory.NewID(), on
		more.Begun, more.Ended, more.Signed = noon.Add(-time.Hour), noon, noon
		after := s.After(ladder.Change{Sessions: []ladder.SessionChange{{Is: &more}}})
		after.May(more.Trainee, more.Species, ladder.Hook, on, 0)
		return
	}
}
