package daemon

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"antidotary/compliance"
	"antidotary/daemon/config"
	"antidotary/daemon/demo"
	"antidotary/daemon/store"
	"antidotary/notify/mailbox"
)

// DemoOptions says which demo to run and how.
type DemoOptions struct {
	House string // full or small
	Once  bool   // print and end
	Keep  string // new folder in which the database stays; empty: nothing stays
	Clock func() time.Time
	Out   io.Writer
	Err   io.Writer
}

// Demo runs the whole watch on a fictional house: records in a database,
// rules from files, findings, mail over SMTP to a mailbox in this process,
// one page. It ends with ctx, and then nothing of it is left, unless Keep.
func Demo(ctx context.Context, opt DemoOptions) (err error) {
	folder, remove, err := demoFolder(opt.Keep)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, remove()) }()
	run := &demoRun{opt: opt, folder: folder}
	defer func() { err = errors.Join(err, run.close()) }()
	if err := run.open(ctx); err != nil {
		return err
	}
	if err := run.show(ctx); err != nil || opt.Once {
		return err
	}
	fmt.Fprintf(opt.Out, "\nThe page, with the mails, until Ctrl-C:  http://%s/\n", run.daemon.Addr())
	<-ctx.Done()
	fmt.Fprintln(opt.Out, "\nThe demo ends.")
	return nil
}

func demoFolder(keep string) (folder string, remove func() error, err error) {
	if keep == "" {
		folder, err = os.MkdirTemp("", "antidotary-demo-")
		return folder, func() error { return os.RemoveAll(folder) }, err
	}
	if err := os.Mkdir(keep, 0o700); err != nil {
		return "", nil, fmt.Errorf("make the folder to keep the demo in: %w", err)
	}
	return keep, func() error { return nil }, nil
}

type demoRun struct {
	opt    DemoOptions
	folder string
	box    *mailbox.Mailbox
	daemon *Daemon
	mailed bool
}

// open records the house in a new database and starts the watch on it.
func (r *demoRun) open(ctx context.Context) error {
	opt := Options{Config: config.Default(), Clock: r.opt.Clock, Out: r.opt.Out}
	opt.settle()
	cfg := &opt.Config
	cfg.Database = filepath.Join(r.folder, "antidotary.db")
	book, err := Rulebook(*cfg)
	if err != nil {
		return err
	}
	house, err := demoHouse(r.opt.House, opt, book)
	if err != nil {
		return err
	}
	if err := record(ctx, opt, house); err != nil {
		return err
	}
	if r.opt.Keep != "" {
		kept := fmt.Sprintf("format: 1\ndatabase: %s\n", filepath.Base(cfg.Database))
		if err := os.WriteFile(filepath.Join(r.folder, "antidotary.yaml"), []byte(kept), 0o600); err != nil {
			return fmt.Errorf("write the configuration: %w", err)
		}
	}
	r.mailed = r.opt.House == "full"
	if r.mailed {
		if r.box, err = mailbox.Start(mailbox.Options{Security: mailbox.ImplicitTLS}); err != nil {
			return err
		}
		opt.RootCAs = r.box.CertPool()
		cfg.Mail = config.Mail{Mode: config.MailSMTP, Host: r.box.Host(), Port: r.box.Port(), Security: "tls",
			From: "watch@antidotary.example", FromName: "antidotary", Bounce: "watch@antidotary.example"}
	}
	cfg.Listen = "127.0.0.1:0"
	if r.daemon, err = New(opt); err != nil {
		return err
	}
	r.daemon.shown.box = r.box
	return r.daemon.Start(ctx)
}

// record puts the house into a new database, as one change.
func record(ctx context.Context, opt Options, house compliance.Batch) (err error) {
	st, err := opt.open(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	if _, err := st.Commit(ctx, store.Actor{ID: "demo", Name: "the demo"}, house); err != nil {
		return fmt.Errorf("record the demo house: %w", err)
	}
	return nil
}

// show prints what the watch found and what it mailed.
func (r *demoRun) show(ctx context.Context) error {
	out := r.opt.Out
	fmt.Fprintf(out, "A fictional house: people, places and numbers are invented; species, antivenom\ntypes and the cited rules are real. Swept once, as it would be each morning.\n\n")
	if err := r.daemon.shown.Check().WriteText(out); err != nil {
		return err
	}
	if r.mailed {
		r.showMails(out)
	}
	fmt.Fprintf(out, "\nWhat to look at (from the source folder, write go run ./cmd/antidotary for antidotary):\n")
	flag := "--demo"
	if r.opt.House != "full" {
		flag += "=" + r.opt.House
	}
	for _, c := range demo.Cases(r.opt.House) {
		fmt.Fprintf(out, "  antidotary explain %s %q\n      %s\n", flag, c.Subject, c.Why)
	}
	fmt.Fprintf(out, "  antidotary ahead %s\n      what lapses next if nobody does anything\n", flag)
	return ctx.Err()
}

func (r *demoRun) showMails(out io.Writer) {
	mails := r.box.Messages()
	fmt.Fprintf(out, "\n%d mails arrived over SMTP with TLS:\n", len(mails))
	longest := 0
	for i, m := range mails {
		fmt.Fprintf(out, "  to %s: %s\n", m.To[0], m.Subject)
		if len(m.Text) > len(mails[longest].Text) {
			longest = i
		}
	}
	if len(mails) > 0 {
		fmt.Fprintf(out, "\nOne of them, to %s:\n\n%s\n", mails[longest].To[0], indented(mails[longest].Text))
	}
}

func (r *demoRun) close() (err error) {
	if r.daemon != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		err = r.daemon.Stop(ctx)
	}
	if r.box != nil {
		err = errors.Join(err, r.box.Close())
	}
	return err
}
