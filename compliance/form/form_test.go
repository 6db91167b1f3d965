package form_test

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/compliance/form"
	"antidotary/compliance/ladder"
	"antidotary/compliance/strict"
	"github.com/google/go-cmp/cmp"
)

const file = "../../deploy/rules/pack.schema.json"

var update = flag.Bool("update", false, "write the schema file")

func TestTheSchemaFileIsUpToDate(t *testing.T) {
	want, err := form.Schema()
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(file, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what the form says: go test ./compliance/form -update writes it", filepath.Base(file))
	}
}

// TestTheFormAndTheReaderKnowTheSameKeys: a pack with every key that the form
// knows, and one that nobody knows in each mapping. The reader refuses the
// latter alone, and lists all that it knows itself.
func TestTheFormAndTheReaderKnowTheSameKeys(t *testing.T) {
	for _, kind := range compliance.KindNames() {
		k, ok := form.KindOf(kind)
		if !ok {
			t.Errorf("the form knows no kind %q: write compliance/form's own list of its parameters", kind)
			continue
		}
		t.Run(kind, func(t *testing.T) {
			keys := make(map[string][]string) // by path of the mapping
			text := "stranger: 1\n" + written(form.Pack, "", "", k, keys)
			_, err := compliance.ReadPack("p.yaml", []byte(text))
			var mistakes strict.Errors
			if !errors.As(err, &mistakes) {
				t.Fatalf("%v\n%s", err, text)
			}
			compareKeys(t, mistakes, keys, text)
		})
	}
	for _, k := range form.Kinds {
		if !slices.Contains(compliance.KindNames(), k.Name) {
			t.Errorf("the form has a kind %q that the reader does not know", k.Name)
		}
	}
}

// compareKeys holds the keys that were written to those that the reader lists
// where it refuses the strangers among them.
func compareKeys(t *testing.T, mistakes strict.Errors, keys map[string][]string, text string) {
	t.Helper()
	known := make(map[string][]string)
	for _, m := range mistakes {
		what, allowed, found := strings.Cut(m.Message, "allowed: ")
		if !found || !strings.HasPrefix(what, "is not a key of this mapping") {
			continue
		}
		path, isStranger := strings.CutSuffix(m.Field, "stranger")
		if !isStranger {
			t.Errorf("the form knows %s, and the reader does not", m.Field)
			continue
		}
		known[strings.TrimSuffix(path, ".")] = strings.Split(allowed, ", ")
	}
	for _, list := range keys {
		slices.Sort(list)
	}
	if diff := cmp.Diff(known, keys); diff != "" {
		t.Errorf("keys by mapping (-reader +form):\n%s\n%s", diff, text)
	}
}

// TestTheFormAndTheReaderKnowTheSameConditions: the same of a condition that
// has every key at once, and those of each a stranger.
func TestTheFormAndTheReaderKnowTheSameConditions(t *testing.T) {
	keys := make(map[string][]string)
	text := "all:\n  - " + strings.TrimPrefix(written(form.Condition, "all[1]", "    ", form.Kind{}, keys), "    ")
	doc, err := strict.Parse("c.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	ladder.ReadConditions(doc.Root(), "all", -1)
	var mistakes strict.Errors
	if !errors.As(doc.Err(), &mistakes) {
		t.Fatal("nothing was refused")
	}
	compareKeys(t, mistakes, keys, text)
}

// written gives a mapping with every key and a stranger, and notes which keys
// it has.
func written(list []form.Key, path, indent string, kind form.Kind, keys map[string][]string) string {
	var b strings.Builder
	if path != "" {
		fmt.Fprintf(&b, "%sstranger: 1\n", indent)
	}
	for _, k := range list {
		at := strings.TrimPrefix(path+"."+k.Name, ".")
		keys[path] = append(keys[path], k.Name)
		if k.Name == "params" {
			k.Keys = kind.Keys
		}
		switch k.Type {
		case form.Mapping:
			fmt.Fprintf(&b, "%s%s:\n%s", indent, k.Name, written(k.Keys, at, indent+"  ", kind, keys))
		case form.Mappings:
			item := written(k.Keys, at+"[1]", indent+"    ", kind, keys)
			fmt.Fprintf(&b, "%s%s:\n%s  - %s", indent, k.Name, indent, strings.TrimPrefix(item, indent+"    "))
		default:
			fmt.Fprintf(&b, "%s%s: %s\n", indent, k.Name, sample(k, kind))
		}
	}
	return b.String()
}

// sample gives a value that the reader takes, such that it asks for the other
// keys too.
func sample(k form.Key, kind form.Kind) string {
	switch {
	case k.Name == "kind":
		return kind.Name
	case k.Name == "subject" && k.Type == form.Choice:
		return kind.Subjects[0]
	case k.Name == "scope":
		return "'true'"
	case k.Name == "what" && k.Type == form.Choice:
		return "job"
	}
	switch k.Type {
	case form.Text, form.Word:
		return "text"
	case form.Path:
		return "us/fl"
	case form.Day, form.End:
		return "2026-01-01"
	case form.Span:
		return "30 days"
	case form.Duration:
		return "1h"
	case form.Whole:
		return fmt.Sprint(k.Least)
	case form.Flag:
		return "true"
	case form.Choice:
		return k.Words[0]
	case form.Conditions:
		return "[{age: {at_least: 18}}]"
	case form.Texts:
		if k.Words != nil {
			return "[" + k.Words[0] + "]"
		}
		return "[text]"
	}
	return "?"
}

// TestEveryKeySaysWhatItMeans: as a sentence, and what it is if left out.
func TestEveryKeySaysWhatItMeans(t *testing.T) {
	var walk func(path string, keys []form.Key)
	walk = func(path string, keys []form.Key) {
		for _, k := range keys {
			at := path + "." + k.Name
			if !strings.HasSuffix(k.Says, ".") && !strings.Contains(k.Says, ": ") {
				t.Errorf("%s: %q is no sentence", at, k.Says)
			}
			if optional := !k.Need && k.Type != form.Mappings && k.Name != "outcome"; optional == (k.Otherwise == "") {
				t.Errorf("%s: what it is if left out is said of those that may be, and of no others: %q", at, k.Otherwise)
			}
			walk(at, k.Keys)
		}
	}
	walk("pack", form.Pack)
	walk("condition", form.Condition)
	for _, k := range form.Kinds {
		walk(k.Name, k.Keys)
	}
}
