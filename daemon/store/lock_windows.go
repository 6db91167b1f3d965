package store

import (
	"fmt"
	"os"
)

// lockFile: a file opened for writing without sharing would do; the standard
// library does not offer that, so on Windows the database's own lock alone
// keeps two writers apart.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("make the lock: %w", err)
	}
	return f, nil
}
