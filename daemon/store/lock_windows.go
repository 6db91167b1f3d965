package store

import (
	"errors"
	"fmt"
	"os"
	"syscall"
)

// sharingViolation: somebody has the file open and does not share it
// (ERROR_SHARING_VIOLATION, from memory; package syscall does not name it).
const sharingViolation syscall.Errno = 32

// lockFile takes the lock that keeps a second daemon out: the file is opened
// and shared with nobody. It goes with the process, however that ends.
func lockFile(path string) (*os.File, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, fmt.Errorf("make the lock: %w", err)
	}
	const shared = 0 // with nobody
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, shared, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, sharingViolation) {
		return nil, errors.Join(ErrBusy, errors.New("another antidotary runs on this database: stop it first"))
	}
	if err != nil {
		return nil, fmt.Errorf("make the lock: %w", err)
	}
	return os.NewFile(uintptr(h), path), nil
}
