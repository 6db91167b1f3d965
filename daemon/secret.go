package daemon

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"antidotary/daemon/config"
)

// secret reads a password from a file of its own, which nobody else may read.
// Line ends at its end are no part of it.
//
// A path that begins with ${CREDENTIALS_DIRECTORY}/ names a file that systemd
// hands to this service alone. Its folder lets nobody else in; the file shows
// a group's permission where it is given by an access control list, so that
// is not looked at.
func secret(file string) (string, error) {
	name, handed := strings.CutPrefix(file, config.Credentials)
	if handed {
		folder := os.Getenv("CREDENTIALS_DIRECTORY")
		if folder == "" {
			return "", errors.New("systemd hands no credentials to this process: " + file + " is for its service alone (LoadCredential=" + name + ":FILE)")
		}
		file = filepath.Join(folder, name)
	}
	info, err := os.Stat(file)
	if err != nil {
		return "", err
	}
	if !handed && othersMayRead(info) {
		return "", fmt.Errorf("%s may be read by others: chmod 600 it", file)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	password := strings.TrimRight(string(text), "\r\n")
	if password == "" {
		return "", fmt.Errorf("%s is empty: write the password into it, or name no password file", file)
	}
	return password, nil
}
