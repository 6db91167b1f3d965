package daemon

import (
	"fmt"
	"os"
	"strings"

	"antidotary/notify/smtp"
)

// sender makes the client for the mail server that the configuration names.
func (o *Options) sender() (*smtp.Sender, error) {
	m := o.Config.Mail
	password := ""
	if m.PasswordFile != "" {
		info, err := os.Stat(m.PasswordFile)
		if err != nil {
			return nil, fmt.Errorf("read the mail password: %w", err)
		}
		if info.Mode().Perm()&0o077 != 0 {
			return nil, fmt.Errorf("read the mail password: %s may be read by others: chmod 600 it", m.PasswordFile)
		}
		text, err := os.ReadFile(m.PasswordFile)
		if err != nil {
			return nil, fmt.Errorf("read the mail password: %w", err)
		}
		password = strings.TrimRight(string(text), "\r\n")
	}
	return smtp.New(smtp.Config{Host: m.Host, Port: m.Port, Security: smtp.Security(m.Security), Username: m.Username,
		Password: smtp.Secret(password), HelloName: m.Hello, RootCAs: o.RootCAs})
}

// indented sets a text apart as a quotation.
func indented(text string) string {
	return "  | " + strings.ReplaceAll(strings.TrimRight(text, "\n"), "\n", "\n  | ")
}
