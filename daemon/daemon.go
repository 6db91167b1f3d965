package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"antidotary/daemon/config"
	"antidotary/daemon/confirm"
	"antidotary/daemon/jobs"
	"antidotary/daemon/mailroom"
	"antidotary/daemon/metrics"
	"antidotary/daemon/store"
	"antidotary/daemon/sweep"
	"antidotary/daemon/web"
	"antidotary/notify"
)

// Daemon is the running watch.
type Daemon struct {
	opt      Options
	log      *slog.Logger
	store    *store.Store
	sweeper  *sweep.Sweeper
	room     *mailroom.Room // nil in a house without mail
	confirm  *confirm.Confirmer
	runner   *jobs.Runner
	times    times
	shown    shown
	metrics  *metrics.Collector
	listener net.Listener

	intervals struct {
		mu sync.Mutex
		of map[string]interval
	}

	work     sync.WaitGroup
	stop     context.CancelFunc
	closers  []closer
	stopOnce sync.Once
	stopErr  error
}

// closer undoes one step of the start.
type closer struct {
	name  string
	close func(context.Context) error
}

// New makes a daemon: it reads rules and opens the database, and starts
// nothing.
func New(opt Options) (*Daemon, error) {
	opt.settle()
	d := &Daemon{opt: opt, log: opt.log()}
	book, err := Rulebook(opt.Config)
	if err != nil {
		return nil, err
	}
	if d.times, err = timesOf(opt.Config); err != nil {
		return nil, err
	}
	if d.store, err = opt.open(context.Background()); err != nil {
		return nil, err
	}
	d.closers = append(d.closers, closer{"database", func(context.Context) error { return d.store.Close() }})
	d.runner = &jobs.Runner{Slots: d.store, Worker: worker(), Log: d.log, Ran: d.ran}
	d.metrics = metrics.New()
	from := notify.From{Name: opt.Config.Mail.FromName, Address: opt.Config.Mail.From}
	d.sweeper = &sweep.Sweeper{Store: d.store, Book: book, Clock: opt.Clock, Engine: Engine, Sender: from, Waits: d.times.waits(d.times.sweep)}
	d.confirm = &confirm.Confirmer{Store: d.store, Book: book, Clock: opt.Clock, Sender: from, Jobs: jobNames, Waits: d.times.waits(d.times.confirm),
		Next: func(after time.Time) time.Time { return d.times.confirm.NextIn(after, d.zones()...) }}
	if opt.Config.Mail.Mode == config.MailSMTP {
		sender, err := opt.sender()
		if err != nil {
			return nil, errors.Join(err, d.Stop(context.Background()))
		}
		d.room = &mailroom.Room{Outbox: d.store, Sender: sender, From: opt.Config.Mail.Bounce, Clock: opt.Clock, Log: d.log}
	}
	return d, nil
}

// Start binds the page's address, makes a sweep, sends what is due, and goes
// on by schedule until Stop. Its error leaves nothing running.
func (d *Daemon) Start(ctx context.Context) error {
	var err error
	if d.listener, err = net.Listen("tcp", d.opt.Config.Listen); err != nil {
		return errors.Join(fmt.Errorf("listen for the page: %w", err), d.Stop(ctx))
	}
	server := &http.Server{Handler: web.Handler(&d.shown, d.metrics.Handler()), ReadHeaderTimeout: 10 * time.Second, ErrorLog: slog.NewLogLogger(d.log.Handler(), slog.LevelWarn)}
	d.work.Go(func() {
		if err := server.Serve(d.listener); !errors.Is(err, http.ErrServerClosed) {
			d.log.Error("page stopped", "error", err)
		}
	})
	d.closers = append(d.closers, closer{"page", server.Shutdown})
	if err := d.first(ctx); err != nil {
		return errors.Join(err, d.Stop(ctx))
	}
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	d.stop = cancel
	for _, job := range d.jobs() {
		d.work.Go(func() { d.runner.Loop(run, job) })
	}
	d.work.Go(func() { d.loop(run) })
	return nil
}

// Addr gives the page's host:port; empty before Start.
func (d *Daemon) Addr() string {
	if d.listener == nil {
		return ""
	}
	return d.listener.Addr().String()
}

// Sweep makes one sweep now and sends what it queued. A mail server that does
// not answer is no error of the sweep: the mails stay in the outbox.
func (d *Daemon) Sweep(ctx context.Context) error {
	result, err := d.sweeper.Run(ctx)
	if err != nil {
		return err
	}
	d.log.Info("swept", "duties", len(result.Report.Judgements), "changes", len(result.Transitions), "open", len(result.Open), "mails", len(result.Mails))
	for _, u := range result.Outcome.Unreachable {
		d.log.Warn("nobody can be told of a finding", "requirement", u.Finding.Key.Requirement, "role", u.Role)
	}
	d.shown.swept(result)
	d.deliver(ctx)
	return nil
}

func (d *Daemon) deliver(ctx context.Context) {
	if d.room == nil {
		return
	}
	if _, err := d.room.Round(ctx); err != nil {
		d.log.Error("mail does not move", "error", err)
	}
}

// Stop lets what is running finish and closes everything in reverse. It may
// be called more than once.
func (d *Daemon) Stop(ctx context.Context) error {
	d.stopOnce.Do(func() {
		if d.stop != nil {
			d.stop()
		}
		for i := len(d.closers) - 1; i >= 0; i-- {
			c := d.closers[i]
			if c.name == "database" { // last: nothing may use it any more
				d.work.Wait()
			}
			if err := c.close(ctx); err != nil {
				d.stopErr = errors.Join(d.stopErr, fmt.Errorf("close %s: %w", c.name, err))
			}
		}
	})
	return d.stopErr
}
