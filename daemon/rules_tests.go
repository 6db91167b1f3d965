package daemon

import (
	"fmt"
	"io"
	"strings"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// TestsAnswer says which of the packs' own tests hold.
type TestsAnswer struct {
	answer.Telling
	Format int          `json:"format"`
	Packs  []TestedPack `json:"packs"`
	Held   int          `json:"held"`
	Failed int          `json:"failed"`
}

// TestedPack is one pack with its tests that do not hold.
type TestedPack struct {
	Pack   string       `json:"pack"`
	File   string       `json:"file"`
	Tests  int          `json:"tests"`
	Failed []FailedTest `json:"failed"`
}

// FailedTest is one test that does not hold.
type FailedTest struct {
	Name    string        `json:"name"`
	Day     day.Day       `json:"day"`
	Source  string        `json:"source"`
	Wrong   string        `json:"wrong,omitempty"` // why it could not be judged at all
	Answers []WrongAnswer `json:"answers"`
}

// WrongAnswer is an answer that is not as expected.
type WrongAnswer struct {
	At          string   `json:"at"` // file:line:column
	Requirement string   `json:"requirement"`
	Subject     string   `json:"subject"`
	Want        string   `json:"want"`
	Got         string   `json:"got"`
	Differs     []string `json:"differs"`
	Rules       []string `json:"rules"`
	Others      []string `json:"occurrences,omitempty"` // that are asked of the subject instead
	Reasons     []string `json:"reasons"`
}

// TestRules judges the packs' own tests: of files and folders, or of all that
// are loaded.
func TestRules(opt Options, paths []string) (*TestsAnswer, error) {
	opt.settle()
	asked, beside, err := opt.askedFiles(paths)
	if err != nil {
		return nil, err
	}
	out := &TestsAnswer{Format: answer.Format, Packs: []TestedPack{}}
	for _, f := range asked {
		p, err := compliance.ReadPack(f.name, []byte(f.text))
		if err != nil {
			return nil, fmt.Errorf("read rule packs:\n%w", err)
		}
		// Of another pack of the same name this one stands in its place.
		others := without(append(without(asked, f.name), beside...), p.Name)
		book, err := opt.bookOf(nil, others)
		if err != nil { // what is loaded does not go together: the tests need not care
			if book, err = opt.bookOf([]packFile{f}, nil); err != nil {
				return nil, err
			}
		}
		out.add(f.name, p, book.RunCases(p))
	}
	return out, nil
}

// without leaves out files by their name, or by the pack in them.
func without(files []packFile, name string) (rest []packFile) {
	for _, f := range files {
		if p, err := compliance.ReadPack(f.name, []byte(f.text)); f.name != name && (err != nil || p.Name != name) {
			rest = append(rest, f)
		}
	}
	return rest
}

func (t *TestsAnswer) add(file string, p *compliance.Pack, results []compliance.CaseResult) {
	tested := TestedPack{Pack: p.Name, File: file, Tests: len(results), Failed: []FailedTest{}}
	for _, r := range results {
		if r.Holds() {
			t.Held++
			continue
		}
		t.Failed++
		failed := FailedTest{Name: r.Case.Name, Day: r.Case.Day, Source: r.Case.Source, Wrong: r.Wrong, Answers: []WrongAnswer{}}
		for _, a := range r.Answers {
			if len(a.Differs) > 0 {
				failed.Answers = append(failed.Answers, wrongAnswer(a))
			}
		}
		tested.Failed = append(tested.Failed, failed)
	}
	t.Packs = append(t.Packs, tested)
}

func wrongAnswer(a compliance.CaseAnswer) WrongAnswer {
	out := WrongAnswer{At: a.Want.Where.String(), Requirement: strings.TrimSpace(a.Want.Requirement + " " + a.Want.Occurrence), Subject: a.Want.Subject, Differs: a.Differs,
		Want: answered(a.Want.Standing, a.Want.State, a.Want.By, a.Want.Legal), Got: answered(a.Got.Standing, a.Got.State, a.Got.Step.By, a.Got.Step.Legal), Rules: []string{}, Others: a.Others, Reasons: []string{}}
	out.Rules = append(out.Rules, a.Rules...)
	for _, reason := range a.Reasons {
		out.Reasons = append(out.Reasons, words.Reason(reason))
	}
	return out
}

// answered puts an answer into the words of a test, so that it can be copied.
func answered(standing compliance.Standing, state compliance.Code, by, legal day.Day) string {
	text := "standing: " + standing.String()
	if state != "" {
		text += ", state: " + string(state)
	}
	if !by.IsZero() {
		text += ", by: " + by.String()
	}
	if !legal.IsZero() {
		text += ", legal: " + legal.String()
	}
	return text
}

// WriteText prints what does not hold, with what was got and why.
func (t *TestsAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	for _, p := range t.Packs {
		if p.Tests == 0 {
			fmt.Fprintf(&b, "%s: no tests\n", p.File)
			continue
		}
		fmt.Fprintf(&b, "%s: %d of %s hold\n", p.File, p.Tests-len(p.Failed), words.Count(p.Tests, "test"))
		for _, f := range p.Failed {
			f.write(&b)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (f *FailedTest) write(b *strings.Builder) {
	field := func(label, text string) { b.WriteString(words.Labelled(label, text, 88)) }
	fmt.Fprintf(b, "\n  %s, on %s\n", f.Name, words.Day(f.Day))
	field("source", f.Source)
	if f.Wrong != "" {
		field("wrong", f.Wrong)
	}
	for _, a := range f.Answers {
		field("asked", a.Requirement+" of "+a.Subject+" ("+a.At+")")
		field("want", a.Want)
		field("got", a.Got)
		switch {
		case len(a.Others) > 0:
			field("rule", "no rule asks exactly this: write which is meant under occurrence; asked of this subject on this day are: "+words.Few(a.Others, 5))
		case len(a.Rules) == 0:
			field("rule", "no rule asks it of this subject on this day: look at jurisdiction, scope, from, last and occurrence")
		default:
			field("rule", strings.Join(a.Rules, ", "))
		}
		for _, reason := range a.Reasons {
			field("fact", reason)
		}
	}
	b.WriteString("\n")
}
