package store

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// manifestEnding follows the backup's name.
const manifestEnding = ".sha256"

// The manifest is what sha256sum -c reads: remarks, then the sum and the name.
const (
	remarkMade = "# antidotary backup made "
	remarkHead = "# journal head "
)

func writeManifest(path string, b Backup) error {
	text := fmt.Sprintf("%s%s\n%s%s\n%x  %s\n", remarkMade, b.Made.Format(time.RFC3339), remarkHead, b.Head, b.Sum, filepath.Base(b.File))
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return fmt.Errorf("write the manifest: %w", err)
	}
	return syncFile(path)
}

// manifest is what a backup should be.
type manifest struct {
	sum  [sha256.Size]byte
	made string // as it was written; empty: it does not say
}

// ErrNoManifest: nothing says what a backup should be.
var ErrNoManifest = errors.New("the manifest of the backup is missing, so that nobody can tell whether it was altered")

// ErrAltered: a backup is not what its manifest says.
var ErrAltered = errors.New("the backup is not what was made")

func readManifest(path string) (m manifest, err error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return m, ErrNoManifest
	}
	if err != nil {
		return m, fmt.Errorf("read the manifest: %w", err)
	}
	found := 0
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if made, ok := strings.CutPrefix(line, remarkMade); ok {
			m.made = made
		}
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		sum, err := hex.DecodeString(strings.Fields(line)[0])
		if err != nil || len(sum) != len(m.sum) {
			return m, fmt.Errorf("%s: %q is no line of a SHA-256 manifest (64 hexadecimal digits, two spaces, a name)", path, line)
		}
		m.sum = [sha256.Size]byte(sum)
		found++
	}
	if found != 1 {
		return m, fmt.Errorf("%s: it holds %d sums, and must hold one", path, found)
	}
	return m, nil
}

// holds compares a backup with its manifest.
func (m manifest) holds(backup string) error {
	sum, _, err := sumOf(backup)
	if err != nil {
		return err
	}
	if sum != m.sum {
		return fmt.Errorf("%w: %s has the SHA-256 %x, and its manifest says %x; take another backup", ErrAltered, backup, sum, m.sum)
	}
	return nil
}
