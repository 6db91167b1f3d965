package notify

import (
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/message"
	"antidotary/notify/words"
)

// Unreachable is a finding of which nobody can be told.
type Unreachable struct {
	Finding compliance.Finding
	Role    compliance.Role // the role that nobody reachable holds
}

// roster finds who holds which role where.
type roster struct {
	people []*compliance.Person                     // that can be mailed, in a fixed order
	ever   map[compliance.Role][]*compliance.Person // the same who hold, held or will hold a role anywhere
}

func newRoster(s *compliance.Snapshot) *roster {
	r := &roster{ever: make(map[compliance.Role][]*compliance.Person)}
	for p := range s.People.All() {
		if message.CheckAddress(p.Email) == nil {
			r.people = append(r.people, p)
		}
	}
	slices.SortFunc(r.people, func(a, b *compliance.Person) int { return slices.Compare(a.ID[:], b.ID[:]) })
	for _, p := range r.people {
		for _, o := range p.Offices {
			if list := r.ever[o.Role]; len(list) == 0 || list[len(list)-1] != p {
				r.ever[o.Role] = append(list, p)
			}
		}
	}
	return r
}

// holding gives who holds a role at a site. What is the whole house's, or at
// no recorded place, is everybody's who holds the role anywhere.
func (r *roster) holding(role compliance.Role, site inventory.ID, today day.Day) (out []*compliance.Person) {
	nowhere := site == inventory.ID{} || site == inventory.Nowhere
	for _, p := range r.ever[role] {
		if p.Has(role, site, today) || nowhere && p.HasAnywhere(role, today) {
			out = append(out, p)
		}
	}
	return out
}

// telling is who is told of one finding.
type telling struct {
	owner  compliance.Role // whose step it is
	by     compliance.Role // who stands in, where it is another
	people []*compliance.Person
	head   bool // the head is among them
}

// told gives who is told of a finding; nobody where nobody can be reached.
func (r *roster) told(f *compliance.Finding, owner compliance.Role, today day.Day) telling {
	out := telling{owner: owner}
	for _, role := range []compliance.Role{owner, compliance.Head, compliance.Administrator} {
		if out.people = r.holding(role, f.Site, today); len(out.people) > 0 {
			out.by = role
			break
		}
	}
	out.head = out.by == compliance.Head
	if !escalates(f) {
		return out
	}
	out.head = true
	for _, head := range r.holding(compliance.Head, f.Site, today) {
		if !slices.Contains(out.people, head) {
			out.people = append(out.people, head)
		}
	}
	return out
}

// escalates: what was missed, and what is critical and out of order, is the
// head's business too.
func escalates(f *compliance.Finding) bool {
	return f.Missed || f.Verdict.Standing == compliance.OutOfOrder && f.Severity == compliance.Critical
}

// whose names the role whose step it is and everybody who is told, for one of
// them to read. It holds names and no addresses.
func (t *telling) whose(reader *compliance.Person) string {
	names := []string{}
	for _, p := range t.people {
		if p == reader {
			names = slices.Insert(names, 0, "you")
		} else {
			names = append(names, p.Called)
		}
	}
	slices.Sort(names[min(1, len(names)):])
	text := words.Role(t.owner)
	if t.by != t.owner {
		text = "nobody who can be mailed is " + text + " there, so this goes to the " + words.Role(t.by)
	}
	if len(names) == 1 {
		return text + " (you alone are told)"
	}
	return text + " (told: " + strings.Join(names, ", ") + ")"
}

// then says what follows when the act-by day passes.
func (t *telling) then(f *compliance.Finding) string {
	if t.head || f.Verdict.Step.By.IsZero() {
		return ""
	}
	return "from " + words.Day(f.Verdict.Step.By+1) + " on the head of collection is told too"
}
