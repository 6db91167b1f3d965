package ladder

import (
	"slices"
	"strings"

	"antidotary/compliance/strict"
	"antidotary/inventory"
)

// Read reads a ladder. Roles are the roles that may sign, beside the mentor.
// Mistakes are told to the document.
func Read(m *strict.Map, edition string, roles []string) *Ladder {
	r := reader{roles: roles}
	l := &Ladder{
		Name: m.String("name"), Title: m.String("title"), Edition: edition,
		SignWithin:     m.Int("sign_within_days", 0, 365),
		HoursPerDay:    m.Int("hours_per_day", 1, 24),
		HarmlessAtOnce: m.OptInt("harmless_at_once", 1, 1, 20),
		Untimed:        m.OptEnum("untimed", "doubtful", "doubtful", "trusted") == "trusted",
		HandlingFrom:   r.level(m, "handling_from", Hook),
		Holding:        r.roleList(m, "holding", false),
		Clear:          r.roleList(m, "clear", false),
	}
	if cm, ok := m.OptMap("citation"); ok {
		l.Source = cm.String("text")
		l.Certainty = inventory.Certainty(cm.Enum("certainty", "R", "R2", "M", "D"))
	}
	m.OptText("review", &l.Review)
	m.OptText("founding_review", &l.FoundingReview)
	stages := m.Maps("stages")
	r.top = len(stages) - 1
	for i, sm := range stages {
		l.Stages = append(l.Stages, r.stage(sm, i))
	}
	if mm, ok := m.OptMap("mentor"); ok {
		l.Mentor = Teaching{Entry: r.conditions(mm, "entry"), Signs: r.roleList(mm, "signs", true)}
		mm.OptText("review", &l.Mentor.Review)
	}
	if cm, ok := m.OptMap("credit"); ok {
		l.Credit = Crediting{cm.Int("percent", 0, 100), cm.OptInt("probation", 0, 0, 1000)}
	}
	l.Placing = r.placing(m.Map("placing"))
	l.Opening = r.opening(m.Map("opening"))
	return l
}

type reader struct {
	roles []string
	top   int
}

func (r *reader) stage(m *strict.Map, i int) Stage {
	s := Stage{Number: m.Int("stage", 0, TopStage), Name: m.String("name"), Entry: r.conditions(m, "entry"), Signs: r.roleList(m, "signs", true)}
	if s.Number != i {
		m.Fail("stage", "is %d where %d is due; stages go up from 0 without a gap", s.Number, i)
	}
	if sm, ok := m.OptMap("sign_off"); ok {
		s.Signed, s.SignOff, s.SignedBy = true, r.conditions(sm, "entry"), r.roleList(sm, "signs", true)
		if s.Task = r.level(sm, "task", LastLevel); s.Task < Closed {
			sm.Fail("task", "must be closed or above; looking needs no sign-off")
		}
	}
	if cm, ok := m.OptMap("currency"); ok {
		r.currency(cm, &s)
	}
	return s
}

func (r *reader) currency(m *strict.Map, s *Stage) {
	m.OptText("handled", &s.Handled)
	m.OptText("species", &s.SpeciesHandled)
	m.OptText("set_back_after", &s.SetBackAfter)
	s.HigherCounts = m.OptBool("higher_counts", false)
	s.Refresher = m.OptInt("refresher", 1, 1, 100)
	s.InForce = m.OptStrings("in_force")
	checkWords(m, "in_force", s.InForce)
	for _, wm := range m.OptMaps("lately") {
		w := Recent{What: wm.String("what")}
		checkWords(wm, "what", []string{w.What})
		wm.Text("within", &w.Within)
		s.Within = append(s.Within, w)
	}
	if !s.SetBackAfter.IsZero() && s.Handled.IsZero() {
		m.Fail("set_back_after", "needs handled: only what can lapse can be lost")
	}
}

func checkWords(m *strict.Map, key string, words []string) {
	for _, w := range words {
		if err := inventory.CheckWord(key, w); err != nil && w != "" {
			m.Fail(key, "%s", strings.TrimPrefix(err.Error(), key+": "))
		}
	}
}

// scoreNames are the five scores of a hazard, 1 to 5.
var scoreNames = []string{"lowest", "low", "middle", "high", "highest"}

func (r *reader) placing(m *strict.Map) Placing {
	p := Placing{Harmless: m.Int("harmless", 0, TopStage)}
	r.within(m, "harmless", p.Harmless)
	scores := m.Map("by_score")
	for i, key := range scoreNames {
		if p.ByScore[i] = scores.Int(key, 0, TopStage); i > 0 && p.ByScore[i] < p.ByScore[i-1] {
			scores.Fail(key, "must not be lower than that of %s", scoreNames[i-1])
		}
		r.within(scores, key, p.ByScore[i])
	}
	for _, fm := range m.OptMaps("floors") {
		f := Floor{Stage: fm.Int("stage", 0, TopStage), Names: fm.OptStrings("names")}
		r.within(fm, "stage", f.Stage)
		if fm.Has("when") {
			f.When = fm.Enum("when", FloorWords...)
		}
		if (f.When == "") == (len(f.Names) == 0) {
			fm.Fail("", "needs either when or names")
		}
		p.Floors = append(p.Floors, f)
	}
	return p
}

func (r *reader) within(m *strict.Map, key string, stage int) {
	if stage > r.top && r.top >= 0 {
		m.Fail(key, "is above the highest stage, %d", r.top)
	}
}

func (r *reader) opening(m *strict.Map) Opening {
	o := Opening{BackUp: m.OptInt("back_up", 0, 0, TopStage), Below: m.OptInt("below", 0, 0, TopStage), BelowFrom: m.OptInt("below_from", 0, 0, TopStage),
		AloneTo: r.level(m, "alone_to", Look), ThirdFrom: m.OptInt("third_from", 0, 0, TopStage), OnePerson: m.OptBool("one_person", false)}
	r.within(m, "back_up", o.BackUp)
	r.within(m, "third_from", o.ThirdFrom)
	o.Third = r.levels(m, "third")
	o.NeverRefuse = r.levels(m, "never_refuse")
	return o
}

func (r *reader) levels(m *strict.Map, key string) (all []Level) {
	for i, text := range m.OptStrings(key) {
		var l Level
		if err := l.UnmarshalText([]byte(text)); err != nil {
			m.FailItem(key, i, "%v", err)
		}
		all = append(all, l)
	}
	return all
}

func (r *reader) level(m *strict.Map, key string, otherwise Level) Level {
	l := otherwise
	m.OptText(key, &l)
	return l
}

// roleList reads roles; the mentor is one where whoever taught signs too.
func (r *reader) roleList(m *strict.Map, key string, mentor bool) []string {
	list := m.OptStrings(key)
	allowed := r.roles
	if mentor {
		allowed = append([]string{ByMentor}, r.roles...)
	}
	for i, role := range list {
		if !slices.Contains(allowed, role) {
			m.FailItem(key, i, "%q is not allowed; allowed: %s", role, strings.Join(allowed, ", "))
		}
	}
	return list
}

// conditions reads a list of conditions that must all be met; nil where there
// is none.
func (r *reader) conditions(m *strict.Map, key string) Condition {
	all := ReadConditions(m, key, r.top)
	if len(all) == 0 {
		return nil
	}
	return all
}

// ReadConditions reads a list of conditions. top is the highest stage that
// they may name; less than 0: any.
func ReadConditions(m *strict.Map, key string, top int) All {
	r := reader{top: top}
	var all All
	for _, cm := range m.OptMaps(key) {
		if c := r.condition(cm); c != nil {
			all = append(all, c)
		}
	}
	return all
}

// The words of a condition: choices, facts, and counts over sessions.
var (
	choiceWords = []string{"all", "any"}
	factWords   = []string{"held", "age", "in_force", "did", "none", "paper"}
	countWords  = []string{"hours", "repetitions", "clean", "clean_run", "days", "sessions", "individuals", "species", "mentors", "span"}
)

// condition reads a mapping that has one condition.
func (r *reader) condition(m *strict.Map) Condition {
	var all All
	for _, key := range choiceWords {
		if m.Has(key) {
			parts := ReadConditions(m, key, r.top)
			if len(parts) == 0 {
				m.Fail(key, "is empty; write at least one condition")
			}
			if key == "any" {
				all = append(all, Any(parts))
			} else {
				all = append(all, parts)
			}
		}
	}
	for _, key := range factWords {
		if fm, ok := m.OptMap(key); ok {
			all = append(all, r.fact(fm, key))
		}
	}
	for _, key := range countWords {
		if cm, ok := m.OptMap(key); ok {
			all = append(all, r.count(cm, Of(strings.ReplaceAll(key, "_", "-"))))
		}
	}
	if len(all) != 1 {
		m.Fail("", "must have one of: %s", strings.Join(slices.Concat(choiceWords, factWords, countWords), ", "))
		return nil
	}
	return all[0]
}

func (r *reader) fact(m *strict.Map, key string) Condition {
	switch key {
	case "held":
		c := Held{Stage: m.Int("stage", 0, TopStage)}
		r.within(m, "stage", c.Stage)
		m.OptText("for", &c.For)
		return c
	case "age":
		return Age{m.Int("at_least", 1, 120)}
	case "in_force":
		c := InForce{m.String("what")}
		checkWords(m, "what", []string{c.What})
		return c
	case "did":
		c := Did{What: m.String("what"), AtLeast: m.OptInt("at_least", 1, 1, 10000)}
		checkWords(m, "what", []string{c.What})
		m.OptText("within", &c.Within)
		return c
	case "none":
		c := None{Events: m.Strings("of")}
		checkWords(m, "of", c.Events)
		m.OptText("within", &c.Within)
		return c
	}
	c := Paper{Class: m.String("class")}
	checkWords(m, "class", []string{c.Class})
	m.OptText("for", &c.For)
	return c
}

func (r *reader) count(m *strict.Map, of Of) Condition {
	c := &Count{Of: of, Filter: r.filter(m)}
	if of == SpanOf {
		m.Text("at_least", &c.Over)
		return c
	}
	c.AtLeast = m.Int("at_least", 1, 1_000_000)
	return c
}

func (r *reader) filter(m *strict.Map) Filter {
	f := Filter{
		Like: Like(m.OptEnum("same", "", string(SameSpecies), string(SameGenus), string(SameFamily))), Names: m.OptStrings("names"),
		StageFrom: m.OptInt("stage_from", 0, 0, TopStage), StageTo: m.OptInt("stage_to", 0, 0, TopStage),
		TaskFrom: r.level(m, "task_from", 0), TaskTo: r.level(m, "task_to", 0), Alone: m.OptBool("alone", false),
	}
	switch m.OptEnum("animals", "", "harmless", "venomous") {
	case "harmless":
		f.Harmless = true
	case "venomous":
		f.Venomous = true
	}
	m.OptText("within", &f.Within)
	r.within(m, "stage_from", f.StageFrom)
	r.within(m, "stage_to", f.StageTo)
	if f.StageTo > 0 && f.StageTo < f.StageFrom {
		m.Fail("stage_to", "is below stage_from, %d", f.StageFrom)
	}
	if f.TaskTo > 0 && f.TaskTo < f.TaskFrom {
		m.Fail("task_to", "is below task_from, %s", f.TaskFrom)
	}
	return f
}
