package daemon

import (
	"context"
	"fmt"
	"io"

	"antidotary/daemon/answer"
	"antidotary/daemon/store"
)

// MigrationAnswer says which steps of the schema a database has.
type MigrationAnswer struct {
	Format int `json:"format"`
	answer.Telling
	Steps []MigrationStep `json:"steps"`
}

// MigrationStep is one of them.
type MigrationStep struct {
	Name    string `json:"name"`
	Applied bool   `json:"applied"`
}

// WriteText prints the answer for a terminal.
func (m *MigrationAnswer) WriteText(w io.Writer) error {
	waiting := 0
	for _, s := range m.Steps {
		state := "applied"
		if !s.Applied {
			state = "waiting"
			waiting++
		}
		if _, err := fmt.Fprintf(w, "%s  %s\n", state, s.Name); err != nil {
			return err
		}
	}
	text := "The schema is up to date.\n"
	if waiting > 0 {
		text = fmt.Sprintf("%d steps wait: antidotary migrate up, or starting antidotary serve, runs them. Make a backup first, with the program that ran until now.\n", waiting)
	}
	_, err := io.WriteString(w, text)
	return err
}

// MigrationStatus says which steps of the schema the database has. For a
// database that is newer than this program there is an answer and an error.
func MigrationStatus(ctx context.Context, opt Options) (*MigrationAnswer, error) {
	opt.settle()
	how, err := opt.stored()
	if err != nil {
		return nil, err
	}
	steps, err := store.Migrations(ctx, opt.Config.Database, how)
	if steps == nil {
		return nil, err
	}
	out := &MigrationAnswer{Format: answer.Format}
	for _, s := range steps {
		out.Steps = append(out.Steps, MigrationStep(s))
	}
	return out, err
}

// MigrateUp runs the steps that the database lacks, and gives how many there
// are and the name of the last.
func MigrateUp(ctx context.Context, opt Options) (number int, name string, err error) {
	opt.settle()
	st, err := opt.open(ctx)
	if err != nil {
		return 0, "", err
	}
	if err := st.Close(); err != nil {
		return 0, "", fmt.Errorf("close the database: %w", err)
	}
	status, err := MigrationStatus(ctx, opt)
	if err != nil {
		return 0, "", err
	}
	return len(status.Steps), status.Steps[len(status.Steps)-1].Name, nil
}
