package daemon

import (
	"fmt"
	"os"
	"strings"
)

// secret reads a password from a file of its own, which nobody else may read.
// Line ends at its end are no part of it.
func secret(file string) (string, error) {
	info, err := os.Stat(file)
	if err != nil {
		return "", err
	}
	if info.Mode().Perm()&0o077 != 0 {
		return "", fmt.Errorf("%s may be read by others: chmod 600 it", file)
	}
	text, err := os.ReadFile(file)
	return strings.TrimRight(string(text), "\r\n"), err
}
