package answer

import (
	"cmp"
	"io"
	"slices"

	"antidotary/compliance"
	"antidotary/compliance/ladder"
	"antidotary/inventory"
	"antidotary/notify/words"
)

// TakenSessions says of handling sessions that an import took how many count,
// how many do not, and why. Each is judged with all that is recorded, by the
// ladder of the place where its trainee works.
type TakenSessions struct {
	Taken int `json:"taken"`
	// Count, Not and CannotTell add up to Taken.
	Count      int            `json:"count"`
	Not        int            `json:"do_not_count"`
	CannotTell int            `json:"cannot_tell"`
	Why        []SessionsWhy  `json:"why"`    // the most frequent first; what counts under a mentor needs none
	Ask        string         `json:"ask"`    // the command that lists them one by one
	People     []string       `json:"people"` // of whom some do not count for sure
	reasons    map[reason]int // until they are sorted
}

// SessionsWhy is one reason, and how many sessions it is the reason of.
type SessionsWhy struct {
	Counts   inventory.Tri `json:"counts"`
	Why      string        `json:"why"`
	Sessions int           `json:"sessions"`
}

type reason struct {
	counts inventory.Tri
	why    string
}

const noLadder = "no ladder says how people are brought on where the trainee works"

// NewTakenSessions judges sessions that are recorded.
func NewTakenSessions(v *compliance.View, sessions []inventory.ID) *TakenSessions {
	t := &TakenSessions{Taken: len(sessions), Why: []SessionsWhy{}, Ask: "antidotary ladder NAME", People: []string{}, reasons: make(map[reason]int)}
	of := make(map[inventory.ID][]inventory.ID)
	for _, id := range sessions {
		if s, ok := v.Sessions.Get(id); ok {
			of[s.Trainee] = append(of[s.Trainee], id)
		}
	}
	for p := range v.People.All() {
		if mine := of[p.ID]; len(mine) > 0 && !t.judged(v, p, mine) {
			t.People = append(t.People, p.Called)
		}
	}
	slices.Sort(t.People)
	for r, n := range t.reasons {
		t.Why = append(t.Why, SessionsWhy{r.counts, r.why, n})
	}
	slices.SortFunc(t.Why, func(a, b SessionsWhy) int {
		return cmp.Or(cmp.Compare(b.Sessions, a.Sessions), cmp.Compare(a.Why, b.Why), cmp.Compare(a.Counts, b.Counts))
	})
	return t
}

// judged adds the sessions of one trainee, and says whether all count.
func (t *TakenSessions) judged(v *compliance.View, p *compliance.Person, mine []inventory.ID) bool {
	s := v.Standings(p.Site)
	if s == nil {
		t.CannotTell += len(mine)
		t.reasons[reason{inventory.Unknown, noLadder}] += len(mine)
		return false
	}
	asked := make(map[inventory.ID]bool, len(mine))
	for _, id := range mine {
		asked[id] = true
	}
	all := true
	for _, x := range s.Sessions(p.ID) {
		if !asked[x.ID] {
			continue
		}
		counts := x.Counted()
		switch counts {
		case inventory.Yes:
			t.Count++
		case inventory.No:
			t.Not++
		default:
			t.CannotTell++
		}
		all = all && counts == inventory.Yes
		if x.Worst != ladder.Counts {
			t.reasons[reason{counts, words.SessionStatus(x.Worst)}]++
		}
	}
	return all
}

// WriteText writes it for a terminal; nil has nothing to tell.
func (t *TakenSessions) WriteText(w io.Writer) error {
	if t == nil {
		return nil
	}
	p := &printer{w: w}
	p.line("")
	p.line("Of %d sessions %d count, %d do not, and of %d it cannot be told:", t.Taken, t.Count, t.Not, t.CannotTell)
	before := map[inventory.Tri]string{inventory.No: "do not count: ", inventory.Unknown: "cannot tell: "}
	for _, r := range t.Why {
		p.line("  %4d  %s%s", r.Sessions, before[r.Counts], r.Why)
	}
	if t.Count < t.Taken {
		p.line("%s lists each of them, and why.", t.Ask)
	}
	p.text("What went wrong in a session counts in any case. " + words.Caution)
	return p.err
}
