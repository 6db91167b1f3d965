package store

import (
	"context"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
)

// Reminder is a line of the ledger with the mail that told it. Each is
// unique: that is what keeps anybody from being told twice.
type Reminder struct {
	notify.Reminder
	Mail inventory.ID
}

type reminderRow struct {
	bun.BaseModel `bun:"table:reminder"`
	Requirement   string  `bun:"requirement,pk"`
	Subject       refText `bun:"subject,pk,type:text"`
	Occurrence    string  `bun:"occurrence,pk"`
	Do            string  `bun:"step_do,pk"`
	Instance      refText `bun:"instance,pk,type:text"`
	Arm           int     `bun:"arm,pk"`
	Threshold     int     `bun:"threshold,pk"`
	Recipient     key     `bun:"recipient,pk"`
	Mail          key     `bun:"mail"`
	At            int64   `bun:"at"`
}

func allReminders(ctx context.Context, tx bun.IDB) ([]Reminder, error) {
	var rows []reminderRow
	err := tx.NewSelect().Model(&rows).Scan(ctx)
	if err != nil {
		return nil, fmt.Errorf("read reminders: %w", classified(err))
	}
	out := make([]Reminder, len(rows))
	for i, r := range rows {
		out[i] = Reminder{notify.Reminder{Key: compliance.Key{Requirement: r.Requirement, Subject: r.Subject.Ref, Occurrence: r.Occurrence}, Do: compliance.Code(r.Do),
			Instance: r.Instance.Ref, Arm: r.Arm, Threshold: r.Threshold, Recipient: inventory.ID(r.Recipient)}, inventory.ID(r.Mail)}
	}
	return out, nil
}

func (s *Store) saveReminders(ctx context.Context, tx bun.Tx, reminders []Reminder, now time.Time) error {
	rows := make([]reminderRow, len(reminders))
	for i, r := range reminders {
		rows[i] = reminderRow{Requirement: r.Key.Requirement, Subject: refText{r.Key.Subject}, Occurrence: r.Key.Occurrence, Do: string(r.Do),
			Instance: refText{r.Instance}, Arm: r.Arm, Threshold: r.Threshold, Recipient: key(r.Recipient), Mail: key(r.Mail), At: micros(now)}
	}
	if err := insertAll(ctx, tx, s.dialect, rows); err != nil {
		return fmt.Errorf("save reminders: %w", err)
	}
	return nil
}

// DigestKey is whose digest of which day.
type DigestKey struct {
	Recipient inventory.ID
	Day       day.Day
}

// digestDays is how far back digests are read: a local day is at most one day
// away from that of UTC, wherever a person is.
const digestDays = 2

// digests gives the digests of a day and later that were queued, sent or not:
// one for a person and local day is all there may be.
func digests(ctx context.Context, tx bun.IDB, since day.Day) (map[DigestKey]bool, error) {
	var rows []outboxRow
	if err := tx.NewSelect().Model(&rows).Column("recipient", "local_day").Where("kind = ?", KindDigest).Where("local_day >= ?", since).Scan(ctx); err != nil {
		return nil, fmt.Errorf("read the digests: %w", classified(err))
	}
	out := make(map[DigestKey]bool, len(rows))
	for _, r := range rows {
		out[DigestKey{inventory.ID(r.Recipient), r.LocalDay}] = true
	}
	return out, nil
}
