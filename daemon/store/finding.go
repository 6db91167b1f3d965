package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

type findingRow struct {
	bun.BaseModel `bun:"table:finding"`
	ID            key                  `bun:"id,pk"`
	Requirement   string               `bun:"requirement"`
	Subject       refText              `bun:"subject,type:text"`
	Occurrence    string               `bun:"occurrence"`
	Site          key                  `bun:"site"`
	Layer         string               `bun:"layer"`
	Severity      string               `bun:"severity"`
	Rule          string               `bun:"rule"`
	Standing      int                  `bun:"standing"`
	State         string               `bun:"state"`
	Step          one[compliance.Step] `bun:"step,type:text"`
	Cause         refText              `bun:"cause,type:text"`
	Opened        int64                `bun:"opened"`
	Lapsed        bool                 `bun:"lapsed"`
	Missed        bool                 `bun:"missed"`
	Worsened      int                  `bun:"worsened"`
	Arm           int                  `bun:"arm"`
	Closed        *int64               `bun:"closed"`
	How           string               `bun:"how"`
}

func rowOfFinding(f *compliance.Finding) findingRow {
	r := findingRow{ID: key(f.ID), Requirement: f.Key.Requirement, Subject: refText{f.Key.Subject}, Occurrence: f.Key.Occurrence, Site: key(f.Site),
		Layer: string(f.Layer), Severity: string(f.Severity), Rule: f.Rule, Standing: int(f.Verdict.Standing), State: string(f.Verdict.State),
		Cause: refText{f.Verdict.Cause}, Opened: micros(f.Opened), Lapsed: f.Lapsed, Missed: f.Missed, Worsened: f.Worsened, Arm: f.Arm, How: string(f.How)}
	if !f.Verdict.Step.IsZero() {
		r.Step.of = &f.Verdict.Step
	}
	if !f.Closed.IsZero() {
		at := micros(f.Closed)
		r.Closed = &at
	}
	return r
}

func (r *findingRow) finding() compliance.Finding {
	f := compliance.Finding{ID: inventory.ID(r.ID), Key: compliance.Key{Requirement: r.Requirement, Subject: r.Subject.Ref, Occurrence: r.Occurrence},
		Site: inventory.ID(r.Site), Layer: compliance.Layer(r.Layer), Severity: compliance.Severity(r.Severity), Rule: r.Rule,
		Verdict: compliance.Verdict{Standing: compliance.Standing(r.Standing), State: compliance.Code(r.State), Cause: r.Cause.Ref},
		Opened:  instant(r.Opened), Lapsed: r.Lapsed, Missed: r.Missed, Worsened: r.Worsened, Arm: r.Arm, How: compliance.Closing(r.How)}
	if r.Step.of != nil {
		f.Verdict.Step = *r.Step.of
	}
	if r.Closed != nil {
		f.Closed = instant(*r.Closed)
	}
	return f
}

func openFindings(ctx context.Context, tx bun.IDB) ([]compliance.Finding, error) {
	return findings(ctx, tx, "closed IS NULL")
}

// tellClosed is how long a finding that ended is still news: those who had
// heard of it hear of its end within that time, or in no mail any more.
const tellClosed = 14 * 24 * time.Hour

func closedLately(ctx context.Context, tx bun.IDB, since time.Time) ([]compliance.Finding, error) {
	return findings(ctx, tx, "closed >= ?", micros(since))
}

func findings(ctx context.Context, tx bun.IDB, where string, args ...any) ([]compliance.Finding, error) {
	var rows []findingRow
	if err := tx.NewSelect().Model(&rows).Where(where, args...).Order("requirement", "subject", "occurrence", "opened").Scan(ctx); err != nil {
		return nil, fmt.Errorf("read findings: %w", classified(err))
	}
	out := make([]compliance.Finding, len(rows))
	for i := range rows {
		out[i] = rows[i].finding()
	}
	return out, nil
}

type transitionRow struct {
	bun.BaseModel `bun:"table:finding_transition"`
	ID            key    `bun:"id,pk"`
	Sweep         key    `bun:"sweep"`
	Finding       key    `bun:"finding"`
	Move          string `bun:"move"`
	After         string `bun:"after"`
	At            int64  `bun:"at"`
}

// perStatement bounds the length of one INSERT: longer ones gain nothing.
const perStatement = 500

// saveTransitions writes the findings' new state and logs what changed.
func (s *Store) saveTransitions(ctx context.Context, tx bun.Tx, sweep inventory.ID, transitions []compliance.Transition, now time.Time) error {
	var findings []findingRow
	var log []transitionRow
	for _, t := range transitions {
		after, err := json.Marshal(t.After)
		if err != nil {
			return fmt.Errorf("write a finding: %w", err)
		}
		findings = append(findings, rowOfFinding(t.After))
		log = append(log, transitionRow{ID: key(inventory.NewID()), Sweep: key(sweep), Finding: key(t.After.ID), Move: string(t.Move), After: string(after), At: micros(now)})
	}
	if err := s.saveFindings(ctx, tx, findings, transitions); err != nil {
		return err
	}
	if err := insertAll(ctx, tx, s.dialect, log); err != nil {
		return fmt.Errorf("log what changed: %w", err)
	}
	return nil
}

// saveFindings writes the state of findings: those that opened at once, those
// that were there by statements that can replace.
func (s *Store) saveFindings(ctx context.Context, tx bun.Tx, rows []findingRow, transitions []compliance.Transition) error {
	var fresh, known []findingRow
	for i, t := range transitions {
		if t.Move == compliance.Opened {
			fresh = append(fresh, rows[i])
		} else {
			known = append(known, rows[i])
		}
	}
	for len(known) > 0 { // first: an episode that closes makes room for the next
		some := known[:min(perStatement, len(known))]
		if _, err := tx.NewInsert().Model(&some).On("CONFLICT (id) DO UPDATE").Exec(ctx); err != nil {
			return fmt.Errorf("save findings: %w", classified(err))
		}
		known = known[len(some):]
	}
	if err := insertAll(ctx, tx, s.dialect, fresh); err != nil {
		return fmt.Errorf("save new findings: %w", err)
	}
	return nil
}
