package daemon

import (
	"context"
	"fmt"
	"time"

	sdnotify "github.com/coreos/go-systemd/v22/daemon"

	"antidotary/daemon/web"
)

// Supervise waits until the context ends, and tells a service manager that
// listens (sd_notify(3); Type=notify) how it goes meanwhile: that the watch is
// ready, for Start has swept; with a watchdog that it lives, at half the
// interval, and only while every loop goes round; and that it stops.
func (d *Daemon) Supervise(ctx context.Context) {
	d.tell(fmt.Sprintf("%s\nSTATUS=watches; page http://%s/", sdnotify.SdNotifyReady, d.Addr()))
	defer d.tell(sdnotify.SdNotifyStopping)
	limit, err := sdnotify.SdWatchdogEnabled(false)
	if err != nil {
		d.log.Error("the service manager's watchdog cannot be understood: it hears nothing", "error", err)
	}
	if limit <= 0 {
		<-ctx.Done()
		return
	}
	tick := time.NewTicker(limit / 2)
	defer tick.Stop()
	for {
		d.watchdog(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func (d *Daemon) watchdog(ctx context.Context) {
	checks := d.healthy(ctx)
	if web.Healthy(checks) {
		d.tell(sdnotify.SdNotifyWatchdog)
		return
	}
	for _, c := range checks {
		if c.State != web.HealthOK {
			d.log.Error("a loop is stuck: the watchdog hears nothing", "loop", c.Name, "why", c.Why)
		}
	}
}

func (d *Daemon) tell(state string) {
	if _, err := sdnotify.SdNotify(false, state); err != nil {
		d.log.Error("the service manager cannot be told", "error", err)
	}
}
