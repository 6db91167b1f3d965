package drafting

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/form"
	"antidotary/compliance/ladder"
	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/daemon/asking"
	"antidotary/inventory"
	"antidotary/inventory/day"
)

// Question is one thing to ask of a pack.
type Question = asking.Question[Answers]

// Questions gives what to ask: of the pack, then of each rule, where what is
// asked of a rule's kind is asked of that kind alone.
func Questions(today day.Day) (pack, rule []Question) {
	for _, k := range form.Pack {
		switch k.Name {
		case "format", "rules", "tests", "ladder": // an editor's work
			continue
		}
		q := ofPack(k)
		switch k.Name {
		case "read_on":
			q.Default = today.String()
		case "review_by":
			q.Default = today.AddYears(1).String()
		}
		pack = append(pack, q)
	}
	for _, k := range form.Rule {
		switch {
		case k.Name == "kind" || k.Name == "params" || k.Type == form.Mappings:
			continue
		case k.Name == "subject":
			rule = append(rule, kindQuestion(), subjectQuestion(k))
		case k.Name == "citation":
			rule = append(rule, ofRule(k.Keys, "citation.", "citation", nil)...)
		default:
			rule = append(rule, ofRule([]form.Key{k}, "", "", nil)...)
		}
	}
	for _, kind := range form.Kinds {
		rule = append(rule, ofRule(kind.Keys, "params.", kind.Name, is(kind.Name))...)
	}
	return pack, rule
}

func is(kind string) func(*Answers) bool {
	return func(a *Answers) bool { return last(a).value("kind") == kind }
}

func last(a *Answers) *Rule { return &a.Rules[len(a.Rules)-1] }

func dashed(s string) string { return strings.ReplaceAll(strings.ReplaceAll(s, "_", "-"), ".", "-") }

func ofPack(k form.Key) Question {
	flag := dashed(k.Name)
	if k.Name == "title" {
		flag = "pack-title"
	}
	return Question{Flag: flag, Ask: asked(flag, k), Explain: explained(k), Needed: k.Need, Set: func(a *Answers, s string) error {
		if s == "" && k.Name == "jurisdiction" && value(a.Pack, "layer") == string(compliance.Law) {
			return errors.New("a law needs the place where it is law, such as us/fl")
		}
		if s == "" {
			return nil
		}
		if err := fits(k, s); err != nil {
			return err
		}
		if read := value(a.Pack, "read_on"); k.Name == "review_by" && s <= read {
			return fmt.Errorf("%s is not after the reading on %s; it is the day by which the text must be read again", s, read)
		}
		a.Pack = put(a.Pack, Given{k.Name, s, k})
		return nil
	}}
}

// ofRule makes a question of each key, and of each below it. A mapping that may
// be left out, and then has a key that it needs, is left out with that key: the
// others are asked once it is answered.
func ofRule(keys []form.Key, path, prefix string, when func(*Answers) bool) (all []Question) {
	for _, k := range keys {
		at, flag := path+k.Name, dashed(strings.TrimPrefix(prefix+"."+k.Name, "."))
		if k.Type == form.Mapping {
			if first := k.Keys[0]; !k.Need && first.Need {
				gate := first
				gate.Need, gate.Otherwise = false, k.Otherwise
				all = append(all, ofRule([]form.Key{gate}, at+".", flag, when)...)
				all = append(all, ofRule(k.Keys[1:], at+".", flag, answered(at+"."+first.Name, when))...)
			} else {
				all = append(all, ofRule(k.Keys, at+".", flag, when)...)
			}
			continue
		}
		if k.Type == form.Mappings {
			continue // an editor's work
		}
		key := k
		all = append(all, Question{Flag: flag, Ask: asked(flag, k), Explain: explained(k), Needed: k.Need, When: when, Set: func(a *Answers, s string) error {
			if s == "" {
				return nil
			}
			if err := fits(key, s); err != nil {
				return err
			}
			if key.Name == "scope" {
				if err := scoped(last(a).value("subject"), s); err != nil {
					return err
				}
			}
			last(a).Given = put(last(a).Given, Given{at, s, key})
			if key.Type == form.Text || key.Type == form.Texts {
				return refused(a, at)
			}
			return nil
		}})
	}
	return all
}

// answered asks only where a key was answered before.
func answered(path string, when func(*Answers) bool) func(*Answers) bool {
	return func(a *Answers) bool { return (when == nil || when(a)) && last(a).value(path) != "" }
}

// refused says what the reader of packs has against one answer of the last
// rule, whatever else is still to be answered.
func refused(a *Answers, path string) error {
	_, err := compliance.ReadPack(a.File(), []byte(a.Text("")))
	var all strict.Errors
	if !errors.As(err, &all) {
		return nil
	}
	field := fmt.Sprintf("rules[%d].%s", len(a.Rules), path)
	for _, m := range all {
		if m.Field == field || strings.HasPrefix(m.Field, field+"[") {
			return errors.New(m.Message)
		}
	}
	return nil
}

func kindQuestion() Question {
	var says []string
	for _, k := range form.Kinds {
		says = append(says, k.Name+": "+k.Says)
	}
	return Question{Flag: "kind", Ask: "Which kind of duty is it?", Explain: strings.Join(says, " "), Needed: true, Set: func(a *Answers, s string) error {
		if _, ok := form.KindOf(s); !ok {
			return fmt.Errorf("%q is no kind; allowed: %s", s, strings.Join(compliance.KindNames(), ", "))
		}
		last(a).Given = put(last(a).Given, Given{"kind", s, form.Key{Type: form.Choice}})
		return nil
	}}
}

// subjectQuestion asks for a subject that the kind can have.
func subjectQuestion(k form.Key) Question {
	var says []string
	for _, kind := range form.Kinds {
		says = append(says, kind.Name+": "+strings.Join(kind.Subjects, ", "))
	}
	return Question{Flag: "subject", Ask: asked("subject", k), Explain: k.Says + " By kind: " + strings.Join(says, "; ") + ".", Needed: true, Set: func(a *Answers, s string) error {
		kind, _ := form.KindOf(last(a).value("kind"))
		if !slices.Contains(kind.Subjects, s) {
			return fmt.Errorf("a rule of kind %s has no subject %q; allowed: %s", kind.Name, s, strings.Join(kind.Subjects, ", "))
		}
		last(a).Given = put(last(a).Given, Given{"subject", s, form.Key{Type: form.Choice}})
		return nil
	}}
}

func put(given []Given, g Given) []Given { return append(slices.Clone(given), g) }

func asked(name string, k form.Key) string {
	text := strings.ReplaceAll(name, "-", " ")
	if k.Words != nil {
		text += " (" + strings.Join(k.Words, ", ") + ")"
	}
	return text + "?"
}

func explained(k form.Key) string {
	if k.Need {
		return k.Says
	}
	return k.Says + " Nothing: " + strings.TrimSuffix(k.Otherwise, ".") + "."
}

// conditions says what is wrong with a list of conditions, written in one
// line: [{hours: {at_least: 1000}}].
func conditions(s string) error {
	doc, err := strict.Parse("conditions", []byte("all: "+s))
	if err != nil {
		return err
	}
	if all := ladder.ReadConditions(doc.Root(), "all", -1); len(all) == 0 && doc.Err() == nil {
		return errors.New("write at least one condition, such as [{hours: {at_least: 1000}}]")
	}
	return doc.Err()
}

// fits says what is allowed where an answer is none.
func fits(k form.Key, s string) error {
	switch k.Type {
	case form.Word:
		return compliance.CheckClass(k.Name, s)
	case form.Path:
		return inventory.CheckJurisdiction(k.Name, s)
	case form.Day:
		_, err := day.Parse(s)
		return err
	case form.Span:
		_, err := day.ParseSpan(s)
		return err
	case form.Duration:
		if _, err := time.ParseDuration(s); err != nil {
			return fmt.Errorf("%q is no length of time, such as 26h", s)
		}
	case form.Whole:
		if n, err := strconv.Atoi(s); err != nil || n < k.Least || n > k.Most {
			return fmt.Errorf("%q is no whole number from %d to %d", s, k.Least, k.Most)
		}
	case form.Flag:
		if s != "true" && s != "false" {
			return fmt.Errorf("%q is not true or false", s)
		}
	case form.Conditions:
		return conditions(s)
	case form.Choice:
		if !slices.Contains(k.Words, s) {
			return fmt.Errorf("%q is not allowed; allowed: %s", s, strings.Join(k.Words, ", "))
		}
	case form.Texts:
		for _, item := range strings.Split(s, ",") {
			if item = strings.TrimSpace(item); k.Words != nil && !slices.Contains(k.Words, item) {
				return fmt.Errorf("%q is not allowed; allowed, with commas between: %s", item, strings.Join(k.Words, ", "))
			}
		}
	}
	return nil
}

func scoped(subject, expr string) error {
	kind, err := inventory.ParseKind(subject)
	if err != nil {
		return nil // the subject is asked first, and told
	}
	env, err := scope.NewEnv(compliance.ScopeVars(kind)...)
	if err != nil {
		return err
	}
	_, err = env.Compile(expr)
	return err
}
