package daemon

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"antidotary/daemon/config"
)

// TestCredentials are read from where systemd puts them, and nowhere else.
func TestCredentials(t *testing.T) {
	folder := t.TempDir()
	// As an access control list for the service's user shows itself.
	if err := os.WriteFile(filepath.Join(folder, "mail.password"), []byte("secret\n"), 0o440); err != nil {
		t.Fatal(err)
	}
	t.Setenv("CREDENTIALS_DIRECTORY", folder)
	if s, err := secret(config.Credentials + "mail.password"); s != "secret" || err != nil {
		t.Errorf("%q, %v", s, err)
	}
	if _, err := secret(filepath.Join(folder, "mail.password")); err == nil {
		t.Error("the same file by its path is taken, and others may read it")
	}
	t.Setenv("CREDENTIALS_DIRECTORY", "")
	if _, err := secret(config.Credentials + "mail.password"); err == nil || !strings.Contains(err.Error(), "LoadCredential=mail.password") {
		t.Errorf("without systemd: %v", err)
	}
	cfg, err := config.Parse("/etc/antidotary/a.yaml", []byte("format: 1\ndatabase: postgres://w@h/d\ndatabase_password_file: ${CREDENTIALS_DIRECTORY}/db.password\n"+
		"mail: {mode: smtp, host: h, from: a@h.example, username: w, password_file: '${CREDENTIALS_DIRECTORY}/mail.password'}\n"))
	if err != nil || cfg.DatabasePasswordFile != config.Credentials+"db.password" || cfg.Mail.PasswordFile != config.Credentials+"mail.password" {
		t.Errorf("%+v, %v", cfg, err)
	}
}

// TestAnEmptyPasswordIsAMistake: systemd hands an empty file where there is
// none to load.
func TestAnEmptyPasswordIsAMistake(t *testing.T) {
	file := filepath.Join(t.TempDir(), "password")
	if err := os.WriteFile(file, []byte("\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := secret(file); err == nil || !strings.Contains(err.Error(), "is empty") {
		t.Errorf("%v", err)
	}
}
