package compliance

import (
	"iter"
	"slices"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Report is the answer to one question: a judgement for every key.
type Report struct {
	View       *View
	Judgements []*Judgement
	byKey      map[Key]*Judgement
}

// Evaluate judges every duty that the rules make of the records. The order
// of records, packs and rules does not matter.
func Evaluate(book *Rulebook, s *Snapshot, ask Ask) *Report {
	v := NewView(book, s, ask)
	r := &Report{View: v, byKey: make(map[Key]*Judgement, s.Animals.Len()+s.Permits.Len())}
	for _, rule := range book.Rules {
		r.judge(rule)
	}
	for _, rule := range builtins {
		r.judge(rule)
	}
	for _, j := range r.Judgements {
		j.join()
	}
	return r
}

func (r *Report) judge(rule *Rule) {
	lines := make(map[any]shared) // by cohort
	cohorts, _ := rule.Kind.(Cohort)
	for d := range rule.Kind.Bind(r.View, rule) {
		r.add(&d, r.View.settle(&d, r.View.answer(&d, cohorts, lines)))
	}
}

// shared is a cohort's line, as it was judged for one of its subjects.
type shared struct {
	line Line
	of   inventory.Ref
}

// answer is the kind's own answer through the lists that it rests on, judged
// once for each cohort.
func (v *View) answer(d *Duty, cohorts Cohort, lines map[any]shared) Line {
	if cohorts != nil {
		if key, site, ok := cohorts.Cohort(v, d); ok {
			s, known := lines[key]
			if !known {
				s = shared{v.judgedAt(d, site), d.Subject} // whenever the others came
				lines[key] = s
			}
			return v.readdressed(s, d.Subject)
		}
	}
	if site, ok := d.OneSite(); ok { // before it comes the duty does not apply, whatever the answer
		return v.judgedAt(d, site)
	}
	return v.judged(d)
}

// readdressed gives a cohort's line to another of its subjects: what must be
// done about the one is to be done about the other.
func (v *View) readdressed(s shared, to inventory.Ref) Line {
	about := func(verdict *Verdict) bool { return verdict.Step.Instance == s.of }
	if _, _, found := s.line.Next(day.First-1, about); s.of == to || !found && !about(s.line.First()) {
		return s.line
	}
	return day.Map(s.line, func(verdict *Verdict) *Verdict {
		if !about(verdict) {
			return verdict
		}
		out := *verdict
		out.Step.Instance = to
		return v.in.Of(out)
	})
}

func (v *View) judgedAt(d *Duty, site inventory.ID) Line {
	one := *d
	one.Sites = day.Constant(site)
	return v.judged(&one)
}

func (v *View) judged(d *Duty) Line {
	line := d.Rule.Kind.Judge(v, d)
	return day.Switch(d.Sites, func(site inventory.ID) Line {
		return v.throughList(d.Topic, site, line)
	})
}

func (r *Report) add(d *Duty, line Line) {
	key := d.Key()
	j := r.byKey[key]
	if j == nil {
		j = &Judgement{Key: key, Sites: d.Sites}
		r.byKey[key] = j
		r.Judgements = append(r.Judgements, j)
	}
	j.Rules = append(j.Rules, RuleLine{d.Rule, line})
}

// Of finds the judgement of a key; nil where no rule asks for it.
func (r *Report) Of(key Key) *Judgement { return r.byKey[key] }

// About yields the judgements of a subject, sorted by key.
func (r *Report) About(subject inventory.Ref) iter.Seq[*Judgement] {
	var found []*Judgement
	for _, j := range r.Judgements {
		if j.Key.Subject == subject {
			found = append(found, j)
		}
	}
	slices.SortFunc(found, func(a, b *Judgement) int { return a.Key.Compare(b.Key) })
	return slices.Values(found)
}

// Why gives the facts behind a judgement on a day, from the rule that binds.
func (r *Report) Why(j *Judgement, on day.Day) []Reason {
	rule := j.Binding(on).Rule
	if rule == nil {
		return nil
	}
	return r.WhyRule(rule, j.Key, on)
}

// WhyRule gives the facts behind what one rule says of a key on a day.
func (r *Report) WhyRule(rule *Rule, key Key, on day.Day) []Reason {
	only := *r.View
	only.only = key.Subject
	for d := range rule.Kind.Bind(&only, rule) {
		if d.Key() == key {
			return append(rule.Kind.Why(r.View, &d, on), r.View.whyList(&d, on)...)
		}
	}
	return nil
}

// whyList tells of missing scope attributes, and of the list that the answer
// rests on where it is not fresh.
func (v *View) whyList(d *Duty, on day.Day) (reasons []Reason) {
	if d.Applies.At(on) == inventory.Unknown {
		for _, name := range d.Missing {
			reasons = append(reasons, Because("attribute-missing", "attribute", name))
		}
	}
	if d.Topic == "" {
		return reasons
	}
	fresh, feed := v.freshness(d.Topic, d.Site(on))
	switch {
	case feed == nil:
		reasons = append(reasons, Because("list-not-kept", "topic", string(d.Topic), "site", v.Site(d.Site(on)).Title))
	case fresh.At(on) == Stale:
		reasons = append(reasons, Because("list-stale-since", "topic", string(d.Topic), "day", feed.FreshUntil().String(),
			"keeper", string(feed.Keeper)))
	case fresh.At(on) == Outside:
		reasons = append(reasons, Because("list-begins-later", "topic", string(d.Topic), "day", feed.Complete.String()))
	}
	return reasons
}
