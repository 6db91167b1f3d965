package daemon

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"antidotary/daemon/answer"
	"antidotary/daemon/intake"
	"antidotary/notify/words"
)

// ExportAnswer says what an export wrote.
type ExportAnswer struct {
	answer.Telling
	Format   int            `json:"format"`
	To       string         `json:"to"`
	Lists    []ExportedList `json:"lists"`
	Position int64          `json:"position"` // of the journal
}

// ExportedList counts the records of one list.
type ExportedList struct {
	List    string `json:"list"`
	Records int    `json:"records"`
}

// Export writes the current records into a new folder of CSV files, or into a
// new workbook, beside a daemon that writes to the database. The files appear
// under their name when all of them are on the disk; nothing is overwritten.
func Export(ctx context.Context, opt Options, to string) (*ExportAnswer, error) {
	opt.settle()
	write, err := exportInto(to)
	if err != nil {
		return nil, err
	}
	if err := free(to); err != nil {
		return nil, err
	}
	st, err := opt.asked(ctx)
	if err != nil {
		return nil, err
	}
	defer st.Close()
	view, err := st.Read(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the records: %w", err)
	}
	lists := intake.NewExport(view.Snapshot)
	if err := publish(to, func(partial string) error { return write(partial, lists) }); err != nil {
		return nil, err
	}
	out := &ExportAnswer{Format: answer.Format, To: to, Position: view.Head.Position}
	for _, l := range lists.Lists() {
		out.Lists = append(out.Lists, ExportedList{l.Name, l.Records})
	}
	return out, nil
}

// exportInto says how to write what a name means.
func exportInto(to string) (func(string, *intake.Export) error, error) {
	switch ext := strings.ToLower(filepath.Ext(to)); ext {
	case ".xlsx":
		return exportBook, nil
	case ".csv", ".tsv", ".txt", ".xls", ".xlsm", ".ods":
		return nil, fmt.Errorf("%s: an export is a folder of CSV files, or one workbook that ends in .xlsx", to)
	}
	return exportFolder, nil
}

// publish makes something under another name in the same folder, and gives it
// its own when it is whole.
func publish(to string, make func(partial string) error) (err error) {
	room, err := os.MkdirTemp(filepath.Dir(to), "."+filepath.Base(to)+".partial-")
	if err != nil {
		return fmt.Errorf("make room for the export: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(room)) }()
	partial := filepath.Join(room, filepath.Base(to))
	if err := make(partial); err != nil {
		return err
	}
	if err := free(to); err != nil { // somebody else's, meanwhile
		return err
	}
	if err := os.Rename(partial, to); err != nil {
		return fmt.Errorf("name the export: %w", err)
	}
	return nil
}

// free refuses to overwrite.
func free(to string) error {
	switch _, err := os.Lstat(to); {
	case err == nil:
		return fmt.Errorf("%s is there already, and an export overwrites nothing: choose another name", to)
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("look for %s: %w", to, err)
	}
	return nil
}

func exportBook(file string, lists *intake.Export) error {
	return written(file, lists.WriteBook)
}

func exportFolder(folder string, lists *intake.Export) error {
	if err := os.Mkdir(folder, 0o700); err != nil {
		return fmt.Errorf("make the folder: %w", err)
	}
	for _, l := range lists.Lists() {
		if err := written(filepath.Join(folder, l.Name+".csv"), func(w io.Writer) error { return lists.WriteCSV(w, l.Name) }); err != nil {
			return err
		}
	}
	return written(filepath.Join(folder, "columns.txt"), func(w io.Writer) error {
		_, err := io.WriteString(w, intake.Explained())
		return err
	})
}

// written writes a new file that nobody else may read, to the disk.
func written(file string, write func(io.Writer) error) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write a new file: %w", err)
	}
	buffer := bufio.NewWriter(f)
	if err = write(buffer); err == nil {
		err = buffer.Flush()
	}
	if err == nil {
		err = f.Sync()
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", filepath.Base(file), err), f.Close())
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(file), err)
	}
	return nil
}

// WriteText prints the answer for a terminal.
func (x *ExportAnswer) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "The current records are in %s, as of %d in the journal:\n", x.To, x.Position)
	for _, l := range x.Lists {
		fmt.Fprintf(&b, "  %-12s %d\n", l.List, l.Records)
	}
	fmt.Fprintf(&b, "The journal is not in it: antidotary backup keeps that.\nSee what an edited list would change: antidotary import %s --dry-run\n%s\n", x.To, words.Caution)
	_, err := io.WriteString(w, b.String())
	return err
}
