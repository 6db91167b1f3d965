package compliance

import (
	"errors"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"antidotary/compliance/strict"
	"antidotary/inventory/day"
)

// inPlace is how a mistake of a file begins: its place, then the field.
var inPlace = regexp.MustCompile(`^p\.yaml:[1-9][0-9]*:[1-9][0-9]*: [a-z][a-z0-9_.\[\]]*: .`)

// TestPackMistakes: each mistake is told with its place and what is allowed.
func TestPackMistakes(t *testing.T) {
	good := pack("mine", "law", "us", rule("mine.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}"))
	if _, err := ReadPack("good.yaml", []byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, from, to string
		want           []string
	}{
		{"a misspelt key", "consequence:", "consequense:", []string{"p.yaml:13:5", "consequense", "consequence"}},
		{"an unknown kind", "kind: recurring", "kind: recuring", []string{"p.yaml:18:", "kind", "recurring"}},
		{"an unknown severity", "severity: serious", "severity: bad", []string{"p.yaml:14:", "severity", "critical"}},
		{"an unknown owner", "owner: administrator", "owner: janitor", []string{"p.yaml:15:", "owner", "curator"}},
		{"a subject that the kind has not", "subject: site", "subject: animal", []string{"p.yaml:19:", "no subject \"animal\"", "site"}},
		{"a date that does not exist", "read_on: 2026-01-01", "read_on: 2026-02-30", []string{"p.yaml:7:", "read_on"}},
		{"a span that is none", "every: 12 months", "every: 12 moons", []string{"every", "12 months"}},
		{"a certainty that is none", "certainty: R", "certainty: sure", []string{"certainty", "R2"}},
		{"law without a jurisdiction", "jurisdiction: us\n", "", []string{"layer", "jurisdiction"}},
		{"an upper-case jurisdiction", "jurisdiction: us", "jurisdiction: US", []string{"jurisdiction", "lower-case"}},
		{"an id that is no word", "id: mine.r", "id: Mine R", []string{"p.yaml:10:", "id", "lower-case words"}},
		{"neither every nor yearly", "every: 12 months", "habitual: true", []string{"needs either every"}},
		{"a parameter that nobody asked for", "every: 12 months", "every: 12 months, whenever: true", []string{"whenever"}},
		{"a format of the future", "format: 1", "format: 2", []string{"p.yaml:1:", "format"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(good, c.from, c.to, 1)
			if text == good {
				t.Fatalf("%q is not in the pack", c.from)
			}
			_, err := ReadPack("p.yaml", []byte(text))
			if err == nil {
				t.Fatal("the mistake was not found")
			}
			for _, line := range strings.Split(err.Error(), "\n") {
				if !inPlace.MatchString(line) {
					t.Errorf("it says %q; want file:line:column: field: what is wrong", line)
				}
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("it says %q; want %q in it", err, want)
				}
			}
		})
	}
}

// TestScopeMistakes: a scope may ask only what is known of its subject.
func TestScopeMistakes(t *testing.T) {
	for scope, want := range map[string]string{
		`venomus`:             "venomous",
		`roles == "x"`:        "",
		`species`:             "",
		`now() > 3`:           "",
		`family == 3`:         "",
		`"keeper" in species`: "",
	} {
		text := pack("mine", "law", "us", rule("mine.r", "paper", "animal", "permit", part13, "    scope: '"+scope+"'\n"))
		_, err := ReadPack("p.yaml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), "scope") || !strings.Contains(err.Error(), want) {
			t.Errorf("scope %s: %v", scope, err)
		}
	}
}

func TestTwoRulesWithOneID(t *testing.T) {
	one := pack("one", "law", "us", rule("x.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}"))
	_, err := ReadRulebook(day.Embedded(), fstest.MapFS{"a.yaml": {Data: []byte(one)}, "b.yaml": {Data: []byte(strings.Replace(one, "pack: one", "pack: two", 1))}})
	if err == nil || !strings.Contains(err.Error(), "b.yaml:") || !strings.Contains(err.Error(), "a.yaml:") {
		t.Errorf("two rules with one id: %v", err)
	}
}

// FuzzReadPack: whatever is in the file, a pack or mistakes with places come
// out of it. Give -fuzzminimizetime 1x: the paths that YAML and CEL take vary
// between runs, so that making inputs small would take all the time.
func FuzzReadPack(f *testing.F) {
	f.Add(pack("mine", "law", "us", rule("mine.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}")))
	f.Add(pack("mine", "house", "", rule("mine.r", "cover", "holding", "cover", coverRule)))
	f.Add(pack("mine", "law", "us/fl", rule("mine.r", "paper", "animal", "permit", part13, "    scope: venomous && !native\n")))
	f.Add("format: 1\nrules: [{}]")
	f.Fuzz(func(t *testing.T, text string) {
		_, err := ReadPack("f.yaml", []byte(text))
		var mistakes strict.Errors
		if err != nil && !errors.As(err, &mistakes) {
			t.Fatalf("%v is no list of mistakes", err)
		}
		for _, m := range mistakes {
			if m.Pos.File != "f.yaml" || m.Pos.Line < 1 || m.Message == "" {
				t.Fatalf("%v has no place", m)
			}
		}
	})
}
