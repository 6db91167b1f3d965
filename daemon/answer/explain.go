package answer

import (
	"cmp"
	"io"
	"slices"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify"
	"antidotary/notify/words"
)

// Explain answers why: for one subject every requirement, what law and policy
// say today, each rule by itself with the facts that it used, and what
// changes next.
type Explain struct {
	Telling
	Format  int       `json:"format"`
	Now     time.Time `json:"now"`
	Subject string    `json:"subject"`
	Name    string    `json:"name"`
	Today   day.Day   `json:"today"`
	Duties  []Duty    `json:"duties"`
	// RestsOn: the duties are other subjects' that turn on this one.
	RestsOn bool `json:"rests_on,omitempty"`
}

// Duty is one requirement of the subject.
type Duty struct {
	Requirement string      `json:"requirement"`
	Occurrence  string      `json:"occurrence,omitempty"`
	Of          []string    `json:"of,omitempty"` // whose duty it is, where the duties rest on the subject
	Law         Side        `json:"law"`
	Policy      Side        `json:"policy"`
	Rules       []RuleWords `json:"rules"`
	Next        *Turn       `json:"next,omitempty"`
}

// Side is what law or policy says.
type Side struct {
	Standing compliance.Standing `json:"standing"`
	State    compliance.Code     `json:"state,omitempty"`
}

// RuleWords is what one rule says by itself.
type RuleWords struct {
	ID        string              `json:"id"`
	Layer     compliance.Layer    `json:"layer"`
	Pack      string              `json:"pack,omitempty"`
	Title     string              `json:"title"`
	Standing  compliance.Standing `json:"standing"`
	State     compliance.Code     `json:"state,omitempty"`
	Binds     bool                `json:"binds"`
	Part      compliance.Part     `json:"part"` // what it counts for today
	LiftedBy  []LiftedBy          `json:"lifted_by,omitempty"`
	Warning   string              `json:"warning,omitempty"`
	Step      *notify.Step        `json:"step,omitempty"`
	Reasons   []string            `json:"reasons,omitempty"`
	Citation  string              `json:"citation"`
	Certainty string              `json:"certainty"`
}

// LiftedBy is another law that lifts the rule today, or may.
type LiftedBy struct {
	Rule        string              `json:"rule"`
	How         compliance.LiftKind `json:"how"`
	Exemption   string              `json:"exemption,omitempty"`
	Sure        inventory.Tri       `json:"sure"`
	Citation    string              `json:"citation"`
	Certainty   string              `json:"certainty"`
	LegalReview bool                `json:"needs_legal_review,omitempty"`
	words       string
}

// NewExplain makes the answer for one subject.
func NewExplain(r *compliance.Report, subject inventory.Ref) *Explain {
	v := r.View
	e := &Explain{Telling: Telling{!v.House().Mailed}, Format: Format, Now: v.Ask.Now.UTC(), Subject: subject.String(), Name: v.NameOf(subject), Duties: []Duty{}}
	e.Today = v.Today(inventory.ID{})
	for j := range r.About(subject) {
		e.Today = v.Today(j.Site(e.Today))
		e.Duties = append(e.Duties, dutyOf(r, j, e.Today))
	}
	if len(e.Duties) == 0 {
		e.resting(r, subject)
	}
	return e
}

// resting tells of the duties of others that turn on the subject: a paper's
// animals, a list's site, the species that a lot is for. Those alike are told
// once, with all their names.
func (e *Explain) resting(r *compliance.Report, subject inventory.Ref) {
	type alike struct {
		requirement string
		verdict     compliance.Verdict
	}
	holdings := coveredBy(r.View, subject)
	at := func(j *compliance.Judgement) day.Day { return r.View.Today(j.Site(e.Today)) }
	var turning []*compliance.Judgement
	for _, j := range r.Judgements {
		if verdict, _ := j.At(at(j)); verdict.Cause == subject || holdings[j.Key.Subject] && !j.Rules[0].Rule.AsksHands() {
			turning = append(turning, j)
		}
	}
	groups := notify.Together(turning, func(j *compliance.Judgement) alike {
		verdict, _ := j.At(at(j))
		return alike{j.Key.Requirement, *verdict}
	})
	for _, group := range groups {
		d := dutyOf(r, group[0], at(group[0]))
		for _, j := range group {
			d.Of = append(d.Of, r.View.NameOf(j.Key.Subject))
		}
		slices.Sort(d.Of)
		e.Duties = append(e.Duties, d)
	}
	if e.RestsOn = len(groups) > 0; e.RestsOn {
		e.Today = at(groups[len(groups)-1][0])
	}
	slices.SortFunc(e.Duties, func(a, b Duty) int {
		return cmp.Or(cmp.Compare(a.Requirement, b.Requirement), slices.Compare(a.Of, b.Of))
	})
}

// coveredBy gives the species that a lot's product is for, at each site where
// the lot ever was; nothing where the subject is no lot.
func coveredBy(v *compliance.View, subject inventory.Ref) map[inventory.Ref]bool {
	lot, ok := v.Lots.Get(subject.ID)
	if !ok || subject.Kind != inventory.KindLot {
		return nil
	}
	out := make(map[inventory.Ref]bool)
	for _, m := range lot.Movements {
		place, known := v.Places.Get(m.Place)
		for c := range v.Coverage.All() {
			if known && c.Product == lot.Product {
				out[inventory.Holding(c.Species, place.Site)] = true
			}
		}
	}
	return out
}

func dutyOf(r *compliance.Report, j *compliance.Judgement, today day.Day) Duty {
	law, policy := j.Law.At(today), j.Policy.At(today)
	d := Duty{Requirement: j.Key.Requirement, Occurrence: j.Key.Occurrence,
		Law: Side{law.Standing, law.State}, Policy: Side{policy.Standing, policy.State}}
	binding := j.Binding(today).Rule
	for _, rl := range j.Rules {
		one := ruleWords(r, j, rl, today, rl.Rule == binding)
		one.precede(j, rl, today)
		d.Rules = append(d.Rules, one)
	}
	d.Next = nextTurn(r, j, today)
	return d
}

// ruleWords is what a rule says by itself.
func ruleWords(r *compliance.Report, j *compliance.Judgement, rl compliance.RuleLine, today day.Day, binds bool) RuleWords {
	verdict := rl.Line.At(today)
	out := RuleWords{ID: rl.Rule.ID, Layer: rl.Rule.Layer, Title: rl.Rule.Title, Standing: verdict.Standing, State: verdict.State,
		Binds: binds, Step: notify.DescribeStep(r, rl.Rule, verdict.Step, today), Citation: rl.Rule.Citation.Text, Certainty: rl.Rule.Citation.Certainty.Words()}
	if out.Step != nil {
		out.Step.Record = words.Recorded(out.Step.Do, rl.Rule.Activity())
	}
	if rl.Rule.Pack != nil {
		out.Pack = rl.Rule.Pack.Title + " (" + cmp.Or(rl.Rule.Pack.Edition, "edition not recorded") + ")"
	}
	for _, reason := range r.WhyRule(rl.Rule, j.Key, today) {
		out.Reasons = append(out.Reasons, words.Reason(reason))
	}
	return out
}

// precede tells what the rule counts for beside the others.
func (w *RuleWords) precede(j *compliance.Judgement, rl compliance.RuleLine, today day.Day) {
	w.Part = j.PartOf(rl, today)
	w.Binds = w.Binds && w.Part != compliance.LiftedOut
	for _, l := range rl.LiftedOn(today) {
		sure := l.Line.At(today)
		w.LiftedBy = append(w.LiftedBy, LiftedBy{Rule: l.By.ID, How: l.How, Exemption: l.Exemption, Sure: sure, Citation: l.Citation.Text,
			Certainty: l.Citation.Certainty.Words(), LegalReview: l.How == compliance.Preempts, words: words.Lifted(l, sure)})
	}
	for _, reason := range rl.WhyDoubtful(today) {
		w.Reasons = append(w.Reasons, words.Reason(reason))
	}
	if above := j.Laxer(rl, today); above != nil {
		w.Warning = words.Laxer(rl.Rule, above)
	}
}

func nextTurn(r *compliance.Report, j *compliance.Judgement, today day.Day) *Turn {
	line := j.Combined()
	was := line.At(today)
	on, is, ok := line.Next(today, func(v *compliance.Verdict) bool { return v.Standing != was.Standing })
	if !ok {
		return nil
	}
	t := turnOf(r, j, on, was, is, today)
	return &t
}

// WriteText prints the answer for a terminal.
func (e *Explain) WriteText(w io.Writer) error {
	out := &printer{w: w}
	out.line("%s, as of %s", e.Name, words.Day(e.Today))
	if e.RestsOn {
		out.line("  Nothing is asked of it itself; these duties turn on it:")
	}
	if len(e.Duties) == 0 {
		out.indented("No rule asks anything of it. That is not the same as in order: see which packs are in use.")
	}
	for _, d := range e.Duties {
		out.line("")
		title := strings.TrimSpace(d.Requirement + " " + d.Occurrence)
		out.line("%s: by law %s; by policy %s", title, words.Standing(d.Law.Standing), words.Standing(d.Policy.Standing))
		if len(d.Of) > 0 {
			out.field("duty of", strings.Join(d.Of, ", "))
		}
		for _, rule := range d.Rules {
			out.rule(rule, e.Today)
		}
		if d.Next != nil {
			out.field("next", words.Day(d.Next.On)+", "+words.Relative(d.Next.On, e.Today)+": "+strings.TrimSuffix(words.Standing(d.Next.To)+": "+d.Next.StateWords, ": "))
		}
	}
	out.line("")
	out.text(words.Caution)
	return out.err
}

func (p *printer) rule(r RuleWords, today day.Day) {
	part := r.Part
	if r.Binds {
		part = compliance.Binds
	}
	p.field(string(r.Layer), r.ID+" ("+words.Part(part)+"): "+r.Title)
	text := words.Standing(r.Standing)
	if r.State != "" {
		text += ": " + words.State(r.State)
	}
	p.field("says", text)
	for _, l := range r.LiftedBy {
		p.field("but", l.words)
		if l.LegalReview {
			p.field("", words.LegalReview)
		}
	}
	if r.Warning != "" {
		p.field("warning", r.Warning)
	}
	if r.Step != nil {
		p.field("to do", words.Capital(r.Step.Words)+", "+r.Step.When(today)+" ("+words.Role(r.Step.Owner)+")"+r.Step.Recorded())
	}
	for _, reason := range r.Reasons {
		p.field("fact", reason)
	}
	p.field("cited", r.Citation+" ("+r.Certainty+")")
	if r.Pack != "" {
		p.field("pack", r.Pack+"; check against the law in force")
	}
}
