package daemon

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"antidotary/daemon/answer"
	"antidotary/daemon/store"
)

// CopyAnswer says what a backup, a restore or a move took over.
type CopyAnswer struct {
	Format int `json:"format"`
	answer.Telling
	From     string           `json:"from"`
	To       string           `json:"to"`
	Made     string           `json:"made,omitempty"`  // of a backup
	Bytes    int64            `json:"bytes,omitempty"` // of a backup
	Sum      string           `json:"sha256,omitempty"`
	Position int64            `json:"position"`
	Head     string           `json:"head"` // hexadecimal
	Rows     map[string]int64 `json:"rows"` // by table
	Held     string           `json:"mail_held,omitempty"`

	next string // what to do now, for a terminal
}

func newCopyAnswer(from, to string, c store.Copied) *CopyAnswer {
	return &CopyAnswer{Format: answer.Format, From: from, To: to, Position: c.Head.Position, Head: hex.EncodeToString(c.Head.Chain[:]), Rows: c.Rows}
}

// WriteText prints the answer for a terminal.
func (c *CopyAnswer) WriteText(w io.Writer) error {
	var rows []string
	total := int64(0)
	for _, table := range slices.Sorted(maps.Keys(c.Rows)) {
		total += c.Rows[table]
		if c.Rows[table] > 0 {
			rows = append(rows, fmt.Sprintf("%s %d", table, c.Rows[table]))
		}
	}
	_, err := fmt.Fprintf(w, "From %s\nto   %s\n%d rows, written and read back: %s.\nHead: %d %s\n%s",
		c.From, c.To, total, strings.Join(rows, ", "), c.Position, c.Head, c.next)
	return err
}

// Backup copies the database into a new file, beside a daemon that writes to
// it, reads it back, and writes its manifest beside it.
func Backup(ctx context.Context, opt Options, file string) (*CopyAnswer, error) {
	opt.settle()
	st, err := opt.asked(ctx)
	if errors.Is(err, store.ErrOlder) {
		return nil, fmt.Errorf("back up: %w; to keep it as it is now, make the backup with the program that it was used with last", err)
	}
	if err != nil {
		return nil, err
	}
	defer st.Close()
	b, err := st.Backup(ctx, file)
	if err != nil {
		return nil, fmt.Errorf("back up: %w", err)
	}
	out := newCopyAnswer(opt.Config.Database, file, b.Copied)
	out.Made, out.Bytes, out.Sum = b.Made.Format(time.RFC3339), b.Size, hex.EncodeToString(b.Sum[:])
	out.next = fmt.Sprintf("%d bytes, made %s. Keep %s.sha256 with it: sha256sum -c reads it.\n", b.Size, out.Made, file)
	return out, nil
}

// Restore brings a backup into the database that the configuration names,
// which must be empty or not there yet, and holds all mail.
func Restore(ctx context.Context, opt Options, file string, withoutManifest bool) (*CopyAnswer, error) {
	opt.settle()
	how, err := opt.stored()
	if err != nil {
		return nil, err
	}
	r, err := store.Restore(ctx, file, opt.Config.Database, how, withoutManifest)
	if err != nil {
		return nil, fmt.Errorf("restore: %w", err)
	}
	out := newCopyAnswer(file, opt.Config.Database, r.Copied)
	out.Made, out.Held = r.Made, r.Why
	out.next = `ALL MAIL IS HELD: NOBODY IS BEING TOLD. What waited when the backup was made may
have been sent since. Start the watch, look at its page and at antidotary
outbox, and end the hold with antidotary outbox release --as WHO.
`
	return out, nil
}

// Move copies the database into an empty one elsewhere, a file or a server
// whose password is in passwordFile, and holds all mail of the old one.
func Move(ctx context.Context, opt Options, to, passwordFile string) (*CopyAnswer, error) {
	opt.settle()
	to, err := place(to)
	if err != nil {
		return nil, err
	}
	from, err := opt.stored()
	if err != nil {
		return nil, err
	}
	there := opt
	there.Config.Database, there.Config.DatabasePasswordFile = to, passwordFile
	toHow, err := there.stored()
	if err != nil {
		return nil, err
	}
	c, err := store.Move(ctx, opt.Config.Database, from, to, toHow, "moved to "+to)
	if err != nil {
		return nil, fmt.Errorf("move: %w", err)
	}
	if passwordFile != "" {
		if passwordFile, err = filepath.Abs(passwordFile); err != nil {
			return nil, fmt.Errorf("find the folder of the password: %w", err)
		}
	}
	out := newCopyAnswer(opt.Config.Database, to, c)
	out.next = "The old database stays as it is, and all its mail is held. Now write into the\nconfiguration:\n\n" + configured(to, passwordFile)
	return out, nil
}

// place gives where a database shall be as it can be kept and shown: a whole
// path, whichever folder the configuration is in, or an address without a
// password.
func place(database string) (string, error) {
	if !store.IsServer(database) {
		whole, err := filepath.Abs(database)
		if err != nil {
			return "", fmt.Errorf("find the folder of %s: %w", database, err)
		}
		return whole, nil
	}
	u, err := url.Parse(database)
	if err != nil {
		return "", errors.New("the address of the new database is not postgres://USER@HOST:PORT/NAME")
	}
	if _, has := u.User.Password(); has || u.Query().Has("password") {
		return "", errors.New("the address of the new database holds a password: write it into a file of its own, and name that with --password-file")
	}
	return database, nil
}

// configured is what the configuration says of a database.
func configured(database, passwordFile string) string {
	text := fmt.Sprintf("database: %q\n", database)
	if passwordFile != "" {
		text += fmt.Sprintf("database_password_file: %q\n", passwordFile)
	}
	return text
}
