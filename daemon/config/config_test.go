package config

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"antidotary/daemon/schedule"
)

// TestPrintedReadsBack: what config print writes is a configuration, the same
// one.
func TestPrintedReadsBack(t *testing.T) {
	text := "format: 1\ndatabase: x.db\nrules: [mine]\nzone: Europe/London\nmail:\n  mode: smtp\n  host: mail.example\n  username: watch\n  password_file: pw\n  from: watch@house.example\n"
	one, err := Parse("dir/a.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if one.Database != "dir/x.db" || one.Mail.PasswordFile != "dir/pw" || one.Mail.Port != 465 || one.Mail.Security != "tls" {
		t.Errorf("read as %+v", one)
	}
	two, err := Parse("a.yaml", []byte(one.Print()))
	if err != nil {
		t.Fatalf("%v\n%s", err, one.Print())
	}
	if two.Print() != one.Print() {
		t.Errorf("it reads back as\n%s\nwant\n%s", two.Print(), one.Print())
	}
}

// TestMistakes are told with their place and what is allowed.
func TestMistakes(t *testing.T) {
	for text, want := range map[string]string{
		"format: 1\nlisten: 0.0.0.0:80":                  "a.yaml:2:9",
		"format: 1\nlisten: nonsense":                    "host:port",
		"format: 1\nzone: Local":                         "IANA",
		"format: 1\nsweep: '0 0 30 2 *'":                 "never comes",
		"format: 1\nmial: {}":                            "mail",
		"format: 1\nkeep_mail: 3":                        "30",
		"format: 1\nconfirm: '@daily'":                   "five fields",
		"format: 1\ndatabase: 'postgres://u:secret@h/d'": "database_password_file",
		"format: 1\ndatabase: 'postgres://h'":            "postgres://USER@HOST",
		"format: 1\nlog: xml":                            "json",
		"format: 1\nmail: {mode: pigeon}":                "smtp",
		"format: 1\nmail: {mode: smtp}":                  "host",
		"format: 2":                                      "format",
		"format: 1\nmail: {mode: smtp, host: a, from: b, security: none, username: c, password_file: d}": "security",
		"format: 1\nmail: {mode: smtp, host: a, from: b, username: c}":                                   "password_file",
	} {
		if _, err := Parse("a.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "a.yaml:") {
			t.Errorf("%q: %v; want %q in it", text, err, want)
		}
	}
}

// Whatever the file holds, the error is one that a person can act on; what is
// taken prints, and reads back as the same.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{"", "format: 1", "format: 1\nlisten: '[::1]:0'", "format: 1\nrules: [a, /b]\nholidays: h.yaml\nsweep: '0 8 * * 1-5'\nzone: Europe/London",
		"format: 1\nmail: {mode: smtp, host: a, from: b, username: c, password_file: d}", "format: 1\nmail: {mode: none, host: a}", "- 1", "a: &a [*a]", "format: 1\nsweep: TZ=0"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		one, err := Parse("/house/a.yaml", []byte(text))
		if err != nil {
			if !strings.Contains(err.Error(), "a.yaml") {
				t.Fatalf("%q: the error does not name the file: %v", text, err)
			}
			return
		}
		if err := loopback(one.Listen); err != nil {
			t.Fatal(err)
		}
		for _, at := range []string{one.Sweep, one.Confirm, one.Prune} {
			if _, err := schedule.Parse(at); err != nil {
				t.Fatal(err)
			}
		}
		two, err := Parse("/house/a.yaml", []byte(one.Print()))
		if err != nil {
			t.Fatalf("%v\n%s", err, one.Print())
		}
		if diff := cmp.Diff(one, two); diff != "" {
			t.Fatalf("it reads back otherwise (-was +is):\n%s", diff)
		}
	})
}
