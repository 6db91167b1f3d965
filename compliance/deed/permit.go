package deed

import (
	"errors"
	"fmt"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// PermitFiled records that the renewal of a paper was posted, or handed in, on
// a day. The receipt may come with it: then the authority has it that day.
func PermitFiled(paper inventory.ID, on day.Day, receipt string) Deed {
	return alter(WordsPermitFiled, permit(paper), func(_ *compliance.Snapshot, p *compliance.Permit) error {
		a := compliance.Application{Posted: on, Receipt: receipt}
		if receipt != "" {
			a.Received = on
		}
		n := len(p.Applications)
		if n == 0 {
			p.Applications = with(p.Applications, a)
			return nil
		}
		last := p.Applications[n-1]
		switch {
		case !last.Decided.IsZero() || !last.Deficient.IsZero():
			p.Applications = with(p.Applications, a)
			return before(on, "the renewal before it was decided or sent back", max(last.Decided, last.Deficient))
		case last.Posted.IsZero() && last.Received.IsZero():
			a.Prepared = last.Prepared
			p.Applications = with(p.Applications[:n-1], a)
			return before(on, "the renewal was prepared", last.Prepared)
		}
		return fmt.Errorf("a renewal that was filed on %s is not decided yet: record the decision, or undo the earlier entry", filed(last))
	})
}

// filed gives the first day on which the authority may have had an
// application.
func filed(a compliance.Application) day.Day {
	if a.Posted.IsZero() {
		return a.Received
	}
	return a.Posted
}

var errNotFiled = errors.New("no renewal that waits for a decision is recorded: record that it was filed first")

// renewal alters the application that the authority has yet to decide.
func renewal(words string, paper inventory.ID, how func(*compliance.Application) error) Deed {
	return alter(words, permit(paper), func(_ *compliance.Snapshot, p *compliance.Permit) error {
		n := len(p.Applications)
		if n == 0 || !p.Applications[n-1].Decided.IsZero() {
			return errNotFiled
		}
		a := p.Applications[n-1]
		if filed(a).IsZero() {
			return errNotFiled
		}
		if err := how(&a); err != nil {
			return err
		}
		p.Applications = with(p.Applications[:n-1], a)
		return nil
	})
}

// PermitReceived records that the authority has the renewal of a paper.
func PermitReceived(paper inventory.ID, on day.Day, receipt string) Deed {
	return renewal(WordsPermitReceived, paper, func(a *compliance.Application) error {
		if !a.Received.IsZero() {
			return fmt.Errorf("it is already recorded as received on %s: undo that entry to correct it", a.Received)
		}
		a.Received = on
		if receipt != "" {
			a.Receipt = receipt
		}
		return before(on, "it was posted", a.Posted)
	})
}

// PermitDeficient records that the authority sent the renewal of a paper back
// as not sufficient. Until another one is filed it protects nothing.
func PermitDeficient(paper inventory.ID, on day.Day) Deed {
	return renewal(WordsPermitDeficient, paper, func(a *compliance.Application) error {
		a.Deficient = on
		return before(on, "it was filed", filed(*a))
	})
}

// Successor is the paper that follows another one. What it allows is taken
// from the one before it: correct it where the new paper says otherwise.
type Successor struct {
	ID     inventory.ID // made by the client
	Number string
	Issued day.Day
	From   day.Day
	Until  day.End
}

// PermitDecided records what the authority decided about the renewal of a
// paper, and the paper that follows where it is there already; nil where not.
func PermitDecided(paper inventory.ID, on day.Day, outcome compliance.Outcome, next *Successor) Deed {
	d := renewal(WordsPermitDecided, paper, func(a *compliance.Application) error {
		a.Decided, a.Outcome = on, outcome
		return before(on, "it was filed", filed(*a))
	})
	if next != nil {
		d.Batch = append(d.Batch, succeed{paper, *next})
	}
	return d
}

// PermitIssued records a paper that follows another one.
func PermitIssued(renews inventory.ID, next Successor) Deed {
	return of(WordsPermitIssued, succeed{renews, next})
}

// succeed makes a paper from the one before it.
type succeed struct {
	old  inventory.ID
	next Successor
}

// Touches names the new paper.
func (c succeed) Touches() []inventory.Ref { return []inventory.Ref{permit(c.next.ID)} }

// Apply puts the new paper.
func (c succeed) Apply(s *compliance.Snapshot) (*compliance.Snapshot, error) {
	old, ok := s.Permits.Get(c.old)
	if !ok {
		return nil, &compliance.Refusal{Subject: permit(c.old), Name: c.old.String(), Err: errors.New("is not recorded")}
	}
	n := c.next
	return compliance.Record(compliance.Permit{ID: n.ID, Number: n.Number, Class: old.Class, Authority: old.Authority, Holder: old.Holder,
		Sites: old.Sites, AnyPlace: old.AnyPlace, Animals: old.Animals, Grants: old.Grants, Renewable: old.Renewable,
		Issued: n.Issued, From: n.From, Expires: n.Until, Renews: old.ID}).Apply(s)
}

// PermitSuspended records that a paper is out of force from a day on.
func PermitSuspended(paper inventory.ID, from day.Day) Deed {
	return alter(WordsPermitSuspended, permit(paper), func(_ *compliance.Snapshot, p *compliance.Permit) error {
		for _, s := range p.Suspensions {
			if s.Lifted.IsZero() {
				return fmt.Errorf("it is already suspended from %s, and that is not lifted", s.From)
			}
		}
		p.Suspensions = with(p.Suspensions, compliance.Suspension{From: from})
		return nil
	})
}

// PermitLifted records that a suspension ended: in force again from a day on.
func PermitLifted(paper inventory.ID, from day.Day) Deed {
	return alter(WordsPermitLifted, permit(paper), func(_ *compliance.Snapshot, p *compliance.Permit) error {
		n := len(p.Suspensions)
		if n == 0 || !p.Suspensions[n-1].Lifted.IsZero() {
			return errors.New("no suspension that lasts is recorded")
		}
		s := p.Suspensions[n-1]
		s.Lifted = from
		p.Suspensions = with(p.Suspensions[:n-1], s)
		return before(from, "the suspension began", s.From)
	})
}

// PermitRevoked records that the authority took a paper away from a day on.
func PermitRevoked(paper inventory.ID, from day.Day) Deed {
	return alter(WordsPermitRevoked, permit(paper), func(_ *compliance.Snapshot, p *compliance.Permit) error {
		return once(&p.Revoked, from, "revoked")
	})
}

// PermitSurrendered records that the house gave a paper back on a day.
func PermitSurrendered(paper inventory.ID, on day.Day) Deed {
	return alter(WordsPermitSurrendered, permit(paper), func(_ *compliance.Snapshot, p *compliance.Permit) error {
		return once(&p.Surrendered, on, "surrendered")
	})
}

// once sets a day that was not set.
func once(field *day.Day, on day.Day, what string) error {
	if !field.IsZero() {
		return fmt.Errorf("it is already recorded as %s on %s: undo that entry to correct it", what, *field)
	}
	*field = on
	return nil
}
