package drafting

import (
	"bufio"
	"errors"
	"io"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/form"
	"antidotary/compliance/written"
	"antidotary/daemon/asking"
	"antidotary/inventory/day"
)

var today = day.MustParse("2026-11-25")

// given answers every question that is asked of a kind, or only those that
// must be answered.
func given(kind form.Kind, all bool) map[string][]string {
	pack, rule := Questions(today)
	out := make(map[string][]string)
	for _, q := range append(pack, rule...) {
		if q.Needed && q.When == nil {
			out[q.Flag] = []string{"x"}
		}
	}
	for flag, text := range map[string]string{"layer": "law", "jurisdiction": "xx/moss", "read-on": "2026-01-01", "review-by": "2027-01-01", "severity": "notice", "owner": "head",
		"citation-certainty": "R", "kind": kind.Name, "subject": kind.Subjects[0], "pack-title": `Moss "&" # : {x} Söhne`} {
		out[flag] = []string{text}
	}
	var walk func(flag string, keys []form.Key)
	walk = func(flag string, keys []form.Key) {
		for _, k := range keys {
			at := flag + "-" + dashed(k.Name)
			switch {
			case k.Type == form.Mapping && (all || k.Need):
				walk(at, k.Keys)
			case k.Type == form.Mapping || k.Type == form.Mappings || !all && !k.Need:
			default:
				out[at] = []string{sample(k)}
			}
		}
	}
	walk(kind.Name, kind.Keys)
	return out
}

func sample(k form.Key) string {
	switch k.Type {
	case form.Day, form.End:
		return "2026-01-01"
	case form.Span:
		return "30 days"
	case form.Duration:
		return "26h"
	case form.Conditions:
		return "[{age: {at_least: 18}}]"
	case form.Whole:
		return "1"
	case form.Flag:
		return "true"
	case form.Choice:
		return k.Words[0]
	case form.Text:
		switch k.Name { // what the reader of packs reads further
		case "of":
			return "venomous"
		case "within":
			return "10 days"
		case "zone":
			return "Europe/London"
		}
	case form.Texts:
		if k.Words != nil {
			return strings.Join(k.Words[:1], ", ")
		}
	}
	return "x"
}

// TestWhatIsAskedIsEnough of the oldest kinds: with no more than what must be
// answered, and with the word that one of two needs, the strict reader takes
// the pack.
func TestWhatIsAskedIsEnough(t *testing.T) {
	for _, name := range []string{"permit", "recurring", "cover", "watch"} {
		kind, ok := form.KindOf(name)
		if !ok {
			t.Fatalf("no kind %s", name)
		}
		answers := given(kind, false)
		if name == "recurring" {
			answers["recurring-every"] = []string{"6 months"}
		}
		a, err := Answer(asking.From{Given: answers, Out: io.Discard}, today)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if _, err := compliance.ReadPack(a.File(), []byte(a.Text("s.json"))); err != nil {
			t.Errorf("%s: %v\n%s", name, err, a.Text("s.json"))
		}
	}
}

// TestEveryAnswerIsWritten, under its key and as it was given, whatever kind.
func TestEveryAnswerIsWritten(t *testing.T) {
	for _, kind := range form.Kinds {
		answers := given(kind, true)
		a, err := Answer(asking.From{Given: answers, Out: io.Discard}, today)
		if err != nil {
			t.Errorf("%s: %v", kind.Name, err)
			continue
		}
		file, err := written.Read("p.yaml", a.Text("s.json"))
		if err != nil || len(file.Rules) != 1 {
			t.Errorf("%s: %v\n%s", kind.Name, err, a.Text("s.json"))
			continue
		}
		if got := file.Pack.Value("title"); got != answers["pack-title"][0] {
			t.Errorf("the title is %q", got)
		}
		for flag, texts := range answers {
			path, ofKind := strings.CutPrefix(flag, kind.Name+"-")
			if !ofKind {
				continue
			}
			found := strings.HasPrefix(texts[0], "[{") && strings.Contains(a.Text("s.json"), ": "+texts[0]+"\n") // conditions are fields of their own
			for _, f := range file.Rules[0].Fields {
				found = found || dashed(strings.TrimPrefix(f.Path, "params.")) == path && f.Value == texts[0]
			}
			if !found {
				t.Errorf("%s: --%s %q is not in\n%s", kind.Name, flag, texts[0], a.Text("s.json"))
			}
		}
	}
}

// TestWrongAnswers are refused when they are given, with what is allowed.
func TestWrongAnswers(t *testing.T) {
	permit, _ := form.KindOf("permit")
	for flag, c := range map[string]struct{ text, want string }{
		"pack": {"My Pack", "lower-case words"}, "layer": {"rule", "law, house, guidance"}, "jurisdiction": {"US", "lower-case"}, "read-on": {"today", "today"},
		"severity": {"bad", "critical"}, "owner": {"janitor", "curator"}, "kind": {"permits", "permit"}, "subject": {"feed", "animal"}, "scope": {"venomus", "did you mean venomous"},
		"window-days": {"many", "0 to 1500"}, "permit-renewal-lead": {"1 moon", "30 days"}, "permit-match": {"owner", "holder"}, "permit-renewal-moves-to-working-day": {"yes", "true or false"},
	} {
		answers := given(permit, false)
		answers[flag] = []string{c.text}
		if _, err := Answer(asking.From{Given: answers, Out: io.Discard}, today); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "--"+flag) {
			t.Errorf("--%s %s: %v; want %q", flag, c.text, err, c.want)
		}
	}
}

// TestAWrongAnswerIsAskedAgainAtOnce: what only the reader of packs can refuse
// is refused at its question, and not after all others.
func TestAWrongAnswerIsAskedAgainAtOnce(t *testing.T) {
	notice, _ := form.KindOf("notice")
	for flag, c := range map[string]struct{ text, want string }{
		"notice-within": {"a day", "is no time to tell somebody within"},
		"notice-events": {"The Bite", "lower-case"},
		"notice-zone":   {"Quillmoor", "zone"},
		"review-by":     {"2025-01-01", "is not after the reading on 2026-01-01"},
	} {
		answers := given(notice, true)
		answers[flag] = []string{c.text}
		if _, err := Answer(asking.From{Given: answers, Out: io.Discard}, today); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "--"+flag) {
			t.Errorf("--%s %s: %v; want %q", flag, c.text, err, c.want)
		}
	}
}

// TestAMappingThatIsLeftOut is left out with its first key, which says what
// that means: nobody is asked for the text that an answer of nothing has.
func TestAMappingThatIsLeftOut(t *testing.T) {
	permit, _ := form.KindOf("permit")
	ask := func(means string) (string, *Answers) {
		t.Helper()
		answers := given(permit, true)
		delete(answers, "permit-pending-means")
		delete(answers, "permit-pending-citation")
		for _, flag := range []string{"edition", "window-days", "from", "last", "scope", "citation-read-on"} {
			answers[flag] = []string{""}
		}
		var out strings.Builder
		a, err := Answer(asking.From{Given: answers, In: bufio.NewReader(strings.NewReader(means + "\nBy-law 3(4)\n" + strings.Repeat("\n", 9))), Out: &out}, today)
		if err != nil {
			t.Fatal(err)
		}
		return out.String(), a
	}
	out, a := ask("")
	if !strings.Contains(strings.ReplaceAll(out, "\n", " "), "Nothing: a renewal that is pending covers nothing.") || strings.Contains(out, "permit pending citation") {
		t.Errorf("it asks\n%s", out)
	}
	if _, err := compliance.ReadPack("p.yaml", []byte(a.Text(""))); err != nil || strings.Contains(a.Text(""), "pending") {
		t.Errorf("%v\n%s", err, a.Text(""))
	}
	if out, a = ask("continues"); !strings.Contains(out, "permit pending citation") || a.Rules[0].value("params.pending.citation") != "By-law 3(4)" {
		t.Errorf("it asks\n%s\nand writes\n%s", out, a.Text(""))
	}
	answers := given(permit, true)
	delete(answers, "permit-pending-means")
	if _, err := Answer(asking.From{Given: answers, Out: io.Discard}, today); err == nil || !strings.Contains(err.Error(), "--permit-pending-citation: says nothing by itself") {
		t.Errorf("a flag that nothing is asked for: %v", err)
	}
}

// TestAnswersThatEnd give what was answered until then.
func TestAnswersThatEnd(t *testing.T) {
	a, err := Answer(asking.From{In: bufio.NewReader(strings.NewReader("moss\nMoss\n")), Out: io.Discard}, today)
	var ended *asking.Ended
	if !errors.As(err, &ended) || ended.Flag != "layer" {
		t.Errorf("%v", err)
	}
	if text := a.Text(""); !strings.Contains(text, "pack: moss\ntitle: \"Moss\"") {
		t.Errorf("kept is\n%s", text)
	}
}
