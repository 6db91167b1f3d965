package compliance

import (
	"iter"
	"slices"
	"sync"

	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Report is the answer to one question: a judgement for every key.
type Report struct {
	View       *View
	Judgements []*Judgement
	kept       slab[Judgement]
	// met finds the judgements of those requirements that several rules have:
	// by requirement, then by key.
	met   map[string]map[Key]*Judgement
	index sync.Once
	byKey map[Key]*Judgement // see Of
}

// Evaluate judges every duty that the rules make of the records. The order
// of records, packs and rules does not matter.
func Evaluate(book *Rulebook, s *Snapshot, ask Ask) *Report {
	v := NewView(book, s, ask)
	r := &Report{View: v, Judgements: make([]*Judgement, 0, s.Animals.Len()+s.Permits.Len())}
	rules := slices.Concat(book.Rules, builtins)
	r.met = meeting(rules)
	for _, rule := range rules {
		r.judge(rule)
	}
	r.lift()
	for _, j := range r.Judgements {
		r.join(j)
	}
	return r
}

// meeting prepares a place for the judgements of each requirement that more
// than one rule has. The judgements of the others need not be looked for.
func meeting(rules []*Rule) map[string]map[Key]*Judgement {
	asked := make(map[string]bool)
	met := make(map[string]map[Key]*Judgement)
	for _, rule := range rules {
		if asked[rule.Requirement] {
			met[rule.Requirement] = make(map[Key]*Judgement)
		}
		asked[rule.Requirement] = true
	}
	return met
}

func (r *Report) judge(rule *Rule) {
	j := judging{View: r.View, lines: make(map[any]shared)}
	j.cohorts, _ = rule.Kind.(Cohort)
	var d Duty // one for all: kinds do not keep it
	for d = range rule.Kind.Bind(r.View, rule) {
		r.add(&d, r.View.settle(&d, j.answer(&d)))
	}
}

// judging is the judging of one rule.
type judging struct {
	*View
	cohorts Cohort // nil where every subject is judged alone
	lines   map[any]shared
	there   Duty // the duty at hand, as if its subject had always been there
}

// shared is a cohort's line, as it was judged for one of its subjects.
type shared struct {
	line Line
	of   inventory.Ref
}

// answer is the kind's own answer through the lists that it rests on, judged
// once for each cohort.
func (j *judging) answer(d *Duty) Line {
	if j.cohorts != nil {
		if key, site, ok := j.cohorts.Cohort(j.View, d); ok {
			s, known := j.lines[key]
			if !known {
				s = shared{j.judgedAt(d, site), d.Subject} // whenever the others came
				j.lines[key] = s
			}
			return j.readdressed(s, d.Subject)
		}
	}
	if site, ok := d.OneSite(); ok { // before it comes the duty does not apply, whatever the answer
		return j.judgedAt(d, site)
	}
	return j.judged(d)
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

func (j *judging) judgedAt(d *Duty, site inventory.ID) Line {
	j.there = *d
	j.there.Sites = day.Constant(site)
	return j.judged(&j.there)
}

func (v *View) judged(d *Duty) Line {
	line := d.Rule.Kind.Judge(v, d)
	return day.Switch(d.Sites, func(site inventory.ID) Line {
		return v.throughList(d.Topic, site, line)
	})
}

func (r *Report) add(d *Duty, line Line) {
	key := d.Key()
	met := r.met[key.Requirement]
	j := met[key]
	if j == nil {
		j = r.kept.keep(Judgement{Key: key, Sites: d.Sites})
		j.Rules = j.alone[:0]
		r.Judgements = append(r.Judgements, j)
		if met != nil {
			met[key] = j
		}
	}
	rl := RuleLine{Rule: d.Rule, Line: line}
	if met != nil && len(d.Missing) > 0 { // whether it speaks decides whether guidance does
		rl.doubted(d.Applies)
	}
	j.Rules = append(j.Rules, rl)
}

// Of finds the judgement of a key; nil where no rule asks for it. Whoever asks
// first waits until all are indexed.
func (r *Report) Of(key Key) *Judgement {
	r.index.Do(func() {
		r.byKey = make(map[Key]*Judgement, len(r.Judgements))
		for _, j := range r.Judgements {
			r.byKey[j.Key] = j
		}
	})
	return r.byKey[key]
}

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
	rl := j.Binding(on)
	if rl.Rule == nil {
		return nil
	}
	return append(r.WhyRule(rl.Rule, j.Key, on), rl.WhyDoubtful(on)...)
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
	return append(reasons, v.whyTopic(d.Topic, d.Site(on), on)...)
}

// whyTopic tells of the list of a topic at a site where it is not fresh.
func (v *View) whyTopic(topic Topic, site inventory.ID, on day.Day) []Reason {
	list := v.freshness(topic, site)
	fresh, feed := list.line, list.feed
	switch {
	case feed == nil:
		return []Reason{Because("list-not-kept", "topic", string(topic), "site", v.Site(site).Title)}
	case fresh.At(on) == Stale:
		return []Reason{Because("list-stale-since", "topic", string(topic), "day", feed.FreshUntil().String(), "keeper", string(feed.Keeper))}
	case fresh.At(on) == Outside:
		return []Reason{Because("list-begins-later", "topic", string(topic), "day", feed.Complete.String())}
	}
	return nil
}
