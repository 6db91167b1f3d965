package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Since is what changed from an instant on, up to when it was read.
type Since struct {
	From   time.Time
	Opened []compliance.Finding // that began, whether or not they have ended
	Ended  []compliance.Finding
	Worse  []Worsened
	// Reminders that went into mails, to how many people. Whether a mail left
	// the house is the outbox's to say.
	Reminders, People int
	Changes           []Changes
}

// Worsened is a finding that was open already and is worse than it was: its
// standing, its weight, or an act-by day that moved up or has passed.
type Worsened struct{ Before, After compliance.Finding }

// Changes are those of one sort that one actor made.
type Changes struct {
	Actor   string // "id (name)"; empty: erased since
	Change  string // as the journal names it: "put permit"
	Entries int    // of the journal
	Records int    // that they are about
}

// Since reads what changed from an instant on, in one consistent read. Its
// cost follows what is open and what changed, not all that ever was.
func (s *Store) Since(ctx context.Context, from time.Time) (*Since, error) {
	out := &Since{From: from}
	err := s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		return out.read(ctx, tx, micros(from))
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func (out *Since) read(ctx context.Context, tx bun.IDB, from int64) (err error) {
	if out.Opened, err = findings(ctx, tx, "closed IS NULL AND opened >= ?", from); err != nil {
		return err
	}
	if out.Ended, err = findings(ctx, tx, "closed >= ?", from); err != nil {
		return err
	}
	for _, f := range out.Ended {
		if micros(f.Opened) >= from {
			out.Opened = append(out.Opened, f)
		}
	}
	if out.Worse, err = worsened(ctx, tx, from); err != nil {
		return err
	}
	err = tx.QueryRowContext(ctx, `SELECT count(*), count(DISTINCT recipient) FROM reminder WHERE at >= ?`, from).Scan(&out.Reminders, &out.People)
	if err != nil {
		return fmt.Errorf("count reminders: %w", classified(err))
	}
	out.Changes, err = changesSince(ctx, tx, from)
	return err
}

// worsened finds the open findings that were there before an instant and
// became worse since. What they were is in the log of transitions, which is
// read by finding: the log itself grows for ever.
func worsened(ctx context.Context, tx bun.IDB, from int64) (out []Worsened, err error) {
	open, err := findings(ctx, tx, "closed IS NULL AND worsened > 0 AND opened < ?", from)
	if err != nil || len(open) == 0 {
		return nil, err
	}
	var log []transitionRow
	err = tx.NewRaw(`SELECT t.* FROM finding_transition t JOIN finding f ON f.id = t.finding
		WHERE f.closed IS NULL AND f.worsened > 0 AND f.opened < ? ORDER BY t.at, t.id`, from).Scan(ctx, &log)
	if err != nil {
		return nil, fmt.Errorf("read what became worse: %w", classified(err))
	}
	before, worse := make(map[inventory.ID]string), make(map[inventory.ID]bool)
	for _, t := range log {
		switch {
		case t.At < from:
			before[inventory.ID(t.Finding)] = t.After
		case t.Move == string(compliance.Worse):
			worse[inventory.ID(t.Finding)] = true
		}
	}
	for _, f := range open {
		text, known := before[f.ID]
		if !known || !worse[f.ID] {
			continue
		}
		was, err := findingOf(text)
		if err != nil {
			return nil, fmt.Errorf("read what became worse: %w", err)
		}
		out = append(out, Worsened{was, f})
	}
	return out, nil
}

// behind is how many entries of the journal in a row must be older than an
// instant for all before them to be taken as older: clocks are set back, but
// not for long.
const behind = 5000

// changesSince counts the entries of the journal from an instant on by who made
// them and kind of record. The journal has no index of times, so the place to
// begin is looked for from its end.
func changesSince(ctx context.Context, tx bun.IDB, from int64) (out []Changes, err error) {
	at, err := head(ctx, tx)
	if err != nil {
		return nil, err
	}
	first := at.Position
	for newest := from; first > 0 && newest >= from; first -= behind {
		err := tx.QueryRowContext(ctx, `SELECT coalesce(max(at), 0) FROM journal WHERE position > ? AND position <= ?`, first-behind, first).Scan(&newest)
		if err != nil {
			return nil, fmt.Errorf("look for the newest changes: %w", classified(err))
		}
	}
	rows, err := tx.QueryContext(ctx, `SELECT actor, change, subject FROM journal WHERE position > ? AND at >= ? ORDER BY actor, position`, first, from)
	if err != nil {
		return nil, fmt.Errorf("count changes: %w", classified(err))
	}
	defer rows.Close()
	var t tally
	for rows.Next() {
		var actor, change, subject string
		if err := rows.Scan(&actor, &change, &subject); err != nil {
			return nil, fmt.Errorf("count changes: %w", classified(err))
		}
		t.add(actor, change, subject)
	}
	return t.sorted(), classified(rows.Err())
}

// tally counts changes by actor and words, whichever part of a deed each
// entry is.
type tally struct {
	of   map[[2]string]*Changes
	seen map[[3]string]bool
}

func (t *tally) add(actor, change, subject string) {
	if t.of == nil {
		t.of, t.seen = make(map[[2]string]*Changes), make(map[[3]string]bool)
	}
	words, _, _ := parted(change)
	c := t.of[[2]string{actor, words}]
	if c == nil {
		c = &Changes{Actor: actor, Change: words}
		t.of[[2]string{actor, words}] = c
	}
	c.Entries++
	if once := [3]string{actor, words, subject}; !t.seen[once] {
		t.seen[once] = true
		c.Records++
	}
}

func (t *tally) sorted() (out []Changes) {
	for _, c := range t.of {
		out = append(out, *c)
	}
	slices.SortFunc(out, func(a, b Changes) int { return cmp.Or(cmp.Compare(a.Actor, b.Actor), cmp.Compare(a.Change, b.Change)) })
	return out
}
