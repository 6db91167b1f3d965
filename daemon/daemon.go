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
	alive    alive
	probes   probes
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
	d := &Daemon{opt: opt, log: opt.log(), alive: alive{clock: opt.Clock}, shown: shown{clock: opt.Clock}}
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
	d.runner = &jobs.Runner{Slots: slotsAlive{d.store, &d.alive}, Worker: worker(), Log: d.log, Ran: d.ran}
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
		d.room = &mailroom.Room{Outbox: outboxAlive{d.store, &d.alive}, Sender: sender, From: opt.Config.Mail.Bounce, Clock: opt.Clock, Log: d.log}
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
	starting := d.alive.begin(ctx, "first sweep", limits[jobSweep]+patience)
	server := &http.Server{Handler: web.WithHealth(web.Handler(&d.shown, d.metrics.Handler()), d.healthy, d.ready), ReadHeaderTimeout: 10 * time.Second, ErrorLog: slog.NewLogLogger(d.log.Handler(), slog.LevelWarn)}
	d.work.Go(func() {
		if err := server.Serve(d.listener); !errors.Is(err, http.ErrServerClosed) {
			d.log.Error("page stopped", "error", err)
		}
	})
	d.closers = append(d.closers, closer{"page", server.Shutdown})
	if err := d.first(starting); err != nil {
		return errors.Join(err, d.Stop(ctx))
	}
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	d.stop = cancel
	for _, job := range d.jobs() {
		loop := d.alive.begin(run, job.Name, idle)
		d.work.Go(func() { d.runner.Loop(loop, job) })
	}
	loop := d.alive.begin(run, "mail and page", idle)
	d.work.Go(func() { d.loop(loop) })
	d.alive.end(starting)
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
	if _, err := d.sweep(ctx); err != nil {
		return err
	}
	if err := d.deliver(ctx); err != nil {
		d.log.ErrorContext(ctx, "mail does not move", "error", err)
	}
	return nil
}

// sweep makes one sweep now. Whatever must follow each sweep, by whatever
// command it is made, has its call here.
func (d *Daemon) sweep(ctx context.Context) (*sweep.Result, error) {
	result, err := d.sweeper.Run(ctx)
	if err != nil {
		return nil, err
	}
	d.log.InfoContext(ctx, "swept", "duties", len(result.Report.Judgements), "changes", len(result.Transitions), "open", len(result.Open), "mails", len(result.Mails))
	for _, u := range result.Outcome.Unreachable {
		d.log.WarnContext(ctx, "nobody can be told of a finding", "requirement", u.Finding.Key.Requirement, "role", u.Role)
	}
	d.shown.swept(result)
	d.week(result)
	return result, nil
}

// deliver sends every mail that is due.
func (d *Daemon) deliver(ctx context.Context) error {
	if d.room == nil {
		return nil
	}
	_, err := d.room.Round(ctx)
	return err
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
