package sweep

import (
	"fmt"
	"time"

	"antidotary/daemon/store"
	"antidotary/inventory"
	"antidotary/notify"
)

// compose makes the bytes of every digest, as they will be sent however often
// they are tried, and ties the reminders to the mail that tells them.
func (s *Sweeper) compose(r *Result, now time.Time) ([]store.Reminder, error) {
	if s.Sender.Address == "" { // mail is switched off: nothing is told, and the ledger knows it
		r.Outcome.NobodyTold, r.Outcome.Digests = true, nil
	}
	var told []store.Reminder
	for i := range r.Outcome.Digests {
		d := &r.Outcome.Digests[i]
		mail, err := s.mail(d, r, now)
		if err != nil {
			return nil, err
		}
		r.Mails = append(r.Mails, mail)
		for _, reminder := range d.Reminders {
			told = append(told, store.Reminder{Reminder: reminder, Mail: mail.ID})
		}
	}
	return told, nil
}

func (s *Sweeper) mail(d *notify.Digest, r *Result, now time.Time) (store.Mail, error) {
	id := inventory.NewID()
	m, err := notify.Compose(d, r.Report, s.Sender, id.String(), now)
	if err != nil {
		return store.Mail{}, err
	}
	bytes, err := m.Bytes()
	if err != nil {
		return store.Mail{}, fmt.Errorf("make the digest for %s: %w", d.To.Called, err)
	}
	return store.Mail{ID: id, Kind: store.KindDigest, Recipient: d.To.ID, Address: d.To.Email, LocalDay: d.Day,
		Subject: m.Subject, MessageID: m.MessageID(), Bytes: bytes, QueuedAt: now}, nil
}
