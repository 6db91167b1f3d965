package daemon

import (
	"context"
	"fmt"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/demo"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Question is what check, ahead and explain ask.
type Question struct {
	On    day.Day // unset: today at each site
	Until day.Day // unset: 24 months from today
	// KnownAt asks of what was known at an instant: records and rules of then,
	// and today is that day. Zero: what is known now.
	KnownAt time.Time
	inventory.Assumptions
	Demo string // full or small: ask of a demo house, not of the database
}

// Check answers what is out of order, what cannot be told, and what somebody
// must do soon.
func Check(ctx context.Context, opt Options, q Question) (*answer.Check, error) {
	if q.KnownAt.IsZero() {
		r, err := Evaluate(ctx, opt, q)
		if err != nil {
			return nil, err
		}
		return answer.NewCheck(r), nil
	}
	r, known, err := evaluateKnown(ctx, opt, q)
	if err != nil {
		return nil, err
	}
	return answer.NewCheckKnownAt(r, known), nil
}

// Evaluate answers a question from the records as they are now, or as they
// were known.
func Evaluate(ctx context.Context, opt Options, q Question) (*compliance.Report, error) {
	opt.settle()
	if !q.KnownAt.IsZero() {
		r, _, err := evaluateKnown(ctx, opt, q)
		return r, err
	}
	book, err := Rulebook(opt.Config)
	if err != nil {
		return nil, err
	}
	snapshot, err := records(ctx, opt, book, q)
	if err != nil {
		return nil, err
	}
	ask := compliance.Ask{Now: opt.Clock(), On: q.On, Until: q.Until, Assumptions: q.Assumptions}
	return compliance.Evaluate(book, snapshot, ask), nil
}

func records(ctx context.Context, opt Options, book *compliance.Rulebook, q Question) (*compliance.Snapshot, error) {
	if q.Demo != "" {
		batch, err := demoHouse(q.Demo, opt, book)
		if err != nil {
			return nil, err
		}
		s, err := batch.Apply(&compliance.Snapshot{})
		if err != nil {
			return nil, err
		}
		s.Pulse.Swept = opt.Clock()
		return s, nil
	}
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	view, err := st.Read(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the records: %w", err)
	}
	return view.Snapshot, nil
}

func demoHouse(name string, opt Options, book *compliance.Rulebook) (compliance.Batch, error) {
	today := day.In(opt.Clock(), opt.Clock().UTC().Location())
	switch name {
	case "full":
		return demo.House(today, book.Holidays), nil
	case "small":
		return demo.Small(today, book.Holidays), nil
	}
	return nil, fmt.Errorf("there is no demo house %q: full and small are known", name)
}

// VerifyJournal checks the chain of the journal.
func VerifyJournal(ctx context.Context, opt Options) (*JournalAnswer, error) {
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	report, err := st.Verify(ctx)
	if err != nil {
		return nil, fmt.Errorf("verify the journal: %w", err)
	}
	return newJournalAnswer(report), nil
}
