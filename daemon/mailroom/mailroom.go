package mailroom

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/notify/smtp"
)

// lease outlasts the longest attempt: 3 minutes before the final dot and 12
// for its reply (package smtp).
const lease = 20 * time.Minute

// perRound is how many mails are claimed at once: as many as one lease lasts
// for in ordinary times.
const perRound = 20

// Outbox is what the mailroom needs of the database. Each call but Claim is
// guarded by the claim's token and fails once the lease was lost.
type Outbox interface {
	Claim(ctx context.Context, n int, lease time.Duration) ([]store.Claimed, error)
	DataStarted(ctx context.Context, id, token inventory.ID) error
	Finish(ctx context.Context, id, token inventory.ID, o store.Outcome) error
}

// Room sends what is due.
type Room struct {
	Outbox Outbox
	Sender *smtp.Sender
	From   string // envelope sender
	Clock  func() time.Time
	Log    *slog.Logger
}

// Round sends every mail that is due, and gives how many the server took.
func (r *Room) Round(ctx context.Context) (sent int, err error) {
	session := r.Sender.Session()
	defer session.Close()
	for {
		claimed, err := r.Outbox.Claim(ctx, perRound, lease)
		if err != nil {
			return sent, fmt.Errorf("claim mails: %w", err)
		}
		if len(claimed) == 0 {
			return sent, nil
		}
		for i, c := range claimed {
			result, err := r.deliver(ctx, session, c)
			if err != nil {
				return sent, err
			}
			if result.Outcome == smtp.Sent {
				sent++
			}
			if result.Outcome == smtp.ConfigFault {
				err := fmt.Errorf("send mail: the mail server's settings do not work: %w", result.Err)
				return sent, errors.Join(err, r.release(ctx, claimed[i+1:]))
			}
		}
	}
}

// release gives mails back that were claimed and not tried: none of them
// loses an attempt, or waits for its lease to run out.
func (r *Room) release(ctx context.Context, claimed []store.Claimed) error {
	for _, c := range claimed {
		if err := r.Outbox.Finish(context.WithoutCancel(ctx), c.ID, c.Token, r.outcome(c, smtp.Result{Outcome: smtp.ConfigFault})); err != nil {
			return fmt.Errorf("give back a mail: %w", err)
		}
	}
	return nil
}

func (r *Room) deliver(ctx context.Context, session *smtp.Session, c store.Claimed) (smtp.Result, error) {
	result := session.Send(ctx, smtp.Envelope{From: r.From, To: c.Address, ID: c.ID.String()}, c.Bytes, smtp.Hooks{
		BeforeData: func(ctx context.Context) error { return r.Outbox.DataStarted(ctx, c.ID, c.Token) },
	})
	level := slog.LevelInfo
	if result.Err != nil {
		level = slog.LevelWarn
	}
	r.Log.Log(ctx, level, "mail attempted", "mail", c.ID, "mail_attempt", c.Attempts, "result", result)
	// What became of it is recorded even while the service stops.
	if err := r.Outbox.Finish(context.WithoutCancel(ctx), c.ID, c.Token, r.outcome(c, result)); err != nil {
		return result, fmt.Errorf("record what became of a mail: %w", err)
	}
	return result, nil
}

func (r *Room) outcome(c store.Claimed, result smtp.Result) store.Outcome {
	o := store.Outcome{Code: result.Code, Enhanced: result.Enhanced, Reply: result.Reply}
	now := r.Clock()
	switch result.Outcome {
	case smtp.Sent:
		o.State = store.MailSent
	case smtp.Dead:
		o.State = store.MailDead
	case smtp.Ambiguous:
		o.State, o.NextAttempt = store.MailAmbiguous, now.Add(30*time.Minute)
	case smtp.ConfigFault:
		o.State, o.NextAttempt = store.MailQueued, now.Add(time.Minute)
	default:
		o.State, o.NextAttempt = store.MailRetry, now.Add(retryAfter(c.Attempts, result))
	}
	return o
}

// retryAfter: where the server could not be reached 1, 2, 5, 10, then 15
// minutes; where it answered "later" 15, 30, then 60 minutes (RFC 5321
// 4.5.4.1 asks for at least 30 minutes in general and says that the figures
// should be tuned; RFC 1123 5.3.1.1 has two tries in the first hour).
func retryAfter(attempts int, result smtp.Result) time.Duration {
	steps := []time.Duration{time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute}
	if result.Code != 0 {
		steps = []time.Duration{15 * time.Minute, 30 * time.Minute, time.Hour}
	}
	return steps[min(max(attempts-1, 0), len(steps)-1)]
}
