package daemon

import (
	"fmt"
	"strings"

	"antidotary/notify/smtp"
)

// sender makes the client for the mail server that the configuration names.
func (o *Options) sender() (*smtp.Sender, error) {
	settings, err := o.mailServer()
	if err != nil {
		return nil, err
	}
	return smtp.New(settings)
}

// mailServer gives the mail server that the configuration names, with the
// password from its file.
func (o *Options) mailServer() (smtp.Config, error) {
	m := o.Config.Mail
	password := ""
	if m.PasswordFile != "" {
		var err error
		if password, err = secret(m.PasswordFile); err != nil {
			return smtp.Config{}, fmt.Errorf("read the mail password: %w", err)
		}
	}
	return smtp.Config{Host: m.Host, Port: m.Port, Security: smtp.Security(m.Security), Username: m.Username,
		Password: smtp.Secret(password), HelloName: m.Hello, RootCAs: o.RootCAs}, nil
}

// indented sets a text apart as a quotation.
func indented(text string) string {
	return "  | " + strings.ReplaceAll(strings.TrimRight(text, "\n"), "\n", "\n  | ")
}
