package store

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// lastSweep gives the newest of some sweeps; nil where there is none.
func lastSweep(ctx context.Context, tx bun.IDB, where string, arg int64) (*sweepRow, error) {
	var rows []sweepRow
	if err := tx.NewSelect().Model(&rows).Where(where, arg).Order("number DESC").Limit(1).Scan(ctx); err != nil {
		return nil, fmt.Errorf("read the sweep of then: %w", classified(err))
	}
	if len(rows) == 0 {
		return nil, nil
	}
	return &rows[0], nil
}

// beat sets what was known of the watch itself at an instant, after a sweep.
func (r *Recalled) beat(ctx context.Context, tx bun.IDB, sweep *sweepRow, at time.Time) error {
	p, us := &r.Snapshot.Pulse, micros(at)
	if sweep != nil {
		p.Swept = instant(sweep.Finished)
		first, err := lastSweep(ctx, tx, "number = (SELECT min(number) FROM sweep) AND number <= ?", sweep.Number)
		if err != nil {
			return err
		}
		p.Since = instant(first.Finished)
	}
	var oldest, accepted int64
	err := tx.QueryRowContext(ctx, `SELECT coalesce((SELECT min(queued_at) FROM outbox WHERE queued_at <= ? AND (finished_at IS NULL OR finished_at > ?)), 0),
		coalesce((SELECT max(finished_at) FROM outbox WHERE state = ? AND finished_at <= ?), 0)`, us, us, MailSent, us).Scan(&oldest, &accepted)
	if err != nil {
		return fmt.Errorf("read the outbox's age of then: %w", classified(err))
	}
	p.OldestMail, p.MailAccepts = instant(oldest), instant(accepted)
	if p.MailHeld, err = holdOf(ctx, tx, "since <= ? AND (released IS NULL OR released > ?)", us, us); err != nil {
		return err
	}
	for job, ran := range map[string]*time.Time{compliance.JobConfirm: &p.Confirmed, compliance.JobPrune: &p.Pruned} {
		removed, err := ranBy(ctx, tx, job, us, ran)
		if err != nil {
			return err
		}
		if removed {
			*ran, r.RunsRemoved = at.UTC(), true
		}
	}
	return nil
}

// ranBy says when a job had last ended well by an instant. Where no such run
// is left and old runs were removed since, that cannot be told.
func ranBy(ctx context.Context, tx bun.IDB, job string, at int64, ran *time.Time) (removed bool, err error) {
	var last, pruned int64
	err = tx.QueryRowContext(ctx, `SELECT coalesce((SELECT max(finished) FROM job_run WHERE job = ? AND state = ? AND finished <= ?), 0),
		(SELECT count(*) FROM job_run WHERE job = ? AND state = ? AND finished > ?)`, job, RunDone, at, compliance.JobPrune, RunDone, at).Scan(&last, &pruned)
	if err != nil {
		return false, fmt.Errorf("read when the jobs had run: %w", classified(err))
	}
	*ran = instant(last)
	return last == 0 && pruned > 0, nil
}

// openAfter gives the findings that were open after a sweep, as people were
// told of them.
func openAfter(ctx context.Context, tx bun.IDB, number int64) (out []compliance.Finding, err error) {
	rows, err := tx.QueryContext(ctx, `SELECT t.after FROM finding_transition t JOIN sweep s ON s.id = t.sweep
		WHERE s.number <= ? AND t.move <> ? AND NOT EXISTS (
			SELECT 1 FROM finding_transition later JOIN sweep by_then ON by_then.id = later.sweep
			WHERE later.finding = t.finding AND by_then.number > s.number AND by_then.number <= ?)`, number, compliance.Closed, number)
	if err != nil {
		return nil, fmt.Errorf("read what was told: %w", classified(err))
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, fmt.Errorf("read what was told: %w", classified(err))
		}
		f, err := findingOf(text)
		if err != nil {
			return nil, fmt.Errorf("read what was told: %w", err)
		}
		out = append(out, f)
	}
	slices.SortFunc(out, func(a, b compliance.Finding) int { return a.Key.Compare(b.Key) })
	return out, classified(rows.Err())
}

// loggedStanding reads a standing as the log has it, in words.
type loggedStanding struct{ compliance.Standing }

// UnmarshalText reads what Standing.MarshalText wrote.
func (s *loggedStanding) UnmarshalText(text []byte) error {
	for _, known := range []compliance.Standing{compliance.NotApplicable, compliance.InOrder, compliance.CannotTell, compliance.OutOfOrder} {
		if known.String() == string(text) {
			s.Standing = known
			return nil
		}
	}
	return fmt.Errorf("%q is not a standing", text)
}

// findingOf reads a finding from the log of transitions.
func findingOf(text string) (compliance.Finding, error) {
	var logged struct {
		compliance.Finding
		Verdict struct {
			Standing loggedStanding
			State    compliance.Code
			Step     compliance.Step
			Cause    inventory.Ref
		}
	}
	if err := json.Unmarshal([]byte(text), &logged); err != nil {
		return compliance.Finding{}, err
	}
	f, v := logged.Finding, &logged.Verdict
	f.Verdict = compliance.Verdict{Standing: v.Standing.Standing, State: v.State, Step: v.Step, Cause: v.Cause}
	f.Opened, f.Closed = f.Opened.UTC(), f.Closed.UTC()
	return f, nil
}
