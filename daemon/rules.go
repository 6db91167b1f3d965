package daemon

import (
	"fmt"
	"io/fs"
	"os"
	"strings"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/deploy"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// Rulebook reads the rule packs and holidays that a configuration names.
func Rulebook(cfg config.Config) (*compliance.Rulebook, error) {
	holidays, err := holidaysOf(cfg)
	if err != nil {
		return nil, err
	}
	var folders []fs.FS
	if cfg.Shipped {
		folders = append(folders, deploy.Rules())
	}
	for _, folder := range cfg.Rules {
		if info, err := os.Stat(folder); err != nil || !info.IsDir() {
			return nil, fmt.Errorf("read rule packs: %s is not a folder", folder)
		}
		folders = append(folders, os.DirFS(folder))
	}
	book, err := compliance.ReadRulebook(holidays, folders...)
	if err != nil {
		return nil, fmt.Errorf("read rule packs:\n%w", err)
	}
	return book, nil
}

func orNotSaid(d day.Day) string {
	if d.IsZero() {
		return "not recorded"
	}
	return d.String()
}

// holidaysOf reads the holidays that a configuration names.
func holidaysOf(cfg config.Config) (*day.Holidays, error) {
	if cfg.Holidays == "" {
		return day.Embedded(), nil
	}
	f, err := os.Open(cfg.Holidays)
	if err != nil {
		return nil, fmt.Errorf("read holidays: %w", err)
	}
	defer f.Close()
	return day.ReadHolidays(cfg.Holidays, f)
}

// CheckConfig reads everything that a start would read, and says what it
// found.
func CheckConfig(opt Options) (string, error) {
	book, err := Rulebook(opt.Config)
	if err != nil {
		return "", err
	}
	if opt.Config.Mail.Mode == config.MailSMTP {
		if _, err := opt.sender(); err != nil {
			return "", err
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Configuration, %d rule packs with %d rules and the holidays hold.\n", len(book.Packs), len(book.Rules))
	for _, p := range book.Packs {
		area := p.Area
		if area == "" {
			area = "everywhere"
		}
		fmt.Fprintf(&b, "  %s (%s, %s): %d rules, read on %s, review by %s\n", p.Title, p.Layer, area, len(p.Rules), orNotSaid(p.ReadOn), orNotSaid(p.ReviewBy))
		if p.Edition == "" || p.ReadOn.IsZero() || p.ReviewBy.IsZero() {
			b.WriteString("    NOT VERIFIED: it does not say which edition was read, when, or when to read it again\n")
		}
		for _, l := range book.Lifts() {
			if l.How == compliance.Preempts && l.By.Pack == p {
				fmt.Fprintf(&b, "    %s is taken to cancel %s. %s\n", l.By.ID, l.Rule.ID, words.LegalReview)
			}
		}
	}
	if opt.Config.Mail.Mode == config.MailNone {
		b.WriteString(words.NobodyTold + "\n")
	}
	opt.settle()
	times, err := timesOf(opt.Config)
	if err != nil {
		return "", err
	}
	times.describe(&b, opt.Clock())
	return b.String(), nil
}
