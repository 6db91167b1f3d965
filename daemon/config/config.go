package config

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"antidotary/compliance/strict"
	"antidotary/daemon/schedule"
	"antidotary/notify/words"
)

// MailMode says how mail leaves the house.
type MailMode string

// The modes. In a house without mail every output says that nobody is being
// told.
const (
	MailNone MailMode = "none"
	MailSMTP MailMode = "smtp"
)

// LogFormat says how the log is written.
type LogFormat string

// The formats.
const (
	LogText LogFormat = "text"
	LogJSON LogFormat = "json"
)

// Config is what the daemon runs with.
type Config struct {
	File     string // where it was read from; empty for the defaults
	Database string // path of a SQLite file, or postgres://USER@HOST:PORT/NAME
	// DatabasePasswordFile holds the password of a PostgreSQL server, which
	// never stands in an address; empty: none.
	DatabasePasswordFile string
	Rules                []string // folders of rule packs
	Shipped              bool     // read the packs that come with the program too
	Holidays             string   // path of holiday data; empty: those that are built in
	Sweep                string   // when to judge and tell: five fields (package schedule)
	Confirm              string   // when to prove that the watch is alive
	Prune                string   // when to remove what need not be kept
	Zone                 string   // of these times; empty: each site's own
	KeepMail             int      // days for which sent mails are kept
	Listen               string   // host:port of the page; loopback only
	Log                  LogFormat
	WeekFolder           string // where each sweep writes the week sheet and the calendar; empty: nowhere
	Mail                 Mail
}

// Mail says how mail leaves the house.
type Mail struct {
	Mode         MailMode
	Host         string
	Port         int
	Security     string // tls, starttls or none
	Username     string
	PasswordFile string
	From         string
	FromName     string
	Bounce       string // envelope sender; empty: From
	Hello        string // name given to the server
}

// Default gives the configuration of an empty file.
func Default() Config {
	return Config{Database: "antidotary.db", Shipped: true, Sweep: "30 5 * * *", Confirm: "0 6 * * 1", Prune: "30 3 * * 0", KeepMail: 400,
		Listen: "127.0.0.1:8732", Log: LogText, Mail: Mail{Mode: MailNone}}
}

// Load reads a file. Its error names every mistake as file:line:column:
// field: what is wrong; what is allowed.
func Load(file string) (Config, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return Config{}, fmt.Errorf("read configuration: %w", err)
	}
	return Parse(file, data)
}

// Parse reads the text of a file.
func Parse(file string, data []byte) (Config, error) {
	doc, err := strict.Parse(file, data)
	if err != nil {
		return Config{}, err
	}
	m := doc.Root()
	c := Default()
	c.File = file
	m.Int("format", 1, 1)
	c.readDatabase(m)
	for _, folder := range m.OptStrings("rules") {
		c.Rules = append(c.Rules, c.path(folder))
	}
	c.Shipped = m.OptBool("shipped_rules", c.Shipped)
	if h := m.OptString("holidays"); h != "" {
		c.Holidays = c.path(h)
	}
	c.readTimes(m)
	c.Listen = or(m.OptString("listen"), c.Listen)
	if err := loopback(c.Listen); err != nil {
		m.Fail("listen", "%v", err)
	}
	c.Log = LogFormat(m.OptEnum("log", string(c.Log), string(LogText), string(LogJSON)))
	if f := m.OptString("week_folder"); f != "" {
		c.WeekFolder = c.path(f)
	}
	if mm, ok := m.OptMap("mail"); ok {
		c.Mail = readMail(mm, &c)
	}
	return c, doc.Err()
}

func (c *Config) readTimes(m *strict.Map) {
	for name, at := range map[string]*string{"sweep": &c.Sweep, "confirm": &c.Confirm, "prune": &c.Prune} {
		if m.Has(name) {
			*at = m.OptString(name)
			if _, err := schedule.Parse(*at); err != nil {
				m.Fail(name, "%v", err)
			}
		}
	}
	c.Zone = or(m.OptString("zone"), c.Zone)
	if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "Local" {
		m.Fail("zone", "%q is not an IANA time zone such as Europe/London; left out, each site's own counts", c.Zone)
	}
	c.KeepMail = m.OptInt("keep_mail", c.KeepMail, 30, 36500)
}

func (c *Config) readDatabase(m *strict.Map) {
	c.Database = or(m.OptString("database"), c.Database)
	if f := m.OptString("database_password_file"); f != "" {
		c.DatabasePasswordFile = c.path(f)
	}
	if !isServer(c.Database) {
		c.Database = c.path(c.Database)
		return
	}
	if u, err := url.Parse(c.Database); err != nil || u.Host == "" && u.Query().Get("host") == "" || strings.Trim(u.Path, "/") == "" {
		m.Fail("database", "is not postgres://USER@HOST:PORT/NAME, nor the path of a file")
	} else if _, has := u.User.Password(); has || u.Query().Has("password") {
		m.Fail("database", "holds a password: write that into a file of its own, and name the file as database_password_file")
	}
}

// isServer says that a database is the address of a PostgreSQL server.
func isServer(database string) bool {
	return strings.HasPrefix(database, "postgres://") || strings.HasPrefix(database, "postgresql://")
}

func readMail(m *strict.Map, c *Config) Mail {
	out := Mail{Mode: MailMode(m.Enum("mode", string(MailNone), string(MailSMTP)))}
	if out.Mode != MailSMTP {
		return out
	}
	out.Host = m.String("host")
	out.Port = m.OptInt("port", 465, 1, 65535)
	out.Security = m.OptEnum("security", "tls", "tls", "starttls", "none")
	out.Username = m.OptString("username")
	if f := m.OptString("password_file"); f != "" {
		out.PasswordFile = c.path(f)
	}
	if (out.Username == "") != (out.PasswordFile == "") {
		m.Fail("username", "needs password_file beside it, and the other way round")
	}
	if out.Security == "none" && out.Username != "" {
		m.Fail("security", "none is not allowed with a password; allowed: tls, starttls")
	}
	out.From = m.String("from")
	out.FromName = or(m.OptString("from_name"), "antidotary")
	out.Bounce = or(m.OptString("bounce"), out.From)
	out.Hello = m.OptString("hello")
	return out
}

// Credentials begins the path of a password file that systemd hands to a
// service (LoadCredential=); the folder is known only when the service runs.
const Credentials = "${CREDENTIALS_DIRECTORY}/"

func (c *Config) path(p string) string {
	if filepath.IsAbs(p) || strings.HasPrefix(p, Credentials) {
		return p
	}
	return filepath.Join(filepath.Dir(c.File), p)
}

func or(v, otherwise string) string {
	if v == "" {
		return otherwise
	}
	return v
}

// Print gives the configuration as a file with every default written out. It
// holds no secret, only where the secret is.
func (c Config) Print() string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("format: 1")
	line("database: %q", c.Database)
	if c.DatabasePasswordFile != "" {
		line("database_password_file: %q", c.DatabasePasswordFile)
	}
	line("rules: [%s]", quotedList(c.Rules))
	line("shipped_rules: %t", c.Shipped)
	if c.Holidays != "" {
		line("holidays: %q", c.Holidays)
	}
	line("sweep: %q\nconfirm: %q\nprune: %q", c.Sweep, c.Confirm, c.Prune)
	if c.Zone != "" {
		line("zone: %q", c.Zone)
	}
	line("keep_mail: %d", c.KeepMail)
	line("listen: %q\nlog: %s", c.Listen, c.Log)
	if c.WeekFolder != "" {
		line("week_folder: %q", c.WeekFolder)
	}
	line("mail:")
	if c.Mail.Mode == MailNone {
		line("  # %s", words.NobodyTold)
	}
	line("  mode: %s", c.Mail.Mode)
	if c.Mail.Mode == MailSMTP {
		line("  host: %q\n  port: %d\n  security: %s", c.Mail.Host, c.Mail.Port, c.Mail.Security)
		if c.Mail.Username != "" {
			line("  username: %q\n  password_file: %q", c.Mail.Username, c.Mail.PasswordFile)
		}
		line("  from: %q\n  from_name: %q\n  bounce: %q", c.Mail.From, c.Mail.FromName, c.Mail.Bounce)
		if c.Mail.Hello != "" {
			line("  hello: %q", c.Mail.Hello)
		}
	}
	return b.String()
}

func quotedList(list []string) string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = fmt.Sprintf("%q", s)
	}
	return strings.Join(out, ", ")
}
