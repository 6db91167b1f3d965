package daemon

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/form"
	"antidotary/compliance/strict"
	packtext "antidotary/compliance/written"
	"antidotary/daemon/answer"
	"antidotary/inventory"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// RuleAnswer says in words what one rule asks, and what it says now.
type RuleAnswer struct {
	answer.Telling
	Format       int             `json:"format"`
	ID           string          `json:"id"`
	Where        string          `json:"where"` // file:line:column
	Requirement  string          `json:"requirement"`
	Title        string          `json:"title"`
	Consequence  string          `json:"consequence"`
	Layer        string          `json:"layer"`
	Severity     string          `json:"severity"`
	Owner        compliance.Role `json:"owner"`
	Window       int             `json:"window_days"`
	Jurisdiction string          `json:"jurisdiction,omitempty"`
	From         day.Day         `json:"from,omitzero"`
	Last         day.Day         `json:"last,omitzero"`
	Subject      string          `json:"subject"`
	Scope        string          `json:"scope,omitempty"`
	Reads        []RuleParam     `json:"scope_reads"` // attributes that the scope asks, with their meaning
	Kind         string          `json:"kind"`
	KindSays     string          `json:"kind_says"`
	Params       []RuleParam     `json:"params"`
	LeftOut      []RuleParam     `json:"left_out"` // parameters that are not given; value is what they are then
	Citation     string          `json:"citation"`
	Certainty    string          `json:"certainty"`
	Pack         RulePack        `json:"pack"`
	Meets        []RuleMet       `json:"meets"`
	Now          RuleNow         `json:"now"`
}

// RuleParam is a value with its meaning.
type RuleParam struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Says  string `json:"says,omitempty"`
}

// RulePack is the pack that a rule is in.
type RulePack struct {
	Name     string  `json:"name"`
	Title    string  `json:"title"`
	Edition  string  `json:"edition"`
	ReadOn   day.Day `json:"read_on"`
	ReviewBy day.Day `json:"review_by"`
	Stale    bool    `json:"past_review"`
}

// RuleMet is another rule of the same requirement.
type RuleMet struct {
	ID    string `json:"id"`
	Layer string `json:"layer"`
	Area  string `json:"jurisdiction,omitempty"`
	Title string `json:"title"`
}

// RuleNow is what a rule says of the subjects that it applies to now.
type RuleNow struct {
	Of       string         `json:"of"` // the records, or a demo house
	Applies  int            `json:"applies"`
	Counts   map[string]int `json:"counts"` // by standing
	Subjects []RuleSubject  `json:"subjects"`
	Unread   string         `json:"records_unread,omitempty"`
}

// RuleSubject is one subject with the rule's own answer, the worst first.
type RuleSubject struct {
	Name     string              `json:"name"`
	Standing compliance.Standing `json:"standing"`
	State    compliance.Code     `json:"state,omitempty"`
	By       day.Day             `json:"by,omitzero"`
	Binds    bool                `json:"binds"`
}

// ExplainRule says what a loaded rule asks. Without records it is held beside
// nothing, and says so.
func ExplainRule(ctx context.Context, opt Options, q Question, id string) (*RuleAnswer, error) {
	opt.settle()
	files, err := opt.loadedFiles()
	if err != nil {
		return nil, err
	}
	book, err := opt.bookOf(files, nil)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(book.Rules, func(r *compliance.Rule) bool { return r.ID == id })
	if i < 0 {
		return nil, noRule(book, id)
	}
	rule := book.Rules[i]
	out := newRuleAnswer(rule, files)
	for _, other := range book.Rules {
		if other != rule && other.Requirement == rule.Requirement {
			out.Meets = append(out.Meets, RuleMet{other.ID, string(other.Layer), other.Area, other.Title})
		}
	}
	out.Now.Of = "the records"
	if q.Demo != "" {
		out.Now.Of = "the demo house"
	}
	today := day.In(opt.Clock(), opt.Clock().UTC().Location())
	out.Pack.Stale = rule.Pack.ReviewBy < today
	s, err := records(ctx, opt, book, q)
	if err != nil {
		out.Now.Unread = err.Error()
		return out, nil
	}
	out.Now.say(compliance.Evaluate(book, s, compliance.Ask{Now: opt.Clock(), On: q.On}), rule)
	return out, nil
}

func noRule(book *compliance.Rulebook, id string) error {
	var ids []string
	for _, r := range book.Rules {
		ids = append(ids, r.ID)
	}
	if near := strict.Closest(id, ids); near != "" {
		return fmt.Errorf("no rule is called %q; did you mean %s?", id, near)
	}
	return fmt.Errorf("no rule is called %q among the %d that are loaded: antidotary rules explain needs a pack to be loaded; write rules: [FOLDER] into the configuration. Loaded are %s", id, len(ids), words.Few(ids, 5))
}

var numbered = regexp.MustCompile(`\[[0-9]+\]`)

// newRuleAnswer puts a rule into words, from its text and the form.
func newRuleAnswer(r *compliance.Rule, files []packFile) *RuleAnswer {
	out := &RuleAnswer{Format: answer.Format, ID: r.ID, Requirement: r.Requirement, Title: r.Title, Consequence: r.Consequence,
		Layer: string(r.Layer), Severity: string(r.Severity), Owner: r.Owner, Window: r.Window, Jurisdiction: r.Area, From: r.From, Last: r.Last,
		Subject: r.Subject.String(), Scope: strings.TrimSpace(r.Scope.String()), Citation: r.Citation.Text, Certainty: r.Citation.Certainty.Words(),
		Pack:  RulePack{Name: r.Pack.Name, Title: r.Pack.Title, Edition: r.Pack.Edition, ReadOn: r.Pack.ReadOn, ReviewBy: r.Pack.ReviewBy},
		Reads: []RuleParam{}, Params: []RuleParam{}, LeftOut: []RuleParam{}, Meets: []RuleMet{}}
	out.Now = RuleNow{Counts: map[string]int{}, Subjects: []RuleSubject{}}
	for _, v := range compliance.ScopeVars(r.Subject) {
		if slices.Contains(r.Scope.Reads(), v.Name) {
			out.Reads = append(out.Reads, RuleParam{v.Name, v.Type.String(), v.Doc})
		}
	}
	text := ruleText(r, files)
	if text == nil {
		return out
	}
	out.Where, out.Kind = text.Where.String(), text.Value("kind")
	kind, _ := form.KindOf(out.Kind)
	out.KindSays = kind.Says
	for _, f := range text.Fields {
		path, isParam := strings.CutPrefix(f.Path, "params.")
		_, own := form.Of(ownPlace, strings.Split(numbered.ReplaceAllString(f.Path, ""), ".")[0])
		switch {
		case isParam:
			out.Params = append(out.Params, RuleParam{path, f.Value, meaning(kind.Keys, path)})
		case !own: // what lifts what, and what else rules may have
			out.Params = append(out.Params, RuleParam{f.Path, f.Value, meaning(form.Rule, f.Path)})
		}
	}
	for _, k := range kind.Keys {
		given := slices.ContainsFunc(out.Params, func(p RuleParam) bool {
			return p.Name == k.Name || strings.HasPrefix(p.Name, k.Name+".") || strings.HasPrefix(p.Name, k.Name+"[")
		})
		if !given && !k.Need {
			out.LeftOut = append(out.LeftOut, RuleParam{k.Name, k.Otherwise, k.Says})
		}
	}
	return out
}

// ownPlace are the keys of a rule that have a place of their own in the answer.
var ownPlace = []form.Key{{Name: "id"}, {Name: "requirement"}, {Name: "title"}, {Name: "consequence"}, {Name: "severity"}, {Name: "owner"}, {Name: "window_days"},
	{Name: "from"}, {Name: "last"}, {Name: "subject"}, {Name: "scope"}, {Name: "citation"}, {Name: "kind"}}

// meaning finds what the key at the end of a path means.
func meaning(keys []form.Key, path string) string {
	says := ""
	for _, name := range strings.Split(numbered.ReplaceAllString(path, ""), ".") {
		k, ok := form.Of(keys, name)
		if !ok {
			return ""
		}
		says, keys = k.Says, k.Keys
	}
	return says
}

func ruleText(r *compliance.Rule, files []packFile) *packtext.Rule {
	for _, f := range files {
		if p, err := compliance.ReadPack(f.name, []byte(f.text)); err != nil || p.Name != r.Pack.Name {
			continue
		}
		if file, err := packtext.Read(f.name, f.text); err == nil {
			return file.Rule(r.ID)
		}
	}
	return nil
}

// say notes what the rule itself answers today, of each subject that it
// applies to.
func (n *RuleNow) say(r *compliance.Report, rule *compliance.Rule) {
	for _, j := range r.Judgements {
		for _, rl := range j.Rules {
			today := r.View.Today(j.Site(r.View.Today(inventory.ID{})))
			verdict := rl.Line.At(today)
			if rl.Rule != rule || verdict.Standing == compliance.NotApplicable {
				continue
			}
			n.Applies++
			n.Counts[verdict.Standing.String()]++
			name := strings.TrimSpace(r.View.NameOf(j.Key.Subject) + " " + j.Key.Occurrence)
			n.Subjects = append(n.Subjects, RuleSubject{name, verdict.Standing, verdict.State, verdict.Step.By, j.Binding(today).Rule == rule})
		}
	}
	slices.SortStableFunc(n.Subjects, func(a, b RuleSubject) int {
		if a.Standing != b.Standing {
			return int(b.Standing) - int(a.Standing)
		}
		return strings.Compare(a.Name, b.Name)
	})
}
