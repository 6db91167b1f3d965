package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/answer"
	"antidotary/daemon/intake"
	"antidotary/daemon/store"
)

// ImportRequest says what to import and how.
type ImportRequest struct {
	intake.Settings        // but for Mapping, Now, Classes and Progress
	From            string // a folder of CSV files, one CSV file, or a workbook
	Actor           store.Actor
	Dates           string   // the declared order: dmy, mdy or ymd
	Accept          []string // WRITTEN=MEANS
	Map, SaveMap    string   // mapping files to read and to write
	DryRun          bool
	AllOrNothing    bool
}

// Import makes records of somebody's spreadsheet, all good rows as one change,
// and writes the refused rows into new files beside it.
func Import(ctx context.Context, opt Options, req ImportRequest) (*ImportAnswer, error) {
	opt.settle()
	mapping, err := req.mapping()
	if err != nil {
		return nil, err
	}
	src, err := readSource(req.From)
	if err != nil {
		return nil, err
	}
	if req.DryRun {
		return opt.preview(ctx, req, src, mapping)
	}
	st, err := opt.beside(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	view, err := st.Read(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the records: %w", err)
	}
	out, plan, err := opt.planned(req, src, view.Snapshot, mapping)
	if err != nil || req.AllOrNothing && len(plan.Refusals()) > 0 {
		return out, err
	}
	if err := out.record(ctx, opt, st, req, plan); err != nil || len(plan.Sessions()) == 0 {
		return out, err
	}
	if view, err = st.Read(ctx); err != nil {
		return nil, fmt.Errorf("read which sessions count: %w: the rows themselves are recorded; antidotary ladder NAME says it", err)
	}
	return out, out.count(&opt, plan, view.Snapshot)
}

// count says which sessions of a plan count, by the records after it.
func (a *ImportAnswer) count(opt *Options, plan *intake.Plan, after *compliance.Snapshot) error {
	taken := plan.Sessions()
	if len(taken) == 0 {
		return nil
	}
	book, err := Rulebook(opt.Config)
	if err != nil {
		return err
	}
	a.Sessions = answer.NewTakenSessions(compliance.NewView(book, after, compliance.Ask{Now: opt.Clock()}), taken)
	return nil
}

// preview says what an import would do. Where the database's file is not there
// yet, it would be made.
func (o *Options) preview(ctx context.Context, req ImportRequest, src *intake.Source, mapping *intake.Mapping) (*ImportAnswer, error) {
	was := &compliance.Snapshot{}
	_, err := os.Stat(o.Config.Database)
	unmade := !store.IsServer(o.Config.Database) && errors.Is(err, fs.ErrNotExist)
	if !unmade {
		st, err := o.asked(ctx)
		if err != nil {
			return nil, err
		}
		defer st.Close()
		view, err := st.Read(ctx)
		if err != nil {
			return nil, fmt.Errorf("read the records: %w", err)
		}
		was = view.Snapshot
	}
	out, plan, err := o.planned(req, src, was, mapping)
	if err != nil {
		return nil, err
	}
	if unmade {
		out.Assumed = append(out.Assumed, fmt.Sprintf("There is no database %s yet: an import makes it.", o.Config.Database))
	}
	after, err := plan.Try(was)
	if err != nil || req.AllOrNothing && len(plan.Refusals()) > 0 {
		return out, err
	}
	return out, out.count(o, plan, after)
}

// planned makes a plan, and the mapping file where one is wanted.
func (o *Options) planned(req ImportRequest, src *intake.Source, was *compliance.Snapshot, mapping *intake.Mapping) (*ImportAnswer, *intake.Plan, error) {
	book, err := Rulebook(o.Config)
	if err != nil {
		return nil, nil, err
	}
	req.Classes = book.Classes()
	req.Settings.Mapping, req.Settings.Now, req.Settings.Progress = mapping, o.Clock(), o.progress()
	plan, err := intake.NewPlan(src, was, req.Settings)
	if err != nil {
		return nil, nil, err
	}
	out := newImportAnswer(plan)
	if req.SaveMap != "" {
		if err := saveMapping(req, &plan.Mapping); err != nil {
			return nil, nil, err
		}
		out.Mapping = req.SaveMap
	}
	return out, plan, nil
}

// record writes the refused rows down and commits the rest. Where the commit
// fails, the files of refused rows go again.
func (a *ImportAnswer) record(ctx context.Context, opt Options, st *store.Store, req ImportRequest, plan *intake.Plan) (err error) {
	if a.Rejects, err = writeRejects(req.From, plan); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			for _, file := range a.Rejects {
				err = errors.Join(err, os.Remove(file))
			}
		}
	}()
	if len(plan.Batch) == 0 {
		return nil
	}
	if n := len(plan.Batch); n >= manyRecords {
		fmt.Fprintf(opt.Err, "recording %d records\n", n)
	}
	head, err := st.Commit(ctx, req.Actor, deed.Imported(plan.Batch))
	if refusal := new(compliance.Refusal); errors.As(err, &refusal) {
		return fmt.Errorf("record the import: %w: nothing was recorded; the records may have changed meanwhile, so try again", err)
	}
	if err != nil {
		return fmt.Errorf("record the import: %w", err)
	}
	a.Recorded, a.Position = len(plan.Batch), head.Position
	return nil
}

// manyRecords is from how many on a commit is announced.
const manyRecords = 5000

func (r *ImportRequest) mapping() (*intake.Mapping, error) {
	m := &intake.Mapping{}
	if r.Map != "" {
		data, err := os.ReadFile(r.Map)
		if err != nil {
			return nil, fmt.Errorf("read the mapping file: %w", err)
		}
		if m, err = intake.ReadMapping(r.Map, data); err != nil {
			return nil, err
		}
	}
	if r.Dates != "" {
		order, err := intake.ParseOrder(r.Dates)
		if err != nil {
			return nil, fmt.Errorf("--dates: %w", err)
		}
		m.Dates = order
	}
	for _, pair := range r.Accept {
		if err := m.Agree(pair); err != nil {
			return nil, fmt.Errorf("--accept: %w", err)
		}
	}
	return m, nil
}

func readSource(from string) (*intake.Source, error) {
	info, err := os.Stat(from)
	if err != nil {
		return nil, fmt.Errorf("find what to import: %w", err)
	}
	if info.IsDir() {
		return intake.ReadFolder(os.DirFS(from))
	}
	data, err := os.ReadFile(from)
	if err != nil {
		return nil, fmt.Errorf("read what to import: %w", err)
	}
	return intake.Read(filepath.Base(from), data)
}

// saveMapping writes the mapping into a new file, or again into the one that
// was read.
func saveMapping(req ImportRequest, m *intake.Mapping) error {
	data, err := m.Bytes()
	if err != nil {
		return err
	}
	if req.SaveMap == req.Map {
		if err := os.WriteFile(req.SaveMap, data, 0o600); err != nil {
			return fmt.Errorf("write the mapping file: %w", err)
		}
		return nil
	}
	return writeNew(req.SaveMap, data)
}

// writeNew writes a file that is not there yet.
func writeNew(file string, data []byte) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write a new file: %w", err)
	}
	if _, err = f.Write(data); err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", file, err), f.Close())
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	return nil
}

// writeRejects writes the refused rows of each list beside the source, into a
// file that is not there yet: animals.rejects.csv, animals.rejects-2.csv.
func writeRejects(from string, plan *intake.Plan) (files []string, err error) {
	folder := from
	if info, err := os.Stat(from); err == nil && !info.IsDir() {
		folder = filepath.Dir(from)
	}
	for _, t := range plan.Tables {
		data, err := plan.Rejects(t)
		if err != nil {
			return files, err
		}
		if data == nil {
			continue
		}
		file := filepath.Join(folder, t.RejectsName()+".csv")
		for n := 2; ; n++ {
			if err = writeNew(file, data); !errors.Is(err, fs.ErrExist) {
				break
			}
			file = filepath.Join(folder, fmt.Sprintf("%s-%d.csv", t.RejectsName(), n))
		}
		if err != nil {
			return files, err
		}
		files = append(files, file)
	}
	return files, nil
}

// progress tells about once a second how far a long import is.
func (o *Options) progress() func(done, of int) {
	last := o.Clock()
	return func(done, of int) {
		const asked = 256 // rows between two looks at the clock
		if done%asked != 0 {
			return
		}
		if now := o.Clock(); now.Sub(last) >= time.Second {
			last = now
			fmt.Fprintf(o.Err, "read %d of %d rows\n", done, of)
		}
	}
}

// newImportAnswer tells a plan.
func newImportAnswer(plan *intake.Plan) *ImportAnswer {
	a := &ImportAnswer{Format: answer.Format, NotRead: append([]intake.Note{}, plan.NotRead...), Assumed: append([]string{}, plan.Assumed...),
		Lists: []ImportedList{}, Changes: []ImportedChange{}, Refused: []string{},
		Made: []ImportedRecord{}, Rejects: []string{}}
	for _, t := range plan.Tables {
		n := plan.Counts(t)
		a.Lists = append(a.Lists, ImportedList{t.List.Name, t.Title(), n[intake.New], n[intake.Changed], n[intake.Same], n[intake.Refused]})
	}
	for _, rec := range plan.Made {
		a.Made = append(a.Made, ImportedRecord{rec.Ref().Kind.String(), rec.Name()})
	}
	for _, e := range plan.Entries {
		if e.Fate == intake.Changed {
			a.Changes = append(a.Changes, ImportedChange{e.Table.List.Name, e.Name, e.Diffs})
		}
	}
	for _, m := range plan.Refusals() {
		a.Refused = append(a.Refused, m.Error())
	}
	a.Unread, a.exported = len(plan.Sheets), plan.Exported
	return a
}
