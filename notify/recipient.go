package notify

import (
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/message"
)

// Unreachable is a finding of which nobody can be told.
type Unreachable struct {
	Finding compliance.Finding
	Role    compliance.Role // the role that nobody reachable holds
}

// roster finds who holds which role where.
type roster struct {
	people []*compliance.Person // that can be mailed, in a fixed order
}

func newRoster(s *compliance.Snapshot) *roster {
	r := &roster{}
	for p := range s.People.All() {
		if message.CheckAddress(p.Email) == nil {
			r.people = append(r.people, p)
		}
	}
	slices.SortFunc(r.people, func(a, b *compliance.Person) int { return slices.Compare(a.ID[:], b.ID[:]) })
	return r
}

func (r *roster) holding(role compliance.Role, site inventory.ID, today day.Day) (out []*compliance.Person) {
	for _, p := range r.people {
		if p.Has(role, site, today) || site == (inventory.ID{}) && p.HasAnywhere(role, today) {
			out = append(out, p)
		}
	}
	return out
}

// told gives who is told of a finding, and the role that it is told to;
// nobody where nobody can be reached.
func (r *roster) told(f *compliance.Finding, owner compliance.Role, today day.Day) []*compliance.Person {
	var out []*compliance.Person
	for _, role := range []compliance.Role{owner, compliance.Head, compliance.Administrator} {
		if out = r.holding(role, f.Site, today); len(out) > 0 {
			break
		}
	}
	if escalates(f) {
		for _, head := range r.holding(compliance.Head, f.Site, today) {
			if !slices.Contains(out, head) {
				out = append(out, head)
			}
		}
	}
	return out
}

// escalates: what was missed, and what is critical and out of order, is the
// head's business too.
func escalates(f *compliance.Finding) bool {
	return f.Missed || f.Verdict.Standing == compliance.OutOfOrder && f.Severity == compliance.Critical
}
