package daemon

import (
	"context"
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/answer"
	"antidotary/daemon/naming"
	"antidotary/daemon/store"
)

// errNoActor: the journal would not say who did it.
var errNoActor = errors.New("--as is needed: say who records it")

// Record records one everyday deed. made gives it from the names that people
// write; it is asked once, and the deed itself is applied to the records as
// they are when it is written.
func Record(ctx context.Context, opt Options, actor store.Actor, made func(*naming.Names) (deed.Deed, error)) (*answer.Recorded, error) {
	return commit(ctx, opt, actor, func(_ *store.Store, n *naming.Names) (compliance.Change, string, error) {
		d, err := made(n)
		return d, d.Words(), err
	})
}

// Undo takes back the deed that an entry of the journal is of.
func Undo(ctx context.Context, opt Options, actor store.Actor, entry int64) (*answer.Recorded, error) {
	return commit(ctx, opt, actor, func(st *store.Store, _ *naming.Names) (compliance.Change, string, error) {
		u, err := st.Undo(ctx, entry)
		return u, u.Words() + " (" + u.Entry.Words + ")", err
	})
}

type making = func(*store.Store, *naming.Names) (change compliance.Change, words string, err error)

func commit(ctx context.Context, opt Options, actor store.Actor, made making) (*answer.Recorded, error) {
	opt.settle()
	if actor.ID == "" {
		return nil, errNoActor
	}
	book, err := Rulebook(opt.Config)
	if err != nil {
		return nil, err
	}
	st, err := opt.recorded(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	was, _, err := st.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the records: %w", err)
	}
	names := &naming.Names{Snapshot: was, Book: book, Now: opt.Clock()}
	change, words, err := made(st, names)
	if err != nil {
		return nil, err
	}
	if !opt.LetFall {
		fallen, err := wouldFall(book, was, change, compliance.Ask{Now: opt.Clock()})
		if err != nil {
			return nil, err
		}
		if fallen != nil {
			return nil, fallen
		}
	}
	head, err := st.Commit(ctx, actor, change)
	if err != nil {
		return nil, err
	}
	return told(ctx, opt, st, book, was, &answer.Recorded{Format: answer.Format, Words: words, Entry: head.Position, By: actor.String()}, change)
}

// told compares what needed somebody before with what does now.
func told(ctx context.Context, opt Options, st *store.Store, book *compliance.Rulebook, was *compliance.Snapshot, out *answer.Recorded, change compliance.Change) (*answer.Recorded, error) {
	is, _, err := st.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("it is recorded as entry %d, but what it changed could not be read: %w", out.Entry, err)
	}
	out.Subjects = []string{}
	for _, ref := range change.Touches() {
		records := is
		if records.Lookup(ref) == nil { // taken out
			records = was
		}
		out.Subjects = append(out.Subjects, records.NameOf(ref))
	}
	ask := compliance.Ask{Now: opt.Clock()}
	before, after := compliance.Evaluate(book, was, ask), compliance.Evaluate(book, is, ask)
	out.NobodyTold = !after.View.House().Mailed
	out.Compare(before, after)
	if d, ok := change.(deed.Deed); ok {
		out.Remarks = d.Remarks(was, is)
	}
	return out, nil
}
