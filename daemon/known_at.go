package daemon

import (
	"context"
	"errors"
	"fmt"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/store"
)

// Questions about the past that have no answer.
var (
	ErrNotYet    = errors.New("that instant is still to come: give one that is over")
	ErrNoJournal = errors.New("a demo house has no past: ask the records of a database (antidotary demo --keep makes one)")
)

// evaluateKnown answers from what was known at an instant, and says what the
// answer rests on. What had been told is judged again as the last sweep of
// then judged it: at its start, on the records that it had read.
func evaluateKnown(ctx context.Context, opt Options, q Question) (*compliance.Report, *answer.Known, error) {
	opt.settle()
	switch {
	case q.Demo != "":
		return nil, nil, ErrNoJournal
	case q.KnownAt.After(opt.Clock()):
		return nil, nil, ErrNotYet
	}
	today, err := Rulebook(opt.Config)
	if err != nil {
		return nil, nil, err
	}
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, nil, err
	}
	defer st.Close()
	past, err := st.KnownAt(ctx, q.KnownAt.UTC().Truncate(time.Microsecond))
	if err != nil {
		return nil, nil, fmt.Errorf("recall what was known at %s: %w", q.KnownAt.UTC().Format(time.RFC3339), err)
	}
	known := knownOf(past)
	book, err := rulesOf(ctx, st, past.Told, today, known)
	if err != nil {
		return nil, nil, err
	}
	if t := past.Told; t != nil {
		known.Told.Tell(t.Open, compliance.Evaluate(book, t.Snapshot, compliance.Ask{Now: t.Started}))
	}
	ask := compliance.Ask{Now: past.At, On: q.On, Until: q.Until, Assumptions: q.Assumptions}
	return compliance.Evaluate(book, past.Snapshot, ask), known, nil
}

// knownOf puts what was recalled into the answer's terms.
func knownOf(past *store.Past) *answer.Known {
	k := &answer.Known{At: past.At, First: past.First, Entries: past.Head.Position, Engine: Engine, RunsRemoved: past.RunsRemoved}
	for _, ref := range past.Erased {
		k.Erased = append(k.Erased, ref.String())
	}
	if t := past.Told; t != nil {
		k.Told = &answer.Told{Sweep: t.Sweep, Started: t.Started, Finished: t.Finished, Engine: t.Engine, Lost: len(t.Erased)}
	}
	return k
}

// rulesOf gives the rules of a sweep, or today's where those cannot be had,
// and notes which and why.
func rulesOf(ctx context.Context, st *store.Store, t *store.Told, today *compliance.Rulebook, known *answer.Known) (*compliance.Rulebook, error) {
	known.Rules = answer.RulesOfToday
	if t == nil {
		return today, nil
	}
	if t.PackHash == today.Hash && t.HolidayHash == today.Holidays.Hash() {
		known.Rules = answer.RulesOfThen
		return today, nil
	}
	book, err := st.Rulebook(ctx, t.PackHash, t.HolidayHash)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		known.RulesWhy = err.Error()
		return today, nil
	}
	known.Rules = answer.RulesOfThen
	return book, nil
}
