package store

import (
	"context"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/uptrace/bun"

	"antidotary/compliance"
	"antidotary/inventory"
)

// everywhere runs a trap on a new database of each kind.
func everywhere(t *testing.T, test func(t *testing.T, st *Store)) {
	t.Helper()
	for name, place := range fresh {
		t.Run(name, func(t *testing.T) { test(t, reopened(t, place(t))) })
	}
}

// TestTrapNULInText: a NUL, which would end the statement in the middle, is
// refused; nothing of the change is there, and the store goes on.
func TestTrapNULInText(t *testing.T) {
	const nul = "a\x00b"
	everywhere(t, func(t *testing.T, st *Store) {
		k := newKeys()
		committed(t, st, batchOf(bareRecords(k)))
		queued(t, st, mailTo("a@house.example"))
		held := claim(t, st)[0]
		before, all := counted(t, placeOf(t, st)), guardOf(t, st)
		commit := func(who Actor, rec inventory.Record) error {
			_, err := st.Commit(t.Context(), who, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis rhinoceros"}), changeOf(rec))
			return err
		}
		product := inventory.Product{ID: inventory.NewID(), Type: "t", Form: nul}
		site := inventory.Site{ID: inventory.NewID(), Organisation: k.of[inventory.KindOrganisation], Title: "n", Zone: "UTC", Contacts: []inventory.Contact{{Role: nul, Title: nul}}}
		for name, err := range map[string]error{
			"a required text": commit(Actor{ID: "test"}, inventory.Product{ID: inventory.NewID(), Type: nul}),
			"a free text":     commit(Actor{ID: "test"}, product),
			"a list":          commit(Actor{ID: "test"}, site),
			"an actor":        commit(Actor{ID: nul}, inventory.Product{ID: inventory.NewID(), Type: "t"}),
			"a reply":         st.Finish(t.Context(), held.ID, held.Token, Outcome{State: MailSent, Reply: nul}),
		} {
			if err == nil {
				t.Errorf("%s was taken", name)
			}
		}
		if diff := cmp.Diff(before, counted(t, placeOf(t, st))); diff != "" || guardOf(t, st) != all {
			t.Errorf("refused, and it left:\n%s", diff)
		}
		ok(t, st.Finish(t.Context(), held.ID, held.Token, Outcome{State: MailSent, Reply: "ab"}))
		committed(t, st, compliance.Record(inventory.Species{ID: inventory.NewID(), Accepted: "Bitis gabonica"}))
		if r := verified(t, st); r.Problem != "" {
			t.Error(r.Problem)
		}
	})
}

// sharp are texts that a statement which carries its values in itself could
// mistake for a part of it.
var sharp = []string{`'`, `''`, `\`, `\'`, `\\'`, `a\`, `E'\x41'`, `?`, `a?b?`, `?0`, `?TableName`, `$1`, `:a`, `@a`, `%s`, `--`, `-1--`, `/*`, `*/`, `;`, `"`, "`", `$$`, `{{.}}`, "\n", "\r\n", "\t", "\u2028", "\ufeff", `\x00`, `\N`, `\.`, `NULL`, ` a `}

// TestTrapTextIsNoStatement: such text comes back byte for byte from every way
// into the tables: one by one, in bulk, as what is looked for, and as what is
// compared. A server without standard strings would read some of them
// otherwise; it is refused (TestTrapUnsafeServer).
func TestTrapTextIsNoStatement(t *testing.T) {
	everywhere(t, func(t *testing.T, st *Store) {
		for i, text := range sharp {
			p := inventory.Product{ID: inventory.NewID(), Type: fmt.Sprint("t", i), Form: text, Source: text}
			who := Actor{ID: text, Name: text}
			_, err := st.Commit(t.Context(), who, compliance.Record(p))
			ok(t, err)
			m := mailTo("a@house.example")
			m.Subject, m.Address, m.Bytes = text, text, []byte(text)
			queued(t, st, m)
			c := claim(t, st)
			if len(c) != 1 || c[0].Subject != text || c[0].Address != text || string(c[0].Bytes) != text {
				t.Errorf("%q: queued %+v", text, c)
				continue
			}
			ok(t, st.Finish(t.Context(), c[0].ID, c[0].Token, Outcome{State: MailSent, Reply: text, Enhanced: text}))
			st.Forget()
			records, _, err := st.Snapshot(t.Context())
			ok(t, err)
			if got := records.Lookup(p.Ref()); !cmp.Equal(got, inventory.Record(p)) {
				t.Errorf("%q came back as %+v", text, got)
			}
			if r := verified(t, st); r.Problem != "" || r.Unnamed != int64(i) {
				t.Errorf("%q: %+v", text, r)
			}
			if n, err := st.EraseActor(t.Context(), who); err != nil || n != 1 {
				t.Errorf("%q: %d entries of this actor, %v", text, n, err)
			}
		}
		var rows []outboxRow
		ok(t, st.reader.NewSelect().Model(&rows).Column("reply", "enhanced").Order("queued_at", "id").Scan(t.Context()))
		replies := make(map[string]bool)
		for _, r := range rows {
			replies[r.Reply] = r.Reply == r.Enhanced
		}
		for _, text := range sharp {
			if !replies[text] {
				t.Errorf("the reply %q was not kept", text)
			}
		}
	})
}

// TestTrapManyParameters: one write may be of more rows than a statement may
// have parameters (65,535 of PostgreSQL, 32,766 of SQLite).
func TestTrapManyParameters(t *testing.T) {
	const many = 70_000
	everywhere(t, func(t *testing.T, st *Store) {
		m := mailTo("a@house.example")
		s := Sweep{ID: inventory.NewID(), Mails: []Mail{m}, Reminders: make([]Reminder, many)}
		f := fullFinding()
		for i := range s.Reminders {
			s.Reminders[i] = toldBy(f, m, i)
		}
		stored(t, st, guardOf(t, st), s)
		told, err := st.Reminders(t.Context())
		if err != nil || len(told) != many {
			t.Errorf("%d reminders, want %d (%v)", len(told), many, err)
		}
	})
}

// TestTrapZeroIsStored as zero, no default takes its place, and a zero instant
// is none: not the year 1. What is false, zero and empty comes back so over
// what was not (contract: bare over full).
func TestTrapZeroIsStored(t *testing.T) {
	defaults := regexp.MustCompile(`bun:"[^"]*(default:|nullzero|soft_delete|autoincrement)`)
	for name, text := range sources(t) {
		if found := defaults.FindString(text); found != "" && name != "sweep.go" {
			t.Errorf("%s: %s", name, found)
		}
	}
	everywhere(t, func(t *testing.T, st *Store) {
		question := map[string]string{
			"sqlite":   `SELECT m.name || '.' || c.name FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.type = 'table' AND c.dflt_value IS NOT NULL`,
			"postgres": `SELECT c.relname || '.' || a.attname FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid WHERE a.atthasdef AND c.relnamespace = 'public'::regnamespace`,
		}[st.dialect.name]
		if with := asked(t, besides(t, placeOf(t, st)), question); len(with) != 0 {
			t.Errorf("columns with a default: %v", with)
		}
		f := bareFinding()
		stored(t, st, guardOf(t, st), Sweep{ID: inventory.NewID(), Transitions: []compliance.Transition{openedAs(f)}})
		view, err := st.Read(t.Context())
		if err != nil || len(view.Open) != 1 || view.Open[0] != f {
			t.Errorf("%+v, %v; want %+v", view.Open, err, f)
		}
		var row sweepRow
		if err := st.reader.NewSelect().Model(&row).Scan(t.Context()); err != nil || row.Started != 0 || row.Judged != 0 || !instant(row.Started).IsZero() {
			t.Errorf("%+v, %v", row, err)
		}
	})
}

// TestTrapSQLMakesNoTime: no statement asks the database what time it is but
// the one for the shared clock, and none looks into JSON, where ->> compares
// otherwise in each database; each difference between them is in dialect.go.
func TestTrapSQLMakesNoTime(t *testing.T) {
	time, json := regexp.MustCompile(`(?i)CURRENT_(TIME|DATE)|LOCALTIME|\bnow\(\)|datetime\(|strftime\(|unixepoch\(|clock_timestamp`), regexp.MustCompile(`->>|json_extract|jsonb`)
	texts := sources(t)
	for _, d := range []dialect{sqliteDialect, postgresDialect} {
		list, err := known(d)
		ok(t, err)
		for _, m := range list {
			for line := range strings.Lines(m.sql) {
				if !strings.HasPrefix(line, "--") {
					texts[d.name+" "+m.String()] += line
				}
			}
		}
	}
	if len(texts) < 40 {
		t.Fatalf("only %d texts were read", len(texts))
	}
	// It writes a key into each item of a list, once, and compares nothing.
	delete(texts, "postgres 0011_stock_book")
	for name, text := range texts {
		for _, not := range []*regexp.Regexp{time, json} {
			if found := not.FindString(text); found != "" && !(name == "dialect.go" && found == "now()") {
				t.Errorf("%s: %s", name, found)
			}
		}
	}
}

// sources gives the texts within quotes of the package's own sources: whatever
// is said to a database is among them.
func sources(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob("*.go")
	ok(t, err)
	out := make(map[string]string)
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		ok(t, err)
		out[name] = ""
		ast.Inspect(file, func(n ast.Node) bool {
			if lit, is := n.(*ast.BasicLit); is && lit.Kind == token.STRING {
				out[name] += lit.Value + "\n"
			}
			return true
		})
	}
	return out
}

// TestTrapColumnTypes: numbers, text and bytes are all that there is. Dates and
// timestamps would be read and compared in some zone, JSONB is not kept byte
// for byte.
func TestTrapColumnTypes(t *testing.T) {
	everywhere(t, func(t *testing.T, st *Store) {
		n := 0
		for table, s := range shapesOf(t, besides(t, placeOf(t, st))) {
			for name, c := range s.Columns {
				if n++; c.Type == "" {
					t.Errorf("%s.%s is neither number, text nor bytes", table, name)
				}
			}
		}
		if n < 200 {
			t.Errorf("only %d columns", n)
		}
	})
}

// TestTrapOnlyOneConnection: with one in each pool everything still works. A
// query through the pool within a transaction would wait for ever.
func TestTrapOnlyOneConnection(t *testing.T) {
	everywhere(t, func(t *testing.T, st *Store) {
		st.writer.SetMaxOpenConns(1)
		st.reader.SetMaxOpenConns(1)
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		defer cancel()
		_, err := st.Commit(ctx, Actor{ID: "test"}, batchOf(fullRecords(newKeys()))...)
		ok(t, err)
		view, err := st.Read(ctx)
		ok(t, err)
		ok(t, st.StoreSweep(ctx, view.Guard(), fullSweep()))
		ok(t, st.Queue(ctx, []Mail{mailTo("q@house.example")}))
		due, err := st.Claim(ctx, 10, time.Hour)
		if err != nil || len(due) != 3 {
			t.Fatalf("claimed %d, %v", len(due), err)
		}
		for _, c := range due {
			ok(t, st.DataStarted(ctx, c.ID, c.Token))
			ok(t, st.Finish(ctx, c.ID, c.Token, Outcome{State: MailSent}))
		}
		run, claimed, err := st.ClaimSlot(ctx, SlotClaim{Job: "j", Worker: "w", Lease: time.Minute, Due: func(_, at time.Time) (time.Time, int) { return at, 0 }})
		if err != nil || !claimed {
			t.Fatalf("claimed %t, %v", claimed, err)
		}
		ok(t, st.FinishSlot(ctx, run, nil, 0))
		_, err = st.Erase(ctx, "person")
		ok(t, err)
		_, err = st.Prune(ctx, noon.AddDate(1, 0, 0))
		ok(t, err)
		_, err = st.KnownAt(ctx, noon)
		ok(t, err)
		if r, err := st.Verify(ctx); err != nil || r.Problem != "" {
			t.Errorf("%+v, %v", r, err)
		}
	})
}

// TestTrapListsAreTextOrNothing: an empty list is NULL, not the JSON word
// null.
func TestTrapListsAreTextOrNothing(t *testing.T) {
	everywhere(t, func(t *testing.T, st *Store) {
		committed(t, st, batchOf(bareRecords(newKeys()))...)
		err := st.read(t.Context(), func(ctx context.Context, tx bun.Tx) error {
			for column, table := range map[string]string{"contacts": "site", "synonyms": "species", "offices": "person", "stays": "animal", "vials": "coverage", "movements": "lot", "grants": "permit", "confirmed": "feed"} {
				var n int
				if err := tx.QueryRowContext(ctx, fmt.Sprintf(`SELECT count(*) FROM %s WHERE %s IS NOT NULL`, table, column)).Scan(&n); err != nil || n != 0 {
					t.Errorf("%d of %s.%s are something, %v", n, table, column, err)
				}
			}
			return nil
		})
		ok(t, err)
	})
}
