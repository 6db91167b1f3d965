// Package confirm proves, by schedule, that the watch is alive and whole, and
// mails the proof even when all is well.
//
// The order in which its rules apply: the journal is verified from its first
// entry; the records are judged as they are now, without storing anything; the
// administrators of the house get one mail each for a local day, with the
// journal's head to keep elsewhere. A journal that does not hold is told, and
// then the run has failed. A house without mail is proved all the same.
package confirm

import (
	"context"
	"errors"
	"fmt"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// ErrBroken: the journal does not hold.
var ErrBroken = errors.New("the journal does not hold")

// Confirmer makes proofs.
type Confirmer struct {
	Store  *store.Store
	Book   *compliance.Rulebook
	Clock  func() time.Time
	Sender notify.From // no address: nothing is mailed
	// Next gives when the next proof is due, for the mail.
	Next func(after time.Time) time.Time
	Jobs []string // whose runs are counted
	// Waits says that the day's first proof is still to come in a zone: who
	// works there is told then. nil: nobody waits.
	Waits func(zone *time.Location, now time.Time) bool
}

// latestRuns is how many runs of each job are looked at for failures.
const latestRuns = 50

// Run makes one proof.
func (c *Confirmer) Run(ctx context.Context) error {
	proof, err := c.proof(ctx)
	if err != nil {
		return err
	}
	if c.Sender.Address != "" && proof.Report.View.House().Mailed {
		if err := c.mail(ctx, proof); err != nil {
			return err
		}
	}
	if proof.Problem != "" {
		return fmt.Errorf("%w: %s", ErrBroken, proof.Problem)
	}
	return nil
}

func (c *Confirmer) proof(ctx context.Context) (p notify.Proof, err error) {
	verified, err := c.Store.Verify(ctx)
	if err != nil {
		return p, fmt.Errorf("verify the journal: %w", err)
	}
	view, err := c.Store.Read(ctx)
	if err != nil {
		return p, fmt.Errorf("read the records: %w", err)
	}
	counts, err := c.Store.OutboxCounts(ctx)
	if err != nil {
		return p, err
	}
	now := c.Clock()
	p = notify.Proof{Report: compliance.Evaluate(c.Book, view.Snapshot, compliance.Ask{Now: now}), Open: view.Open, Swept: view.Snapshot.Pulse.Swept,
		Sent: counts[store.MailSent], Dead: counts[store.MailDead], Entries: verified.Entries, Head: verified.Head.String(), Problem: verified.Problem, Next: c.Next(now)}
	for state, n := range counts {
		if state != store.MailSent && state != store.MailDead {
			p.Waiting += n
		}
	}
	for _, job := range c.Jobs {
		runs, err := c.Store.Runs(ctx, job, latestRuns)
		if err != nil {
			return p, err
		}
		for _, run := range runs {
			if run.State == store.RunFailed || run.Attempts > 1 {
				p.Failures++
			}
		}
	}
	return p, nil
}

func (c *Confirmer) mail(ctx context.Context, proof notify.Proof) error {
	var mails []store.Mail
	now := c.Clock().UTC().Truncate(time.Microsecond)
	for _, to := range notify.ProofTo(proof.Report) {
		zone := time.UTC
		if z, err := time.LoadLocation(proof.Report.View.Site(to.Site).Zone); err == nil {
			zone = z
		}
		if c.Waits != nil && c.Waits(zone, now) {
			continue
		}
		id, on := inventory.NewID(), day.In(now, zone)
		m, err := notify.ComposeProof(proof, to, on, c.Sender, id.String(), now)
		if err != nil {
			return err
		}
		bytes, err := m.Bytes()
		if err != nil {
			return fmt.Errorf("make the proof of life for %s: %w", to.Called, err)
		}
		mails = append(mails, store.Mail{ID: id, Kind: store.KindProof, Recipient: to.ID, Address: to.Email, LocalDay: on,
			Subject: m.Subject, MessageID: m.MessageID(), Bytes: bytes, QueuedAt: now})
	}
	return c.Store.Queue(ctx, mails)
}
