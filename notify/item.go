package notify

import (
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Item is one duty that needs somebody, in words.
type Item struct {
	Requirement string              `json:"requirement"`
	Subject     string              `json:"subject"` // kind:uuid
	Name        string              `json:"name"`
	Occurrence  string              `json:"occurrence,omitempty"`
	Site        string              `json:"site,omitempty"`
	Standing    compliance.Standing `json:"standing"`
	State       compliance.Code     `json:"state"`
	StateWords  string              `json:"state_words"`
	Layer       compliance.Layer    `json:"layer"`
	Severity    compliance.Severity `json:"severity"`
	Title       string              `json:"title"`
	Consequence string              `json:"consequence"`
	Step        *Step               `json:"step,omitempty"`
	Rule        string              `json:"rule"`
	Citation    string              `json:"citation"`
	Certainty   string              `json:"certainty"`
	Cause       string              `json:"cause,omitempty"`
	Reasons     []string            `json:"reasons,omitempty"`

	// In a digest alone:
	Mention Mention            `json:"-"` // why it is told now; empty where it only still stands
	Whose   string             `json:"-"` // whose step it is, and who is told
	Then    string             `json:"-"` // what follows when the act-by day passes
	How     compliance.Closing `json:"-"` // how it ended
}

// Step is what somebody must do, in words.
type Step struct {
	Do     compliance.Code `json:"do"`
	Words  string          `json:"words"`
	Record string          `json:"record,omitempty"` // the deed, and the command, that records it: "permit filed"
	By     day.Day         `json:"by,omitzero"`      // unset: at once
	Legal  day.Day         `json:"legal,omitzero"`
	// PostBy and HandInBy are the last days to post an application and to hand
	// it in at an open office, before the margin of the house; unset where
	// nothing is to be filed.
	PostBy   day.Day `json:"post_by,omitzero"`
	HandInBy day.Day `json:"hand_in_by,omitzero"`
	// At is the last instant in time, where the rule counts by the clock.
	At          time.Time       `json:"at,omitzero"`
	Owner       compliance.Role `json:"owner"`
	Missed      bool            `json:"missed,omitempty"`
	Provisional bool            `json:"provisional,omitempty"`
}

// Describe puts a finding into words, as of today at its site, with the facts
// behind it.
func Describe(r *compliance.Report, f compliance.Finding) Item {
	it := brief(r, f)
	if j := r.Of(f.Key); j != nil {
		for _, reason := range r.Why(j, r.View.Today(f.Site)) {
			it.Reasons = append(it.Reasons, words.Reason(reason))
		}
	}
	return it
}

// brief leaves out the facts, which take longest to find.
func brief(r *compliance.Report, f compliance.Finding) Item {
	today := r.View.Today(f.Site)
	var rule *compliance.Rule
	if j := r.Of(f.Key); j != nil {
		rule = j.Binding(today).Rule
	}
	it := Item{
		Step:        DescribeStep(r, rule, f.Verdict.Step, today),
		Requirement: f.Key.Requirement,
		Subject:     f.Key.Subject.String(),
		Name:        r.View.NameOf(f.Key.Subject),
		Occurrence:  f.Key.Occurrence,
		Standing:    f.Verdict.Standing,
		State:       f.Verdict.State,
		StateWords:  words.State(f.Verdict.State),
		Layer:       f.Layer,
		Severity:    f.Severity,
		Rule:        f.Rule,
		Cause:       r.View.NameOf(f.Verdict.Cause),
		How:         f.How,
	}
	if f.Site != (inventory.ID{}) && f.Site != inventory.Nowhere {
		it.Site = r.View.Site(f.Site).Title
		if zone, err := time.LoadLocation(r.View.Site(f.Site).Zone); err == nil && it.Step != nil && !it.Step.At.IsZero() {
			it.Step.At = it.Step.At.In(zone)
		}
	}
	if rule != nil {
		it.Title, it.Consequence = rule.Title, rule.Consequence
		it.Citation, it.Certainty = rule.Citation.Text, rule.Citation.Certainty.Words()
		if it.Step != nil {
			it.Step.Record = words.Recorded(it.Step.Do, rule.Activity())
		}
	}
	return it
}

// DescribeStep puts a step that follows from a rule into words; nil where
// there is none. The rule is nil where it is not known.
func DescribeStep(r *compliance.Report, rule *compliance.Rule, s compliance.Step, today day.Day) *Step {
	if s.IsZero() {
		return nil
	}
	filing := r.FilingOf(rule, s)
	return &Step{Do: s.Do, Words: words.Step(s.Do), By: s.By, Legal: s.Legal, PostBy: filing.Post, HandInBy: filing.HandIn, At: s.At, Owner: s.Owner,
		Missed: !s.By.IsZero() && s.By < today, Provisional: s.Provisional}
}

// Recorded says how a step is recorded once it is done; empty where nothing
// is to be recorded.
func (s *Step) Recorded() string {
	if s.Record == "" {
		return ""
	}
	return "; to record it: antidotary " + s.Record
}

// When says by when a step must be done.
func (s *Step) When(today day.Day) string {
	if s.By.IsZero() {
		return "at once"
	}
	text := "by "
	if s.Missed {
		text = "should have been done by "
	}
	text += words.Day(s.By) + ", " + words.Relative(s.By, today) + words.Filing(s.By, s.PostBy, s.HandInBy, today)
	if !s.Legal.IsZero() && s.Legal != s.By {
		text += "; last day by the rule itself " + words.Day(s.Legal)
	}
	if !s.At.IsZero() {
		text += "; by the clock at the latest " + words.Moment(s.At)
	}
	if s.Provisional {
		text += "; provisional: holidays of that time are not in the data"
	}
	return text
}
