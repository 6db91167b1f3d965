package daemon

import (
	"context"
	"log/slog"

	"antidotary/daemon/config"
	"antidotary/daemon/jobs"
)

// log makes the log: lines of text, or of JSON where the configuration says
// so. It never holds a name, an address or a password: findings, mails and
// runs are named by their codes and identifiers.
func (o *Options) log() *slog.Logger {
	how := &slog.HandlerOptions{Level: o.least}
	if o.Config.Log == config.LogJSON {
		return slog.New(ofRun{slog.NewJSONHandler(o.Err, how)})
	}
	return slog.New(ofRun{slog.NewTextHandler(o.Err, how)})
}

// ofRun adds job, slot and attempt to each line that is written within the run
// of a job.
type ofRun struct{ slog.Handler }

// Handle implements slog.Handler.
func (h ofRun) Handle(ctx context.Context, r slog.Record) error {
	if run, ok := jobs.RunOf(ctx); ok {
		r = r.Clone()
		r.AddAttrs(slog.String("job", run.Job), slog.Time("slot", run.Slot), slog.Int("attempt", run.Attempts))
	}
	return h.Handler.Handle(ctx, r)
}

// WithAttrs implements slog.Handler.
func (h ofRun) WithAttrs(attrs []slog.Attr) slog.Handler { return ofRun{h.Handler.WithAttrs(attrs)} }

// WithGroup implements slog.Handler.
func (h ofRun) WithGroup(name string) slog.Handler { return ofRun{h.Handler.WithGroup(name)} }
