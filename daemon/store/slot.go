package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// RunState is where one run of a job stands.
//
//	running --work done--> done
//	   ^  |----error-----> failed --after a while--+
//	   +--- its lease ran out, or it may be tried -+
type RunState string

// The states. A run that failed, or whose daemon died, is taken up again
// until the next slot comes.
const (
	RunRunning RunState = "running"
	RunDone    RunState = "done"
	RunFailed  RunState = "failed"
)

// Run is one time at which a job was due, and what became of it.
type Run struct {
	ID       inventory.ID
	Job      string
	Slot     time.Time // when it was due
	State    RunState
	Worker   string // which daemon took it
	Token    inventory.ID
	Attempts int
	Missed   int       // earlier slots, missed while nobody ran, that this run stands for
	Started  time.Time // the last attempt
	Finished time.Time // zero while it is not done
	Problem  string    // of the last attempt that failed
}

// Late is how long after its slot the run was done or, while it is not, began.
func (r Run) Late() time.Duration { return r.Started.Sub(r.Slot) }

// Due says which slot of a job is due at an instant, given the last one that
// was taken (zero: none ever), and how many before it were missed. The zero
// time says that none is.
type Due func(last, now time.Time) (slot time.Time, missed int)

type jobRunRow struct {
	bun.BaseModel `bun:"table:job_run"`
	ID            key    `bun:"id,pk"`
	Job           string `bun:"job"`
	Slot          int64  `bun:"slot"`
	State         string `bun:"state"`
	Worker        string `bun:"worker"`
	Token         key    `bun:"token"`
	LeaseUntil    *int64 `bun:"lease_until"`
	Attempts      int    `bun:"attempts"`
	Missed        int    `bun:"missed"`
	Started       int64  `bun:"started"`
	Finished      *int64 `bun:"finished"`
	Problem       string `bun:"problem"`
}

func (r *jobRunRow) run() Run {
	out := Run{ID: inventory.ID(r.ID), Job: r.Job, Slot: instant(r.Slot), State: RunState(r.State), Worker: r.Worker, Token: inventory.ID(r.Token),
		Attempts: r.Attempts, Missed: r.Missed, Started: instant(r.Started), Problem: r.Problem}
	if r.Finished != nil {
		out.Finished = instant(*r.Finished)
	}
	return out
}

// SlotClaim says who takes which slot, and for how long at most.
type SlotClaim struct {
	Job    string
	Worker string
	Lease  time.Duration
	Due    Due
}

// ClaimSlot takes the slot that is due, for one daemon alone: it is unique for
// the job, and while another daemon's run of the job lives, nothing is taken.
// What comes due meanwhile is not lost: it is due when that run ends. A run
// that failed or whose lease ran out is taken up again. false: nothing is due.
func (s *Store) ClaimSlot(ctx context.Context, c SlotClaim) (run Run, claimed bool, err error) {
	if due, err := s.slotDue(ctx, c); err != nil || !due {
		return run, false, err
	}
	token := key(inventory.NewID())
	err = s.write(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) error {
		if err := s.alone(ctx, tx); err != nil {
			return err
		}
		last, err := lastRun(ctx, tx, c.Job, now)
		if err != nil {
			return err
		}
		if lives, err := c.lives(ctx, tx, now); err != nil || lives {
			return err
		}
		row := c.next(last, now)
		if row == nil {
			claimed = false
			return nil
		}
		until := micros(now.Add(c.Lease))
		row.State, row.Worker, row.Token, row.LeaseUntil, row.Started = string(RunRunning), c.Worker, token, &until, micros(now)
		row.Attempts++
		if _, err := tx.NewInsert().Model(row).On("CONFLICT (id) DO UPDATE").Exec(ctx); err != nil {
			return fmt.Errorf("claim a slot of %s: %w", c.Job, classified(err))
		}
		run, claimed = row.run(), true
		return nil
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		return holds(ctx, tx, `SELECT count(*) FROM job_run WHERE token = ?`, token)
	})
	if err != nil {
		return Run{}, false, err
	}
	return run, claimed, nil
}

// slotDue looks before anything is locked: it is asked every half minute.
func (s *Store) slotDue(ctx context.Context, c SlotClaim) (due bool, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		now, err := s.now(ctx, tx)
		if err != nil {
			return err
		}
		last, err := lastRun(ctx, tx, c.Job, now)
		if err != nil {
			return err
		}
		if lives, err := c.lives(ctx, tx, now); err != nil || lives {
			return err
		}
		due = c.next(last, now) != nil
		return nil
	})
	return due, err
}

// next gives the run to make now: a new slot, or the last one again; nil if
// there is none.
func (c SlotClaim) next(last *jobRunRow, now time.Time) *jobRunRow {
	if last == nil {
		slot, _ := c.Due(time.Time{}, now)
		return c.fresh(slot, 0)
	}
	if last.State == string(RunRunning) && c.holds(last.LeaseUntil, now) {
		return nil
	}
	if slot, missed := c.Due(instant(last.Slot), now); !slot.IsZero() {
		if last.State != string(RunDone) { // what it stood for was never run
			missed += 1 + last.Missed
		}
		return c.fresh(slot, missed)
	}
	if last.State != string(RunDone) && !c.holds(last.LeaseUntil, now) {
		return last
	}
	return nil
}

// holds says whether a lease, or the wait after a failure, goes on. One that
// ends later than any that begins now was given by a clock that was wrong.
func (c SlotClaim) holds(until *int64, now time.Time) bool {
	return until != nil && *until > micros(now) && *until <= micros(now.Add(max(c.Lease, longestWait)))
}

// lives says whether a run of the job is under way, whatever its slot: the
// clock of the daemon that has it may be ahead.
func (c SlotClaim) lives(ctx context.Context, tx bun.IDB, now time.Time) (bool, error) {
	var n int
	err := tx.QueryRowContext(ctx, `SELECT count(*) FROM job_run WHERE job = ? AND state = ? AND lease_until > ? AND lease_until <= ?`,
		c.Job, RunRunning, micros(now), micros(now.Add(max(c.Lease, longestWait)))).Scan(&n)
	if err != nil {
		return false, fmt.Errorf("look for a run of %s: %w", c.Job, classified(err))
	}
	return n > 0, nil
}

// longestWait is more than any failure waits for its next attempt.
const longestWait = time.Hour

func (c SlotClaim) fresh(slot time.Time, missed int) *jobRunRow {
	if slot.IsZero() {
		return nil
	}
	return &jobRunRow{ID: key(inventory.NewID()), Job: c.Job, Slot: micros(slot), Missed: missed}
}

// lastRun gives the newest run up to an instant. Later ones are there where a
// clock was wrong and has been set back: had they counted, nothing would be
// due until that day.
func lastRun(ctx context.Context, tx bun.IDB, job string, now time.Time) (*jobRunRow, error) {
	var row jobRunRow
	err := tx.NewSelect().Model(&row).Where("job = ?", job).Where("slot <= ?", micros(now)).Order("slot DESC").Limit(1).Scan(ctx)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the last run of %s: %w", job, classified(err))
	}
	return &row, nil
}

// FinishSlot records what became of a run. With a problem it may be taken up
// again after a while. ErrLostClaim: its lease ran out, and another daemon has
// it, or a later slot stands for it.
func (s *Store) FinishSlot(ctx context.Context, run Run, problem error, again time.Duration) error {
	return s.guarded(ctx, func(ctx context.Context, tx bun.Tx, now time.Time) (int64, error) {
		state, text, finished, lease := RunDone, "", any(micros(now)), any(nil)
		if problem != nil {
			state, text, finished, lease = RunFailed, problem.Error(), nil, micros(now.Add(again))
		}
		res, err := tx.ExecContext(ctx, `UPDATE job_run SET state = ?, problem = ?, finished = ?, lease_until = ? WHERE id = ? AND token = ? AND state = ?`,
			state, keptText(text), finished, lease, key(run.ID), key(run.Token), RunRunning)
		if err != nil {
			return 0, fmt.Errorf("finish a run of %s: %w", run.Job, classified(err))
		}
		return res.RowsAffected()
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		return holds(ctx, tx, `SELECT count(*) FROM job_run WHERE id = ? AND token = ? AND state <> ?`, key(run.ID), key(run.Token), RunRunning)
	})
}

// keptText is an error's text as a database keeps it.
func keptText(text string) string {
	const most = 2000
	if !keepable(text) {
		text = fmt.Sprintf("%q", text)
	}
	if len(text) > most {
		text = fmt.Sprintf("%.*s...", most, text)
	}
	return text
}

// Runs gives the newest runs of a job, the newest first.
func (s *Store) Runs(ctx context.Context, job string, most int) (out []Run, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		var rows []jobRunRow
		if err := tx.NewSelect().Model(&rows).Where("job = ?", job).Order("slot DESC").Limit(int64(most)).Scan(ctx); err != nil {
			return fmt.Errorf("read the runs of %s: %w", job, classified(err))
		}
		for i := range rows {
			out = append(out, rows[i].run())
		}
		return nil
	})
	return out, err
}

// jobsRan says when the first sweep ended, and when each job last ended well.
func jobsRan(ctx context.Context, tx bun.IDB, p *compliance.Pulse) error {
	var first, confirmed, pruned int64
	err := tx.QueryRowContext(ctx, `SELECT coalesce((SELECT min(finished) FROM sweep WHERE number = (SELECT min(number) FROM sweep)), 0),
		coalesce((SELECT max(finished) FROM job_run WHERE job = ? AND state = ?), 0), coalesce((SELECT max(finished) FROM job_run WHERE job = ? AND state = ?), 0)`,
		compliance.JobConfirm, RunDone, compliance.JobPrune, RunDone).Scan(&first, &confirmed, &pruned)
	if err != nil {
		return fmt.Errorf("read when the jobs ran: %w", classified(err))
	}
	p.Since, p.Confirmed, p.Pruned = instant(first), instant(confirmed), instant(pruned)
	return nil
}
