package daemon

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"antidotary/compliance"
	"antidotary/compliance/form"
	"antidotary/daemon/answer"
	"antidotary/daemon/drafting"
	"antidotary/notify/words"
)

// SchemaFile is the name of the schema beside a new pack.
const SchemaFile = "pack.schema.json"

// NewRulesAnswer says which pack was written.
type NewRulesAnswer struct {
	answer.Telling
	Format int    `json:"format"`
	File   string `json:"file"`
	Folder string `json:"folder"`
	Rules  int    `json:"rules"`
}

// NewRules writes a pack of somebody's answers into a folder, and the schema
// beside it. It writes over no pack. What makes no pack, or cannot be written
// under its name, is kept as a draft where somebody typed it.
func NewRules(folder string, a *drafting.Answers, typed bool) (*NewRulesAnswer, error) {
	done, err := newRules(folder, a)
	if err != nil && typed {
		return nil, KeepDraft(folder, a, err)
	}
	return done, err
}

// KeepDraft keeps answers that are no pack, in a file that no folder of packs
// takes in, and gives why they are none together with what to do.
func KeepDraft(folder string, a *drafting.Answers, why error) error {
	if len(a.Pack) == 0 {
		return why
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return errors.Join(why, fmt.Errorf("make the folder of a draft: %w", err))
	}
	name := strings.TrimSuffix(a.File(), ".yaml")
	for n := 1; ; n++ {
		file := filepath.Join(folder, name+".draft")
		if n > 1 {
			file = filepath.Join(folder, fmt.Sprintf("%s-%d.draft", name, n))
		}
		switch err := writeNew(file, []byte(a.Text(SchemaFile))); {
		case errors.Is(err, fs.ErrExist) && n < 1000:
			continue
		case err != nil:
			return errors.Join(why, err)
		}
		return fmt.Errorf("%w\nWhat was answered is kept in %s, and nothing loads it. Mend it in an editor; antidotary rules lint %s tells what is wrong. Then give it a name that ends in .yaml", why, file, file)
	}
}

func newRules(folder string, a *drafting.Answers) (*NewRulesAnswer, error) {
	file := filepath.Join(folder, a.File())
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is there already: choose another name or folder; a pack that is there is changed in an editor", file)
	}
	text := a.Text(SchemaFile)
	p, err := compliance.ReadPack(a.File(), []byte(text))
	if err != nil {
		return nil, fmt.Errorf("what was answered makes no pack:\n%w", err)
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("make the folder: %w", err)
	}
	if err := writeNew(file, []byte(text)); err != nil {
		return nil, err
	}
	return &NewRulesAnswer{Format: answer.Format, File: file, Folder: folder, Rules: len(p.Rules)}, writeSchema(folder)
}

// writeSchema puts the schema of this program beside packs, in the place of an
// older one.
func writeSchema(folder string) error {
	schema, err := form.Schema()
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(folder, SchemaFile), schema, 0o644); err != nil {
		return fmt.Errorf("write the schema: %w", err)
	}
	return nil
}

// WriteText prints the answer for a terminal.
func (n *NewRulesAnswer) WriteText(w io.Writer) error {
	_, err := fmt.Fprintf(w, "%s is written, with %s.\n\nNext:\n  antidotary rules lint %s\n  write tests into it, then antidotary rules test %s\n  write rules: [%s] into the configuration, then antidotary check\n",
		n.File, words.Count(n.Rules, "rule"), n.File, n.File, n.Folder)
	return err
}
