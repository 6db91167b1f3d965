package daemon

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"antidotary/compliance"
	"antidotary/compliance/deed"
	"antidotary/daemon/answer"
	"antidotary/daemon/config"
	"antidotary/daemon/founding"
	"antidotary/daemon/store"
	"antidotary/notify/words"
)

// Laws lists the law packs that come along.
func Laws() ([]founding.Law, error) {
	book, err := Rulebook(config.Default())
	if err != nil {
		return nil, err
	}
	var out []founding.Law
	for _, p := range book.Packs {
		if p.Layer == compliance.Law {
			out = append(out, founding.Law{Area: p.Area, Title: p.Title})
		}
	}
	return out, nil
}

// Found makes a house in a folder: its configuration and its database. It
// writes over nothing, and leaves nothing behind where it fails.
func Found(ctx context.Context, opt Options, folder string, actor store.Actor, a *founding.Answers) (_ *FoundAnswer, err error) {
	opt.settle()
	file, database := filepath.Join(folder, "antidotary.yaml"), filepath.Join(folder, "antidotary.db")
	for _, path := range []string{file, database} {
		if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s is there already: choose another folder; a house that is recorded is changed by other commands", path)
		}
	}
	text := a.Config(filepath.Base(database))
	cfg, err := config.Parse(file, []byte(text))
	if err != nil {
		return nil, fmt.Errorf("write the configuration: %w", err)
	}
	book, err := Rulebook(cfg)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder: %w", err)
	}
	defer func() {
		if err != nil {
			removeAll(database, database+"-wal", database+"-shm", database+".lock")
		}
	}()
	opt.Config = cfg
	if err := begin(ctx, opt, actor, a); err != nil {
		return nil, err
	}
	if err := writeNew(file, []byte(text)); err != nil {
		return nil, err
	}
	return newFoundAnswer(folder, a, book), nil
}

// begin records the house as one deed.
func begin(ctx context.Context, opt Options, actor store.Actor, a *founding.Answers) (err error) {
	st, err := opt.open(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	_, err = st.Commit(ctx, actor, deed.HouseFounded(a.Records(opt.Clock())))
	return err
}

func removeAll(files ...string) {
	for _, f := range files {
		os.Remove(f)
	}
}

// FoundAnswer says what was made, and what to do next.
type FoundAnswer struct {
	answer.Telling
	Format    int      `json:"format"`
	House     string   `json:"house"`
	Folder    string   `json:"folder"`
	NoLawPack []string `json:"no_law_pack"` // sites of which nobody can tell whether they are lawful
	NoAddress []string `json:"no_address"`  // people who cannot be mailed
	Watched   int      `json:"not_watched_days"`
	Password  string   `json:"password_file,omitempty"` // to be written by hand
	Second    bool     `json:"second_contact"`
}

func newFoundAnswer(folder string, a *founding.Answers, book *compliance.Rulebook) *FoundAnswer {
	out := &FoundAnswer{Format: answer.Format, House: a.House, Folder: folder, Watched: a.Until, NoLawPack: []string{}, NoAddress: []string{}}
	out.NobodyTold = a.Mail.Host == ""
	_, out.Second = a.People[compliance.SecondContact]
	for _, s := range a.Sites {
		if s.Law == "" || !book.HasLaw(s.Law) {
			out.NoLawPack = append(out.NoLawPack, s.Name)
		}
	}
	for _, role := range compliance.Roles {
		if p, ok := a.People[role]; ok && p.Email == "" {
			out.NoAddress = append(out.NoAddress, p.Name)
		}
	}
	if a.Mail.Username != "" {
		out.Password = founding.PasswordFile
	}
	return out
}

// WriteText prints the answer for a terminal.
func (f *FoundAnswer) WriteText(w io.Writer) error {
	say := func(format string, args ...any) {
		fmt.Fprint(w, words.Wrapped(fmt.Sprintf(format, args...), 88))
	}
	say("%s is founded, in %s: antidotary.yaml and antidotary.db.", f.House, f.Folder)
	for _, site := range f.NoLawPack {
		say("No law pack speaks for %s yet: whether it is lawful cannot be told. README.md says how packs are added.", site)
	}
	if len(f.NoAddress) > 0 {
		say("Cannot be mailed: %s.", words.Few(f.NoAddress, 6))
	}
	if !f.Second {
		say("Nobody outside the house is told when something was missed: antidotary person joined NAME --role second-contact --email ADDRESS.")
	}
	if f.Watched > 0 {
		say("For %s nothing here reads as in order, because not everything is recorded yet.", words.Count(f.Watched, "day"))
	}
	fmt.Fprintf(w, "\nNext, in that folder:\n")
	if f.Password != "" {
		fmt.Fprintf(w, "  write the password of the mail server into %s (chmod 600), then antidotary mail test\n", f.Password)
	}
	fmt.Fprint(w, "  antidotary import --template lists   lists to fill in: animals, papers, vials, sessions\n"+
		"  antidotary import lists --dry-run    what would happen\n"+
		"  antidotary check                     what is out of order, and what cannot be told\n"+
		"  antidotary list kept papers --as WHO once nothing is missing: then a missing record proves something\n"+
		"  antidotary serve                     the watch\n")
	say("%s", words.Caution)
	return nil
}
