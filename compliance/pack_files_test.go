package compliance

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"antidotary/inventory/day"
)

// TestARulebookIsReadAgain from the files that it kept: rules and hash are the
// same, in whatever order the folders came, and with one name in two folders.
func TestARulebookIsReadAgain(t *testing.T) {
	one := pack("one", "law", "us", rule("one.r", "drill", "site", "recurring", "{activity: drill.x, every: 12 months}"))
	two := strings.NewReplacer("pack: one", "pack: two", "one.r", "two.r").Replace(one)
	three := strings.NewReplacer("pack: one", "pack: three", "one.r", "three.r").Replace(one)
	first := fstest.MapFS{"b.yaml": {Data: []byte(one)}, "notes.txt": {Data: []byte("no pack")}}
	second := fstest.MapFS{"a.yaml": {Data: []byte(two)}, "b.yaml": {Data: []byte(three)}}
	here, err := ReadRulebook(day.Embedded(), first, second)
	if err != nil {
		t.Fatal(err)
	}
	there, err := ReadRulebook(day.Embedded(), second, first)
	if err != nil {
		t.Fatal(err)
	}
	if here.Hash == there.Hash {
		t.Error("folders in another order have one hash: files of one name would be mistaken for each other")
	}
	if want := map[string]string{"000/b.yaml": one, "001/a.yaml": two, "001/b.yaml": three}; !cmp.Equal(want, here.Files) {
		t.Errorf("kept (-want +got):\n%s", cmp.Diff(want, here.Files))
	}
	for _, book := range []*Rulebook{here, there} {
		again, err := ReadFiles(book.Holidays, book.Files)
		if err != nil {
			t.Fatal(err)
		}
		if again.Hash != book.Hash || len(again.Rules) != 3 || !cmp.Equal(again.Files, book.Files) {
			t.Errorf("read again: hash %s, want %s; %d rules", again.Hash, book.Hash, len(again.Rules))
		}
	}
	here.Files["000/b.yaml"] += "\n# altered\n"
	if altered, err := ReadFiles(here.Holidays, here.Files); err != nil || altered.Hash == here.Hash {
		t.Errorf("an altered file has the same hash (%v)", err)
	}
}
