//go:build unix

package store

import (
	"errors"
	"fmt"
	"os"
)

// syncFolder puts the names in a folder on the disk.
func syncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return fmt.Errorf("put the folder %s on the disk: %w", folder, err)
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("put the folder %s on the disk: %w", folder, err)
	}
	return nil
}
