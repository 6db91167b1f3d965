package daemon

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"

	"antidotary/compliance"
	"antidotary/daemon/answer"
	"antidotary/daemon/config"
	"antidotary/daemon/sweep"
	"antidotary/daemon/week"
	"antidotary/inventory/day"
	"antidotary/notify/words"
)

// The files of a week, in the folder for them.
const (
	sheetFile    = "week.html"
	calendarFile = "duties.ics"
)

// WeekAnswer says what was written.
type WeekAnswer struct {
	Format int `json:"format"`
	answer.Telling
	From     day.Day `json:"from"`
	Until    day.Day `json:"until"`
	Sheet    string  `json:"sheet"`    // file
	Calendar string  `json:"calendar"` // file
	Now      int     `json:"now"`      // tasks that are overdue or due at once
	Due      int     `json:"due"`      // tasks of the seven days
	Unknown  int     `json:"unknown"`  // tasks about what cannot be told
	Entry    int64   `json:"entry"`    // of the journal: the state of the records; 0: none
}

// WriteText prints the answer for a terminal.
func (w *WeekAnswer) WriteText(out io.Writer) error {
	_, err := fmt.Fprintf(out, "%s to %s: %s overdue or due at once, %s due in these seven days, %s about what cannot be told.\nTo print:        %s\nFor a calendar:  %s\n",
		words.Day(w.From), words.Day(w.Until), words.Count(w.Now, "task"), words.Count(w.Due, "task"), words.Count(w.Unknown, "task"), w.Sheet, w.Calendar)
	return err
}

// Week writes the week sheet and the calendar into a folder, which is made if
// it is not there, from the records as they are now or of a demo house. Files
// that are there already are replaced.
func Week(ctx context.Context, opt Options, q Question, folder string) (*WeekAnswer, error) {
	opt.settle()
	book, err := Rulebook(opt.Config)
	if err != nil {
		return nil, err
	}
	records, entry, err := weekRecords(ctx, opt, book, q)
	if err != nil {
		return nil, err
	}
	times, err := timesOf(opt.Config)
	if err != nil {
		return nil, err
	}
	now := opt.Clock()
	made := week.Made{At: now, Zone: times.houseZone(records), Entry: entry, NobodyTold: q.Demo == "" && opt.Config.Mail.Mode == config.MailNone}
	w := week.Of(compliance.Evaluate(book, records, compliance.Ask{Now: now, On: q.On}), made)
	if err := writeWeek(w, folder); err != nil {
		return nil, err
	}
	out := &WeekAnswer{Format: answer.Format, Telling: answer.Telling{NobodyTold: w.NobodyTold}, From: w.From, Until: w.Until, Now: len(w.Now), Unknown: len(w.Unknown), Entry: entry,
		Sheet: filepath.Join(folder, sheetFile), Calendar: filepath.Join(folder, calendarFile)}
	for _, d := range w.Days {
		out.Due += len(d.Tasks)
	}
	return out, nil
}

// weekRecords reads what a question is asked of, and at which entry the
// journal is.
func weekRecords(ctx context.Context, opt Options, book *compliance.Rulebook, q Question) (*compliance.Snapshot, int64, error) {
	if q.Demo != "" {
		s, err := records(ctx, opt, book, q)
		return s, 0, err
	}
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, 0, err
	}
	defer st.Close()
	view, err := st.Read(ctx)
	if err != nil {
		return nil, 0, fmt.Errorf("read the records: %w", err)
	}
	return view.Snapshot, view.Head.Position, nil
}

// week writes the week after a sweep, where the configuration names a folder
// for it. A sweep goes on without: whoever looks at the old sheet sees how old
// it is.
func (d *Daemon) week(r *sweep.Result) {
	folder := d.opt.Config.WeekFolder
	if folder == "" {
		return
	}
	made := week.Made{At: r.Report.View.Ask.Now, Zone: d.times.houseZone(r.Report.View.Snapshot), Entry: r.Entry, NobodyTold: d.opt.Config.Mail.Mode == config.MailNone}
	if err := writeWeek(week.Of(r.Report, made), folder); err != nil {
		d.log.Error("the week sheet and the calendar were not written: those in the folder are old", "error", err)
		return
	}
	d.log.Info("wrote the week sheet and the calendar", "folder", folder)
}

func writeWeek(w *week.Week, folder string) error {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return fmt.Errorf("make the folder for the week: %w", err)
	}
	for name, write := range map[string]func(io.Writer) error{sheetFile: w.WriteSheet, calendarFile: w.WriteCalendar} {
		var text bytes.Buffer
		if err := write(&text); err != nil {
			return err
		}
		if err := replace(filepath.Join(folder, name), text.Bytes()); err != nil {
			return fmt.Errorf("write %s: %w", name, err)
		}
	}
	return nil
}

// replace puts a whole new file in the place of an old one, for its owner
// alone: a reader sees the old or the new, and a machine that stops in between
// leaves one of them.
func replace(file string, text []byte) (err error) {
	folder := filepath.Dir(file)
	f, err := os.CreateTemp(folder, "."+filepath.Base(file)+"-*") // made with 0600
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	if _, err := f.Write(text); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), file); err != nil {
		return err
	}
	return syncFolder(folder)
}

// syncFolder makes a rename last. Windows has no such call for folders.
func syncFolder(folder string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(folder)
	if err != nil {
		return nil // it may be written to and not read; the rename is done
	}
	defer f.Close()
	return f.Sync()
}
