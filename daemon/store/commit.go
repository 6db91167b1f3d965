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

// errActor: the journal would not say who made a change.
var errActor = errors.New("whoever makes a change needs an identifier, in plain text")

// Commit makes changes, all or none, and gives the journal's new head. It is
// the only writer of records. A change that is refused, or whose record would
// not come back as it is, comes back as a *compliance.Refusal, and nothing was
// written.
func (s *Store) Commit(ctx context.Context, actor Actor, changes ...compliance.Change) (Head, error) {
	if actor.ID == "" || !keepable(actor.String()) {
		return Head{}, errActor
	}
	var now Head
	var after *compliance.Snapshot
	var last key
	err := s.write(ctx, func(ctx context.Context, tx bun.Tx, at time.Time) error {
		if err := s.alone(ctx, tx); err != nil {
			return err
		}
		prev, err := head(ctx, tx)
		if err != nil {
			return err
		}
		before, err := s.records(ctx, tx, prev)
		if err != nil {
			return err
		}
		batch := compliance.Batch(changes)
		if after, err = batch.Apply(before); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, s.dialect.deferKeys); err != nil {
			return fmt.Errorf("defer foreign keys: %w", classified(err))
		}
		images := imagesAfter(before, after, batch.Touches())
		if err := s.putAll(ctx, tx, before, images); err != nil {
			return err
		}
		var rows []journalRow
		if now, rows, err = s.appendJournal(ctx, tx, prev, actor, wordsOf(changes), images, at); err != nil {
			return err
		}
		if len(rows) > 0 {
			last = rows[len(rows)-1].ID
		}
		return nil
	}, func(ctx context.Context, tx bun.Tx) (bool, error) {
		return exists(ctx, tx, "journal", last)
	})
	if err != nil {
		return Head{}, err
	}
	s.keep(after, now)
	return now, nil
}

// manyAtOnce is from how many new records on they are written in bulk. Below,
// one by one: then a record that the tables do not take is named.
const manyAtOnce = 200

// putAll writes the after-images. Records that are there already come first:
// one that gives a name up makes room for a new one that takes it.
func (s *Store) putAll(ctx context.Context, tx bun.Tx, before *compliance.Snapshot, images []image) error {
	fresh := make(map[inventory.Kind][]inventory.Record)
	many := len(images) >= manyAtOnce
	for _, i := range images {
		rec := i.rec
		if rec == nil {
			if err := tables[i.of.Kind].drop(ctx, tx, i.of.ID); err != nil {
				return err
			}
			continue
		}
		if many && before.Lookup(rec.Ref()) == nil {
			if err := storable(rec); err != nil {
				return err
			}
			fresh[rec.Ref().Kind] = append(fresh[rec.Ref().Kind], rec)
			continue
		}
		if err := put(ctx, tx, rec); err != nil {
			return err
		}
	}
	for _, kind := range inventory.Kinds() {
		if len(fresh[kind]) == 0 {
			continue
		}
		if err := tables[kind].saveNew(ctx, tx, s.dialect, fresh[kind]); err != nil {
			return err
		}
	}
	return nil
}

// put writes one after-image. What the tables do not take is refused like what
// the records' own rules do not take.
func put(ctx context.Context, tx bun.IDB, rec inventory.Record) error {
	if err := storable(rec); err != nil {
		return err
	}
	err := tables[rec.Ref().Kind].save(ctx, tx, rec)
	if errors.Is(err, ErrConflict) {
		return &compliance.Refusal{Subject: rec.Ref(), Name: rec.Name(), Err: err}
	}
	return err
}

// imagesAfter gives what changes leave of each record that they touch, each once,
// what is referred to first.
func imagesAfter(before, after *compliance.Snapshot, touched []inventory.Ref) []image {
	byKind := make(map[inventory.Kind][]image)
	seen := make(map[inventory.Ref]bool, len(touched))
	for _, ref := range touched {
		if seen[ref] {
			continue
		}
		seen[ref] = true
		rec := after.Lookup(ref)
		if rec != nil || before.Lookup(ref) != nil {
			byKind[ref.Kind] = append(byKind[ref.Kind], image{ref, rec})
		}
	}
	var out []image
	for _, kind := range inventory.Kinds() {
		out = append(out, byKind[kind]...)
	}
	return out
}

// Worded is a change that people know by words: the journal has them.
type Worded interface{ Words() string }

// wordsOf gives the words of a change that is made by itself.
func wordsOf(changes []compliance.Change) string {
	if len(changes) == 1 {
		if w, ok := changes[0].(Worded); ok {
			return w.Words()
		}
	}
	return ""
}

// exists looks a row up by the identifier that the client made.
func exists(ctx context.Context, tx bun.IDB, table string, id key) (bool, error) {
	if id == (key{}) {
		return false, nil
	}
	var n int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM "+table+" WHERE id = ?", id).Scan(&n); err != nil {
		return false, fmt.Errorf("look up what was written: %w", classified(err))
	}
	return n == 1, nil
}
