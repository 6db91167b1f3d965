package form_test

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/form"
	"antidotary/compliance/scope"
	"antidotary/inventory"
)

const page = "../../deploy/rules/README.md"

// TestThePageListsEveryKey: the lists of the documentation are those of the
// form.
func TestThePageListsEveryKey(t *testing.T) {
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	want := between(t, between(t, string(text), "scopes", scopes()), "keys", everyKey())
	if *update {
		if err := os.WriteFile(page, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if string(text) != want {
		t.Error("deploy/rules/README.md does not list what the form says: go test ./compliance/form -update writes it")
	}
}

// TestTheScopesOfThePage can be asked of an animal.
func TestTheScopesOfThePage(t *testing.T) {
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	env, err := scope.NewEnv(compliance.ScopeVars(inventory.KindAnimal)...)
	if err != nil {
		t.Fatal(err)
	}
	shown := regexp.MustCompile("`(venomous [^`]+)`").FindAllStringSubmatch(string(text), -1)
	if len(shown) < 2 {
		t.Errorf("%q", shown)
	}
	for _, s := range shown {
		if _, err := env.Compile(s[1]); err != nil {
			t.Errorf("%s: %v", s[1], err)
		}
	}
}

func between(t *testing.T, text, mark, put string) string {
	t.Helper()
	before, rest, begins := strings.Cut(text, "<!-- "+mark+" -->\n")
	_, after, ends := strings.Cut(rest, "<!-- /"+mark+" -->")
	if !begins || !ends {
		t.Fatalf("the page has no place for %s", mark)
	}
	return before + "<!-- " + mark + " -->\n" + put + "<!-- /" + mark + " -->" + after
}

func scopes() string {
	var b strings.Builder
	b.WriteString("\n| subject | may be asked |\n|---|---|\n")
	subject, _ := form.Of(form.Rule, "subject")
	for _, name := range subject.Words {
		kind, _ := inventory.ParseKind(name)
		var vars []string
		for _, v := range compliance.ScopeVars(kind) {
			vars = append(vars, fmt.Sprintf("`%s` (%s)", v.Name, v.Doc))
		}
		fmt.Fprintf(&b, "| %s | %s |\n", name, strings.Join(vars, "; "))
	}
	return b.String() + "\n"
}

func everyKey() string {
	var b strings.Builder
	section := func(title, says, path string, keys []form.Key) {
		fmt.Fprintf(&b, "\n### %s\n\n", title)
		if says != "" {
			b.WriteString(says + "\n\n")
		}
		b.WriteString("| key | holds | means | if left out |\n|---|---|---|---|\n")
		rows(&b, path, keys)
	}
	section("A pack", "", "", form.Pack)
	section("A rule (below `rules`)", "", "", form.Rule)
	for _, k := range form.Kinds {
		section("Kind `"+k.Name+"`", k.Says+" Subjects: "+strings.Join(k.Subjects, ", ")+". Below `params`:", "", k.Keys)
	}
	section("A condition", "In a list of conditions each has one of these keys. `all` and `any` hold conditions themselves.", "", form.Condition)
	section("A test (below `tests`)", "", "", form.Case)
	return b.String() + "\n"
}

func rows(b *strings.Builder, path string, keys []form.Key) {
	for _, k := range keys {
		star := ""
		if k.Need {
			star = " *"
		}
		fmt.Fprintf(b, "| `%s`%s | %s | %s | %s |\n", path+k.Name, star, holds(k), cell(k.Says), cell(k.Otherwise))
		if k.Name != "rules" && k.Name != "tests" {
			rows(b, path+k.Name+".", k.Keys)
		}
	}
}

// cell keeps a bar from ending a cell of the table.
func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }

func holds(k form.Key) string {
	switch k.Type {
	case form.Text:
		return "text"
	case form.Word:
		return "word"
	case form.Path:
		return "place"
	case form.Day:
		return "day"
	case form.End:
		return "day, never or unknown"
	case form.Span:
		return "span"
	case form.Duration:
		return "time"
	case form.Whole:
		return fmt.Sprintf("%d to %d", k.Least, k.Most)
	case form.Flag:
		return "true or false"
	case form.Choice:
		if k.Words == nil {
			return "one of the kinds below"
		}
		return strings.Join(k.Words, ", ")
	case form.Texts:
		if k.Words != nil {
			return "list of " + strings.Join(k.Words, ", ")
		}
		return "list of texts"
	case form.Conditions:
		return "list of conditions"
	case form.Mapping:
		return "keys below it"
	}
	return "list, each with keys"
}
