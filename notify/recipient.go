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
	found  map[asked]*telling
}

// asked is all that decides who is told of a finding: those of one site and
// owner are told to the same people.
type asked struct {
	owner     compliance.Role
	site      inventory.ID
	today     day.Day
	escalated bool
	beside    [2]inventory.ID // whose own the step is, beside the owner
}

func newRoster(s *compliance.Snapshot) *roster {
	r := &roster{ever: make(map[compliance.Role][]*compliance.Person), found: make(map[asked]*telling)}
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
	later  []compliance.Role // who is told too once it is missed
	words  map[*compliance.Person]string
}

// told gives who is told of a finding; nobody where nobody can be reached.
func (r *roster) told(f *compliance.Finding, owner compliance.Role, today day.Day) *telling {
	a := asked{owner, f.Site, today, escalates(f), f.Verdict.Step.Told}
	t, known := r.found[a]
	if !known {
		t = r.find(a)
		r.found[a] = t
	}
	return t
}

func (r *roster) find(a asked) *telling {
	out := &telling{owner: a.owner, words: make(map[*compliance.Person]string)}
	for _, role := range []compliance.Role{a.owner, compliance.Head, compliance.Administrator, compliance.SecondContact} {
		if out.people = r.holding(role, a.site, a.today); len(out.people) > 0 {
			out.by = role
			break
		}
	}
	for _, id := range a.beside {
		r.add(out, id, a.today)
	}
	for _, role := range []compliance.Role{compliance.Head, compliance.SecondContact} {
		r.escalate(out, role, a)
	}
	return out
}

// add tells somebody whose own the step is, where he can be reached.
func (r *roster) add(t *telling, id inventory.ID, today day.Day) {
	for _, p := range r.people {
		if p.ID == id && p.Here(today) && !slices.Contains(t.people, p) {
			t.people = append(t.people, p)
		}
	}
}

// escalate adds those who hold a role once the finding is theirs too, and
// else notes that it will be.
func (r *roster) escalate(t *telling, role compliance.Role, a asked) {
	holders := r.holding(role, a.site, a.today)
	if !a.escalated {
		if t.by != role && (role == compliance.Head || len(holders) > 0) {
			t.later = append(t.later, role)
		}
		return
	}
	for _, p := range holders {
		if !slices.Contains(t.people, p) {
			t.people = append(t.people, p)
		}
	}
}

// escalates: what was missed, and what is critical and out of order, is the
// head's business too, and the second contact's.
func escalates(f *compliance.Finding) bool {
	return f.Missed || f.Verdict.Standing == compliance.OutOfOrder && f.Severity == compliance.Critical
}

// whose names the role whose step it is and everybody who is told, for one of
// them to read. It holds names and no addresses.
func (t *telling) whose(reader *compliance.Person) string {
	text, known := t.words[reader]
	if !known {
		text = t.worded(reader)
		t.words[reader] = text
	}
	return text
}

func (t *telling) worded(reader *compliance.Person) string {
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
	if len(t.later) == 0 || f.Verdict.Step.By.IsZero() {
		return ""
	}
	var also []string
	for _, role := range t.later {
		also = append(also, "the "+words.Role(role))
	}
	verb := " is told too"
	if len(also) > 1 {
		verb = " are told too"
	}
	return "from " + words.Day(f.Verdict.Step.By+1) + " on " + strings.Join(also, " and ") + verb
}
