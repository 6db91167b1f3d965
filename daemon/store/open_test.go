package store

import (
	"os"
	"testing"
)

// TestTheFileIsItsOwnersAlone: it holds people's names.
func TestTheFileIsItsOwnersAlone(t *testing.T) {
	_, path := opened(t)
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
}
