package compliance

import (
	"cmp"
	"slices"
	"time"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// laterArm is how many days later an act-by day must move for reminders to
// start anew; a smaller delay goes on with the reminders already sent.
// (Design of this project, no source.)
const laterArm = 14

// Diff compares the open findings with a report and says what changed: which
// episodes open, become worse, change, improve or close. It is pure; equal
// input gives equal output but for the identifiers of new findings, which
// newID makes. Transitions come worst first, then by key.
func Diff(open []Finding, r *Report, now time.Time, newID func() inventory.ID) []Transition {
	before := make(map[Key]*Finding, len(open))
	for i := range open {
		before[open[i].Key] = &open[i]
	}
	var out []Transition
	compare := func(j *Judgement) {
		was := before[j.Key]
		delete(before, j.Key)
		if t, moved := step(was, r, j, now, newID); moved {
			out = append(out, t)
		}
	}
	for _, j := range r.Judgements {
		if j.needsSomebody(r.View) {
			compare(j)
		}
	}
	if len(before) > 0 { // few are left, so that this search is quick
		for _, j := range r.Judgements {
			if before[j.Key] != nil { // it needs nobody any more
				compare(j)
			}
		}
	}
	for _, was := range before { // no rule asks for it any more
		out = append(out, closed(was, Ceased, now))
	}
	slices.SortFunc(out, func(a, b Transition) int {
		x, y := a.finding(), b.finding()
		return cmp.Or(cmp.Compare(y.Verdict.Standing, x.Verdict.Standing), cmp.Compare(x.Severity.Rank(), y.Severity.Rank()), x.Key.Compare(y.Key))
	})
	return out
}

func (t Transition) finding() *Finding {
	if t.After != nil {
		return t.After
	}
	return t.Before
}

// needsSomebody says whether a judgement makes a finding today.
func (j *Judgement) needsSomebody(v *View) bool {
	today := v.Today(j.Site(j.anyDay(v)))
	verdict, _ := j.told(today)
	return needs(verdict, today)
}

// told is the verdict that counts on a day as people are told of it: from the
// first day on which any of the rules that speak would tell of its own step,
// even though another rule's step comes earlier and binds.
func (j *Judgement) told(on day.Day) (*Verdict, Layer) {
	verdict, layer := j.At(on)
	if len(j.Rules) == 1 || verdict.Standing != InOrder || verdict.Step.By.IsZero() {
		return verdict, layer
	}
	out := *verdict
	for _, r := range j.Rules {
		own := r.Counted().At(on)
		if own.Standing != InOrder || own.Step.By.IsZero() {
			continue
		}
		out.Step.Window = max(out.Step.Window, out.Step.By.Sub(own.Step.Opens()))
	}
	return &out, layer
}

func needs(verdict *Verdict, today day.Day) bool {
	if verdict.Standing.Bad() {
		return true
	}
	return verdict.Standing == InOrder && !verdict.Step.IsZero() && today >= verdict.Step.Opens()
}

// anyDay is a day by which to look up where a subject is, before it is known
// whose today counts: zones differ by a day at most.
func (j *Judgement) anyDay(v *View) day.Day { return v.Today(inventory.ID{}) }

// Finding describes what a judgement says on a day, as an episode would hold
// it. ok is false where nobody is needed.
func (r *Report) Finding(j *Judgement) (f Finding, ok bool) {
	site := j.Site(j.anyDay(r.View))
	today := r.View.Today(site)
	verdict, layer := j.told(today)
	f = Finding{Key: j.Key, Site: site, Layer: layer, Verdict: *verdict}
	if rule := j.Binding(today).Rule; rule != nil {
		f.Rule, f.Severity, f.Layer = rule.ID, rule.Severity, rule.Layer
	}
	f.Lapsed = verdict.Standing == OutOfOrder
	f.Missed = !verdict.Step.By.IsZero() && verdict.Step.By < today
	return f, needs(verdict, today)
}

func step(was *Finding, r *Report, j *Judgement, now time.Time, newID func() inventory.ID) (Transition, bool) {
	is, needed := r.Finding(j)
	today := r.View.Today(is.Site)
	switch {
	case was == nil:
		is.ID, is.Opened, is.Arm = newID(), now, int(today)
		return Transition{Move: Opened, After: &is}, true
	case !needed:
		return closed(was, closing(was, is.Verdict.Standing), now), true
	}
	is.ID, is.Opened, is.Arm, is.Worsened = was.ID, was.Opened, was.Arm, was.Worsened
	is.Lapsed = is.Lapsed || was.Lapsed
	if newArm(was.Verdict.Step, is.Verdict.Step, today) {
		is.Arm = max(int(today), was.Arm+1)
	}
	if is == *was {
		return Transition{}, false
	}
	move := Changed
	switch c := worseness(&is, was); {
	case c > 0:
		move = Worse
		is.Worsened++
	case c < 0:
		move = Improved
	}
	return Transition{Move: move, Before: was, After: &is}, true
}

// newArm: reminders start anew on another step, or when the day moves later
// by more than laterArm days; what was to be done at once was due today.
func newArm(was, is Step, today day.Day) bool {
	if is.IsZero() {
		return false
	}
	before := was.By
	if before.IsZero() {
		before = today
	}
	return was.Do != is.Do || was.Instance != is.Instance || is.By.Sub(before) > laterArm
}

// worseness is positive where a is worse than b: by standing, law over
// policy, severity, a missed step, an earlier day.
func worseness(a, b *Finding) int {
	return cmp.Or(
		cmp.Compare(a.Verdict.Standing, b.Verdict.Standing),
		cmp.Compare(rank(a.Layer), rank(b.Layer)),
		cmp.Compare(b.Severity.Rank(), a.Severity.Rank()),
		cmp.Compare(truth(a.Missed), truth(b.Missed)),
		earlier(a.Verdict.Step, b.Verdict.Step),
	)
}

func rank(l Layer) int {
	switch l {
	case Law:
		return 2
	case House:
		return 1
	default:
		return 0
	}
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// earlier compares the days of one and the same step, of which at once is the
// earliest; days of different steps do not compare.
func earlier(a, b Step) int {
	if a.Do != b.Do || a.Instance != b.Instance {
		return 0
	}
	return cmp.Compare(b.By, a.By)
}

func closing(was *Finding, now Standing) Closing {
	switch {
	case now == NotApplicable:
		return Ceased
	case was.Lapsed:
		return Late
	default:
		return Met
	}
}

func closed(was *Finding, how Closing, now time.Time) Transition {
	is := *was
	is.Closed, is.How = now, how
	return Transition{Move: Closed, Before: was, After: &is}
}
