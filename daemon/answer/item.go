package answer

import (
	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Item is one duty that needs somebody.
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
}

// Step is what somebody must do.
type Step struct {
	Do          compliance.Code `json:"do"`
	Words       string          `json:"words"`
	By          day.Day         `json:"by,omitzero"` // unset: at once
	Legal       day.Day         `json:"legal,omitzero"`
	Owner       compliance.Role `json:"owner"`
	Missed      bool            `json:"missed,omitempty"`
	Provisional bool            `json:"provisional,omitempty"`
}

func itemOf(r *compliance.Report, j *compliance.Judgement, f compliance.Finding, today day.Day) Item {
	v := f.Verdict
	it := Item{
		Requirement: f.Key.Requirement,
		Subject:     f.Key.Subject.String(),
		Name:        r.View.NameOf(f.Key.Subject),
		Occurrence:  f.Key.Occurrence,
		Standing:    v.Standing,
		State:       v.State,
		StateWords:  words.State(v.State),
		Layer:       f.Layer,
		Severity:    f.Severity,
		Rule:        f.Rule,
		Step:        stepOf(v.Step, today),
	}
	if f.Site != (inventory.ID{}) && f.Site != inventory.Nowhere {
		it.Site = r.View.Site(f.Site).Title
	}
	if !v.Cause.IsZero() {
		it.Cause = r.View.NameOf(v.Cause)
	}
	if rule := j.Binding(today).Rule; rule != nil {
		it.Title, it.Consequence = rule.Title, rule.Consequence
		it.Citation, it.Certainty = rule.Citation.Text, rule.Citation.Certainty.Words()
	}
	for _, reason := range r.Why(j, today) {
		it.Reasons = append(it.Reasons, words.Reason(reason))
	}
	return it
}

func stepOf(s compliance.Step, today day.Day) *Step {
	if s.IsZero() {
		return nil
	}
	return &Step{Do: s.Do, Words: words.Step(s.Do), By: s.By, Legal: s.Legal, Owner: s.Owner,
		Missed: !s.By.IsZero() && s.By < today, Provisional: s.Provisional}
}
