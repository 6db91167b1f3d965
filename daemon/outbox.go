package daemon

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"antidotary/daemon/answer"
	"antidotary/daemon/config"
	"antidotary/daemon/store"
	"antidotary/notify/words"
)

// OutboxAnswer says where the mails stand.
type OutboxAnswer struct {
	Format int `json:"format"`
	answer.Telling
	Counts  map[store.MailState]int `json:"counts"`
	Waiting []WaitingMail           `json:"waiting"` // not finished, the oldest first
	Hold    *HoldAnswer             `json:"hold"`    // null: mail is not held
	MailOff bool                    `json:"mail_off"`
}

// HoldAnswer says why no mail leaves.
type HoldAnswer struct {
	Since time.Time `json:"since"`
	Why   string    `json:"why"`
}

// WaitingMail is one that is not finished.
type WaitingMail struct {
	To       string          `json:"to"`
	Subject  string          `json:"subject"`
	State    store.MailState `json:"state"`
	QueuedAt time.Time       `json:"queued_at"`
}

// Outbox says how many mails are in each state, which wait, and whether and
// why they are held.
func Outbox(ctx context.Context, opt Options) (*OutboxAnswer, error) {
	opt.settle()
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	out := &OutboxAnswer{Format: answer.Format, MailOff: opt.Config.Mail.Mode == config.MailNone}
	if out.Counts, err = st.OutboxCounts(ctx); err != nil {
		return nil, err
	}
	waiting, err := st.Waiting(ctx)
	if err != nil {
		return nil, err
	}
	out.Waiting = waitingMails(waiting)
	if h, held, err := st.Hold(ctx); err != nil {
		return nil, err
	} else if held {
		out.Hold = &HoldAnswer{h.Since, h.Why}
	}
	return out, nil
}

func waitingMails(mails []store.Waiting) []WaitingMail {
	out := []WaitingMail{}
	for _, m := range mails {
		out = append(out, WaitingMail{m.Address, m.Subject, m.State, m.QueuedAt})
	}
	return out
}

// mailStates are what people call them, in the order in which a mail goes
// through them.
var mailStates = []struct {
	state store.MailState
	words string
}{
	{store.MailQueued, "wait to be sent"},
	{store.MailClaimed, "are about to be sent"},
	{store.MailStarted, "are being sent"},
	{store.MailRetry, "wait for another try"},
	{store.MailAmbiguous, "may have arrived, and are sent again"},
	{store.MailSent, "were taken by the mail server"},
	{store.MailDead, "were given up"},
}

// WriteText prints the answer for a terminal.
func (o *OutboxAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	if o.Hold != nil {
		fmt.Fprintf(&b, "ALL MAIL IS HELD since %s: NOBODY IS BEING TOLD.\nWhy: %s.\nantidotary outbox release --help says when to end that, and how.\n\n", minute(o.Hold.Since), o.Hold.Why)
	}
	if o.MailOff {
		b.WriteString(words.NobodyTold + "\n\n")
	}
	for _, s := range mailStates {
		if n := o.Counts[s.state]; n > 0 {
			fmt.Fprintf(&b, "%5d %s\n", n, s.words)
		}
	}
	if len(o.Counts) == 0 {
		b.WriteString("No mail was ever queued.\n")
	}
	if len(o.Waiting) > 0 {
		b.WriteString("\nNot finished, the oldest first:\n")
		listed(&b, o.Waiting)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func listed(b *strings.Builder, mails []WaitingMail) {
	for _, m := range mails {
		fmt.Fprintf(b, "  %s  %s: %s\n", minute(m.QueuedAt), m.To, m.Subject)
	}
}

func minute(t time.Time) string { return t.UTC().Format("2 Jan 2006 15:04 UTC") }

// ReleaseAnswer says what the end of a hold did.
type ReleaseAnswer struct {
	Format int `json:"format"`
	answer.Telling
	Ended   *HoldAnswer   `json:"ended"`   // null: mail was not held
	Dropped []WaitingMail `json:"dropped"` // never go out
	Waiting int           `json:"waiting"` // go out now
}

// Release ends the hold on mail, beside a daemon too. With drop, what waited
// when the hold began never goes out.
func Release(ctx context.Context, opt Options, by store.Actor, drop bool) (*ReleaseAnswer, error) {
	opt.settle()
	how, err := opt.stored()
	if err != nil {
		return nil, err
	}
	st, err := store.OpenForRelease(ctx, opt.Config.Database, how)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	released, err := st.Release(ctx, by, drop)
	if err != nil {
		return nil, fmt.Errorf("end the hold on mail: %w", err)
	}
	out := &ReleaseAnswer{Format: answer.Format, Dropped: []WaitingMail{}}
	if released != nil {
		out.Ended = &HoldAnswer{released.Hold.Since, released.Hold.Why}
		out.Dropped, out.Waiting = waitingMails(released.Dropped), released.Waiting
	}
	return out, nil
}

// WriteText prints the answer for a terminal.
func (r *ReleaseAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	switch {
	case r.Ended == nil:
		b.WriteString("Mail was not held, and nothing was changed.\n")
	default:
		fmt.Fprintf(&b, "The hold on mail has ended (since %s: %s).\n%d mails go out as soon as the watch runs.\n", minute(r.Ended.Since), r.Ended.Why, r.Waiting)
	}
	if len(r.Dropped) > 0 {
		fmt.Fprintf(&b, "%d mails never go out, and count as told: whoever did not get them before hears\nof it only when it comes due again. Tell them yourself:\n", len(r.Dropped))
		listed(&b, r.Dropped)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
