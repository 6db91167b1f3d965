package daemon

import (
	"fmt"
	"os"
	"path/filepath"

	"antidotary/daemon/intake"
)

// ImportTemplate writes empty lists with explanations into a new folder, and
// gives their names.
func ImportTemplate(folder string) (names []string, err error) {
	files, err := intake.Template()
	if err != nil {
		return nil, err
	}
	if err := os.Mkdir(folder, 0o700); err != nil {
		return nil, fmt.Errorf("make a new folder for the lists: %w", err)
	}
	for _, f := range files {
		if err := writeNew(filepath.Join(folder, f.Name), f.Data); err != nil {
			return names, err
		}
		names = append(names, f.Name)
	}
	return names, nil
}
