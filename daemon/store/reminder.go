package store

import (
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
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

// Reminders gives all that was ever told, with the mails that told it. It
// grows for ever: a sweep asks the Ledger of what is open.
func (s *Store) Reminders(ctx context.Context) (out []Reminder, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		rows, err := rowsOf[reminderRow](ctx, tx, "reminder")
		for _, r := range rows {
			out = append(out, Reminder{notify.Reminder{Key: compliance.Key{Requirement: r.Requirement, Subject: r.Subject.Ref, Occurrence: r.Occurrence}, Do: compliance.Code(r.Do),
				Instance: r.Instance.Ref, Arm: r.Arm, Threshold: r.Threshold, Recipient: inventory.ID(r.Recipient)}, inventory.ID(r.Mail)})
		}
		return err
	})
	return out, err
}

// tellings gives what was told of some findings. The database puts the lines
// of each together, which is several times as fast as a row for each.
func tellings(ctx context.Context, tx bun.IDB, d dialect, keys []compliance.Key) (out []notify.Told, err error) {
	for some := range slices.Chunk(keys, perStatement) {
		values, args := make([]string, len(some)), make([]any, 0, 3*len(some))
		for i, k := range some {
			values[i] = "(?, ?, ?)"
			args = append(args, k.Requirement, k.Subject.String(), k.Occurrence)
		}
		rows, err := tx.QueryContext(ctx, `WITH asked (requirement, subject, occurrence) AS (VALUES `+strings.Join(values, ", ")+`)
			SELECT requirement, subject, occurrence, (SELECT string_agg(step_do || '|' || instance || '|' || arm || '|' || threshold || '|' || `+d.hex+`(recipient`+d.hexAs+`), ',')
				FROM reminder WHERE reminder.requirement = asked.requirement AND reminder.subject = asked.subject AND reminder.occurrence = asked.occurrence) FROM asked`, args...)
		if err != nil {
			return nil, fmt.Errorf("read what was told: %w", classified(err))
		}
		if out, err = appendTold(out, rows); err != nil {
			return nil, fmt.Errorf("read what was told: %w", classified(err))
		}
	}
	return out, nil
}

func appendTold(out []notify.Told, rows *sql.Rows) ([]notify.Told, error) {
	defer rows.Close()
	for rows.Next() {
		var key compliance.Key
		var subject refText
		var lines sql.NullString
		if err := rows.Scan(&key.Requirement, &subject, &key.Occurrence, &lines); err != nil {
			return nil, err
		}
		key.Subject = subject.Ref
		told, err := toldOf(key, lines.String)
		if err != nil {
			return nil, err
		}
		out = append(out, told...)
	}
	return out, rows.Err()
}

// toldOf reads the lines of one finding. Those that differ in nothing but the
// recipient become one.
func toldOf(key compliance.Key, lines string) (out []notify.Told, err error) {
	at := make(map[string]int) // in out
	for line := range strings.SplitSeq(lines, ",") {
		if line == "" {
			break // nobody was told
		}
		cut := strings.LastIndexByte(line, '|')
		what, who := line[:max(cut, 0)], line[cut+1:]
		i, known := at[what]
		if !known {
			t, err := lineOf(key, what)
			if err != nil {
				return nil, err
			}
			i = len(out)
			at[what], out = i, append(out, t)
		}
		var to inventory.ID
		if n, err := hex.Decode(to[:], []byte(who)); err != nil || n != len(to) {
			return nil, fmt.Errorf("%q is no identifier", who)
		}
		out[i].To = append(out[i].To, to)
	}
	return out, nil
}

// lineOf reads a line but for who was told.
func lineOf(key compliance.Key, text string) (notify.Told, error) {
	parts := strings.Split(text, "|")
	if len(parts) != 4 {
		return notify.Told{}, fmt.Errorf("%q is no line of the ledger", text)
	}
	out := notify.Told{Key: key, Do: compliance.Code(parts[0])}
	var errs [3]error
	errs[0] = out.Instance.UnmarshalText([]byte(parts[1]))
	out.Arm, errs[1] = strconv.Atoi(parts[2])
	out.Threshold, errs[2] = strconv.Atoi(parts[3])
	return out, errors.Join(errs[:]...)
}

func (s *Store) saveReminders(ctx context.Context, tx bun.Tx, reminders []Reminder, now time.Time) error {
	// In the order of their key the database puts each next to the one before,
	// and not anywhere in a tree that is larger than its cache.
	reminders = slices.Clone(reminders)
	slices.SortFunc(reminders, func(a, b Reminder) int { return a.Reminder.Compare(b.Reminder) })
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
