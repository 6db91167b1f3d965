package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// errNoEntry: the journal has no such position.
var errNoEntry = errors.New("the journal has no such entry")

// Entry is what one change did, as the journal tells it.
type Entry struct {
	First, Last int64 // positions; one for each record that it touched
	At          time.Time
	Actor       string // empty: erased
	Words       string // "permit filed", or "put permit"
	Subjects    []inventory.Ref
}

// Entries gives the newest changes, the newest first, at most so many. What
// came in at once and is no single deed, as an import, is told record by
// record.
func (s *Store) Entries(ctx context.Context, most int) (out []Entry, err error) {
	err = s.read(ctx, func(ctx context.Context, tx bun.Tx) error {
		at, err := head(ctx, tx)
		for before := at.Position; err == nil && before > 0 && len(out) < most; {
			var e Entry
			if e, _, err = entryAt(ctx, tx, before); err == nil {
				out, before = append(out, e), e.First-1
			}
		}
		return err
	})
	return out, err
}

// entryAt reads the change that a position is of, with its rows in order.
func entryAt(ctx context.Context, tx bun.IDB, position int64) (e Entry, rows []journalRow, err error) {
	var row journalRow
	if err := tx.NewSelect().Model(&row).Where("position = ?", position).Scan(ctx); err != nil {
		return e, nil, fmt.Errorf("%w: %d", errNoEntry, position)
	}
	words, i, of := parted(row.Change)
	e = Entry{First: position - int64(i) + 1, Last: position + int64(of-i), At: instant(row.At), Actor: row.Actor, Words: words}
	err = tx.NewSelect().Model(&rows).Where("position BETWEEN ? AND ?", e.First, e.Last).Order("position").Scan(ctx)
	if err != nil {
		return e, nil, fmt.Errorf("read the journal: %w", classified(err))
	}
	for i := range rows {
		var ref inventory.Ref
		if err := ref.UnmarshalText([]byte(rows[i].Subject)); err != nil {
			return e, nil, fmt.Errorf("read the journal: %w", err)
		}
		e.Subjects = append(e.Subjects, ref)
	}
	return e, rows, nil
}

// Undo makes the change that takes back the one that a position of the
// journal is of: every record that it touched is again as it was before. It
// refuses where one of them was changed since. Nothing leaves the journal; an
// undoing can be undone.
func (s *Store) Undo(ctx context.Context, position int64) (Undoing, error) {
	var u Undoing
	err := s.read(ctx, func(ctx context.Context, tx bun.Tx) (err error) {
		var rows []journalRow
		if u.Entry, rows, err = entryAt(ctx, tx, position); err != nil {
			return err
		}
		for i := range rows {
			if err := u.take(ctx, tx, &rows[i]); err != nil {
				return err
			}
		}
		return nil
	})
	return u, err
}

// Undoing is the change that takes back another one. It refuses to be made
// where a record is not any more as that one left it.
type Undoing struct {
	Entry Entry
	steps []unmaking
}

// unmaking takes back what was done to one record.
type unmaking struct {
	left   image // by the change
	before image
}

// take reads what the change left of a record and what was there before.
func (u *Undoing) take(ctx context.Context, tx bun.IDB, row *journalRow) error {
	ref := u.Entry.Subjects[len(u.steps)]
	left, err := row.image(ref)
	if err != nil {
		return err
	}
	before := image{of: ref}
	var earlier []journalRow
	err = tx.NewSelect().Model(&earlier).Where("subject = ?", row.Subject).Where("position < ?", row.Position).Order("position DESC").Limit(1).Scan(ctx)
	if err != nil {
		return fmt.Errorf("read the journal: %w", classified(err))
	}
	if len(earlier) > 0 {
		if before, err = earlier[0].image(ref); err != nil {
			return err
		}
	}
	u.steps = append(u.steps, unmaking{left, before})
	return nil
}

// image gives what the entry says of its record.
func (r *journalRow) image(ref inventory.Ref) (image, error) {
	switch {
	case r.Payload == nil:
		return image{}, fmt.Errorf("what entry %d says of %s was erased: it cannot be taken back", r.Position, ref)
	case *r.Payload == takenOut:
		return image{of: ref}, nil
	}
	from, ok := tables[ref.Kind].(imaged)
	if !ok {
		return image{}, fmt.Errorf("there are no records of kind %s", ref.Kind)
	}
	text, err := r.raised()
	if err != nil {
		return image{}, err
	}
	var one compliance.Snapshot
	if err := from.recall([]string{*text}, &one); err != nil {
		return image{}, err
	}
	return image{ref, one.Lookup(ref)}, nil
}

// Words names the undoing in the journal.
func (u Undoing) Words() string { return fmt.Sprintf("undo %d", u.Entry.First) }

// Touches names the records of the change that is taken back.
func (u Undoing) Touches() []inventory.Ref { return u.Entry.Subjects }

// Apply puts every record back as it was.
func (u Undoing) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	var back compliance.Batch
	var out compliance.Remove
	for _, step := range u.steps { // what is referred to comes first, as in the journal
		if err := step.left.stands(s); err != nil {
			return nil, err
		}
		switch {
		case step.before.rec != nil:
			back = append(back, compliance.Record(step.before.rec))
		case step.left.rec != nil:
			out.What = append(out.What, step.left.of)
		}
	}
	return append(back, out).Apply(s)
}

// stands refuses where the record is not any more as the image has it.
func (i image) stands(s *compliance.Snapshot) error {
	now, err := image{i.of, s.Lookup(i.of)}.text()
	if err != nil {
		return err
	}
	then, err := i.text()
	if err != nil || now == then {
		return err
	}
	return &compliance.Refusal{Subject: i.of, Name: s.NameOf(i.of), Err: errors.New("was changed since: undo the later change first, or record what is so now")}
}
