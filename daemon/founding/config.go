package founding

import (
	"fmt"
	"strings"

	"antidotary/notify/words"
)

// PasswordFile is where the password of the mail server goes.
const PasswordFile = "mail.password"

// Config gives the text of the configuration.
func (a *Answers) Config(database string) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# %s. Every key and its default: antidotary config print", strings.ReplaceAll(a.House, "\n", " "))
	line("format: 1")
	line("database: %q", database)
	line("mail:")
	if a.Mail.Host == "" {
		line("  mode: none # %s", words.NobodyTold)
		return b.String()
	}
	line("  mode: smtp\n  host: %q\n  port: %d\n  security: %s", a.Mail.Host, a.Mail.Port, a.Mail.Security)
	if a.Mail.Username != "" {
		line("  username: %q\n  password_file: %s", a.Mail.Username, PasswordFile)
	}
	line("  from: %q", a.Mail.From)
	return b.String()
}
