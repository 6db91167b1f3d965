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
	"antidotary/notify/mailbox"
)

// shown is what the page shows: the answer of the last sweep and, in the
// demo, the mails that arrived.
type shown struct {
	mu    sync.Mutex
	check *answer.Check
	at    standing         // of the records that were judged
	house *metrics.House   // of the same judging
	box   *mailbox.Mailbox // nil outside the demo
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

// swept shows what a sweep of this daemon found.
func (s *shown) swept(r *sweep.Result) {
	c := answer.NewCheck(r.Report)
	c.NobodyTold = c.NobodyTold || r.Outcome.NobodyTold
	h := houseOf(r.Report, c.NobodyTold)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.check, s.house = c, h
}

// judged shows what is so at a guard, whoever changed it.
func (s *shown) judged(r *compliance.Report, at standing, nobodyTold bool) {
	c := answer.NewCheck(r)
	c.NobodyTold = c.NobodyTold || nobodyTold
	h := houseOf(r, c.NobodyTold)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.check, s.at, s.house = c, at, h
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
	return s.check != nil && s.at == at
}

// Check implements web.Source.
func (s *shown) Check() *answer.Check {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.check
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
