package daemon

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

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
// beside it. It writes over no pack.
func NewRules(folder string, a *drafting.Answers) (*NewRulesAnswer, error) {
	file := filepath.Join(folder, a.File())
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is there already: choose another name or folder; a pack that is there is changed in an editor", file)
	}
	text := a.Text(SchemaFile)
	p, err := compliance.ReadPack(a.File(), []byte(text))
	if err != nil {
		return nil, fmt.Errorf("what was answered makes no pack, and nothing was written:\n%w", err)
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
