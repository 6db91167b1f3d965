package answer

import (
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// RulesOf says whose rules an answer of a past instant was judged by.
type RulesOf string

// The rules: those that the last sweep of then rested on, or today's.
const (
	RulesOfThen  RulesOf = "then"
	RulesOfToday RulesOf = "today"
)

// Known is what an answer rests on that is given as of a past instant.
type Known struct {
	At       time.Time `json:"at"`                   // what was recorded later does not count
	First    time.Time `json:"first_entry,omitzero"` // of the journal; unset: it is empty
	Entries  int64     `json:"entries"`              // of the journal by then
	Rules    RulesOf   `json:"rules"`
	RulesWhy string    `json:"rules_why,omitempty"` // why not those of then
	Engine   string    `json:"engine"`              // that judges now
	// Erased are records of that time (kind:uuid) that are not there any more:
	// what concerns them cannot be told.
	Erased []string `json:"erased"`
	// RunsRemoved: whether the watch's own jobs had run cannot be told.
	RunsRemoved bool  `json:"runs_removed"`
	Told        *Told `json:"told,omitempty"` // unset: there had been no sweep
}

// Told is what people had been told by the last sweep of then, and whether
// judging what that sweep knew gives the same again.
type Told struct {
	Sweep       inventory.ID  `json:"sweep"`
	Started     time.Time     `json:"started"`
	Finished    time.Time     `json:"finished"`
	Engine      string        `json:"engine"` // that judged then
	Lost        int           `json:"lost"`   // records that it knew and that were erased since
	Items       []notify.Item `json:"items"`
	Same        bool          `json:"same"`
	Differences []Difference  `json:"differences"`
}

// Difference is one duty of which judging again says something else than what
// was told.
type Difference struct {
	Requirement string `json:"requirement"`
	Subject     string `json:"subject"`
	Name        string `json:"name"`
	Occurrence  string `json:"occurrence,omitempty"`
	Told        *Said  `json:"told,omitempty"`  // unset: nothing was told of it
	Again       *Said  `json:"again,omitempty"` // unset: nobody is needed
}

// Said is what is said of a duty, in short.
type Said struct {
	Standing   compliance.Standing `json:"standing"`
	State      compliance.Code     `json:"state"`
	StateWords string              `json:"state_words"`
	Rule       string              `json:"rule"`
	Layer      compliance.Layer    `json:"layer"`
	Step       *notify.Step        `json:"step,omitempty"`
}

// NewCheckKnownAt makes the answer as of a past instant.
func NewCheckKnownAt(r *compliance.Report, known *Known) *Check {
	c := NewCheck(r)
	c.Known = known
	c.NobodyTold = c.NobodyTold && r.View.Organisations.Len() > 0 // else that was not known
	if known.Erased == nil {
		known.Erased = []string{}
	}
	return c
}

// Tell fills in what was told, from the findings that were open after the
// sweep, and from judging again what the sweep knew.
func (t *Told) Tell(open []compliance.Finding, again *compliance.Report) {
	t.Items, t.Differences = []notify.Item{}, []Difference{}
	now := make(map[compliance.Key]compliance.Finding)
	var order []compliance.Key
	for _, j := range again.Judgements {
		if f, needed := again.Finding(j); needed {
			now[j.Key], order = f, append(order, j.Key)
		}
	}
	for _, f := range open {
		it := notify.Describe(again, f)
		it.Reasons = nil // those are facts of judging again
		t.Items = append(t.Items, it)
		is, needed := now[f.Key]
		delete(now, f.Key)
		switch {
		case !needed:
			t.differs(again, f.Key, &f, nil)
		case !sameSaid(&f, &is):
			t.differs(again, f.Key, &f, &is)
		}
	}
	for _, key := range order {
		if f, left := now[key]; left {
			t.differs(again, key, nil, &f)
		}
	}
	notify.Sort(t.Items)
	t.Same = len(t.Differences) == 0
}

// sameSaid compares what judging says, and not what the episode remembers.
func sameSaid(a, b *compliance.Finding) bool {
	return a.Verdict == b.Verdict && a.Rule == b.Rule && a.Layer == b.Layer && a.Severity == b.Severity && a.Site == b.Site
}

func (t *Told) differs(r *compliance.Report, key compliance.Key, told, again *compliance.Finding) {
	t.Differences = append(t.Differences, Difference{Requirement: key.Requirement, Subject: key.Subject.String(), Name: r.View.NameOf(key.Subject),
		Occurrence: key.Occurrence, Told: saidOf(r, told), Again: saidOf(r, again)})
}

func saidOf(r *compliance.Report, f *compliance.Finding) *Said {
	if f == nil {
		return nil
	}
	var rule *compliance.Rule
	today := r.View.Today(f.Site)
	if j := r.Of(f.Key); j != nil {
		rule = j.Binding(today).Rule
	}
	return &Said{Standing: f.Verdict.Standing, State: f.Verdict.State, StateWords: words.State(f.Verdict.State), Rule: f.Rule, Layer: f.Layer,
		Step: notify.DescribeStep(r, rule, f.Verdict.Step, today)}
}

// unsure says that the whole cannot be told to be in order, whatever is known
// to be.
func (k *Known) unsure() bool {
	return k != nil && (k.Entries == 0 || len(k.Erased) > 0 || k.RunsRemoved || k.Rules != RulesOfThen)
}

// moment writes an instant with its day's name.
func moment(t time.Time) string {
	t = t.UTC()
	return words.Day(day.In(t, time.UTC)) + t.Format(" 15:04:05 MST")
}
