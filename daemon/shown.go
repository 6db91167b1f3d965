package daemon

import (
	"slices"
	"strings"
	"sync"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/metrics"
	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/daemon/web"
	"antidotary/inventory"
	"antidotary/notify/mailbox"
)

// shown is what the page shows: the answer of the last judging, what is known
// of the watch itself and, in the demo, the mails that arrived.
type shown struct {
	clock func() time.Time
	box   *mailbox.Mailbox // nil outside the demo

	mu     sync.Mutex
	check  *answer.Check
	at     standing       // of the records that were judged
	house  *metrics.House // of the same judging
	page   *web.Page      // nil before the first judging
	life   *web.Life      // nil: not known
	report *compliance.Report

	explaining sync.Mutex // an explanation fills what the report keeps
}

// standing is everything that the page depends on.
type standing struct {
	store.Guard
	held    string    // why mail is held
	quarter time.Time // of an hour: a day begins somewhere at any of them, and nowhere else
}

func standingAt(g store.Guard, held string, now time.Time) standing {
	return standing{g, held, now.UTC().Truncate(15 * time.Minute)}
}

// swept takes what a sweep of this daemon found. The page waits for the
// judging that follows, which knows what changed too.
func (s *shown) swept(r *sweep.Result) {
	c := answer.NewCheck(r.Report)
	c.NobodyTold = c.NobodyTold || r.Outcome.NobodyTold
	h := houseOf(r.Report, c.NobodyTold)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.check, s.house = c, h
}

// judged shows what is so at a guard, whoever changed it, and what changed to
// bring it about; since may be nil.
func (s *shown) judged(r *compliance.Report, at standing, nobodyTold bool, since *store.Since, zone *time.Location) {
	c := answer.NewCheck(r)
	c.NobodyTold = c.NobodyTold || nobodyTold
	h := houseOf(r, c.NobodyTold)
	page := pageOf(r, c, since, zone)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.check, s.at, s.house, s.page, s.report = c, at, h, page, r
}

// lives shows what is known of the watch itself.
func (s *shown) lives(l *web.Life) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.life = l
}

// measured gives what the metrics show of the house; nil before the first
// judging.
func (s *shown) measured() *metrics.House {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.house
}

func (s *shown) isAt(at standing) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.page != nil && s.at == at
}

// Check gives the newest answer; nil before the first sweep.
func (s *shown) Check() *answer.Check {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.check
}

// Now implements web.Source.
func (s *shown) Now() time.Time { return s.clock() }

// Page implements web.Source.
func (s *shown) Page() *web.Page {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.page
}

// Life implements web.Source.
func (s *shown) Life() *web.Life {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.life
}

// Explain implements web.Source.
func (s *shown) Explain(subject string) *answer.Explain {
	var ref inventory.Ref
	if err := ref.UnmarshalText([]byte(subject)); err != nil || ref.IsZero() {
		return nil
	}
	s.mu.Lock()
	r := s.report
	s.mu.Unlock()
	if r == nil {
		return nil
	}
	s.explaining.Lock()
	defer s.explaining.Unlock()
	e := answer.NewExplain(r, ref)
	if len(e.Duties) == 0 && !recorded(r.View, ref) {
		return nil
	}
	return e
}

func recorded(v *compliance.View, ref inventory.Ref) bool {
	if ref.Kind == inventory.KindHolding {
		_, known := v.Sites.Get(ref.At)
		return known && v.Lookup(inventory.Ref{Kind: inventory.KindSpecies, ID: ref.ID}) != nil
	}
	return v.Lookup(ref) != nil
}

// Mails implements web.Source.
func (s *shown) Mails() []web.Mail {
	if s.box == nil {
		return nil
	}
	var mails []web.Mail
	for _, m := range slices.Backward(s.box.Messages()) {
		mails = append(mails, web.Mail{To: strings.Join(m.To, ", "), Subject: m.Subject, State: "arrived in the mailbox of this demo", HTML: m.HTML, Text: m.Text})
	}
	return mails
}
