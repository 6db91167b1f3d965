package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/lib/pq"
	"github.com/lib/pq/pqerror"
	"github.com/uptrace/bun"
	"modernc.org/sqlite"
)

// The codes of what a table refuses: SQLite's extended result code, where a
// trigger may have been asked before the key, and PostgreSQL's SQLSTATE.
var (
	refusedEmpty  = codes{[]int{1299}, "23502"}
	refusedRule   = codes{[]int{275}, "23514"}
	refusedTwice  = codes{[]int{2067, 1555, 1811}, "23505"}
	refusedOrphan = codes{[]int{787}, "23503"}
)

type codes struct {
	sqlite   []int
	postgres pqerror.Code
}

func (c codes) of(err error) bool {
	var lite *sqlite.Error
	var server *pq.Error
	return errors.As(err, &lite) && slices.Contains(c.sqlite, lite.Code()) || errors.As(err, &server) && server.Code == c.postgres
}

// bad gives values that a rule of the tables refuses.
var bad = []struct {
	rule   *regexp.Regexp
	values []string
}{
	{regexp.MustCompile(`^(\w+ IS NULL OR )?length\(\w+\) = (16|32)$`), []string{"x''", "zeroblob(15)", "zeroblob(17)"}},
	{regexp.MustCompile(`LIKE '____-__-__'$`), []string{"''", "'2026-3-29'", "'2026-03-29 00:00:00+00:00'", "'never'", "'10000-01-01'"}},
	{regexp.MustCompile(`BETWEEN 0 AND 2$`), []string{"-1", "3"}},
	{regexp.MustCompile(`BETWEEN 1 AND 9$`), []string{"0", "10"}},
	{regexp.MustCompile(`> 0$`), []string{"0", "-1"}},
}

// contractWhatTheTablesRefuse, whoever writes: each column that must not be
// empty, each rule, each key a second time, each reference to what is not
// there, at once and when the transaction commits. A copy of a row that has
// none of these wrong is taken: the refusals are of what they say.
func contractWhatTheTablesRefuse(t *testing.T, open opener) {
	st := open(t)
	database := placeOf(t, st)
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	st = inEveryTable(t, database)
	held(t, st, "a hold in force")
	shapes := shapesOf(t, besides(t, database))
	for _, table := range slices.Sorted(maps.Keys(shapes)) {
		c := copier{st: st, table: table, shape: shapes[table]}
		each(t, table+" takes a copy", func(t *testing.T) {
			if err := c.insert(t, c.apart(""), refsLater); err != nil {
				t.Error(err)
			}
		})
		c.refusesEmpty(t)
		c.refusesRules(t)
		c.refusesTwice(t)
		c.refusesOrphans(t)
	}
}

// copier makes copies of a table's row that differ in what it says.
type copier struct {
	st    *Store
	table string
	shape shape
}

// apart gives values under which no key but one is there already: it alters
// one column of each, a reference only where there is nothing else.
func (c copier) apart(but string) map[string]string {
	out := make(map[string]string)
	for key := range c.shape.Unique {
		parts, _, _ := strings.Cut(key, " where ")
		var free []string
		for _, name := range slices.Sorted(maps.Keys(c.shape.Columns)) {
			if c.in(parts, name) && !c.in(but, name) && !c.isDay(name) {
				free = append(free, name)
			}
		}
		slices.SortStableFunc(free, func(a, b string) int { return len(c.shape.Refers[a]) - len(c.shape.Refers[b]) })
		if key != but && len(free) > 0 {
			out[free[0]] = map[string]string{"text": `"` + free[0] + `" || 'x'`, "number": `coalesce("` + free[0] + `", 0) + 1000`, "bytes": "randomblob(16)"}[c.shape.Columns[free[0]].Type]
		}
	}
	return out
}

func (c copier) in(key, column string) bool {
	return regexp.MustCompile(`\b` + column + `\b`).MatchString(key)
}

func (c copier) isDay(column string) bool {
	return slices.ContainsFunc(slices.Collect(maps.Values(c.shape.Checks)), func(rule string) bool { return strings.HasPrefix(rule, column+" LIKE") })
}

// insert puts a copy of one row with other values, and takes it back.
func (c copier) insert(t *testing.T, other map[string]string, until moment) error {
	t.Helper()
	names := slices.Sorted(maps.Keys(c.shape.Columns))
	values := make([]string, len(names))
	for i, name := range names {
		if values[i] = `"` + name + `"`; other[name] != "" {
			values[i] = other[name]
		}
	}
	where := ""
	switch c.table {
	case "mail_hold": // one hold is in force, and one has ended
		where = "WHERE released IS NULL"
	case "finding":
		where = "WHERE closed IS NULL"
	case "journal", "permit": // one entry is erased; one permit renews the other
		where = map[string]string{"journal": "WHERE payload IS NOT NULL AND actor_salt IS NOT NULL", "permit": "WHERE renews IS NOT NULL"}[c.table]
	}
	statement := fmt.Sprintf(`INSERT INTO "%s" ("%s") SELECT %s FROM "%s" %s LIMIT 1`, c.table, strings.Join(names, `", "`), strings.Join(values, ", "), c.table, where)
	return c.tried(t, statement, until)
}

// errUndone takes back what was only tried.
var errUndone = errors.New("undone")

// moment is how far a transaction goes.
type moment int

const (
	refsAtOnce  moment = iota // references are checked with the statement
	refsLater                 // they would be checked when it commits
	toTheCommit               // it commits
)

// tried runs a statement, and leaves nothing unless it commits.
func (c copier) tried(t *testing.T, statement string, until moment) error {
	t.Helper()
	statement = speak(c.st.writer.DB, statement)
	err := c.st.write(t.Context(), func(ctx context.Context, tx bun.Tx, _ time.Time) error {
		if until > refsAtOnce {
			if _, err := tx.Tx.ExecContext(ctx, c.st.dialect.deferKeys); err != nil {
				return err
			}
		}
		res, err := tx.Tx.ExecContext(ctx, statement)
		if err != nil {
			return classified(err)
		}
		if n, err := res.RowsAffected(); err != nil || n == 0 {
			return fmt.Errorf("%s altered %d rows, %w", statement, n, err)
		}
		if until == toTheCommit {
			return nil // the commit is what is tried
		}
		return errUndone
	}, func(context.Context, bun.Tx) (bool, error) { return false, nil })
	if errors.Is(err, errUndone) {
		return nil
	}
	return err
}

// refused demands that an error is of a kind, and says so to the caller.
func (c copier) refused(t *testing.T, err error, want codes) {
	t.Helper()
	if !want.of(err) || !errors.Is(err, ErrConflict) {
		t.Errorf("%v, want ErrConflict with one of %v", err, want)
	}
}

func (c copier) refusesEmpty(t *testing.T) {
	for _, name := range slices.Sorted(maps.Keys(c.shape.Columns)) {
		col := c.shape.Columns[name]
		if !col.Needed || col.InKey > 0 && col.Type == "number" && len(c.shape.Unique) > 0 && c.table != "reminder" {
			continue // a number that is the key is counted where it is left out
		}
		each(t, c.table+"."+name+" must not be empty", func(t *testing.T) {
			other := c.apart("")
			other[name] = "NULL"
			c.refused(t, c.insert(t, other, refsLater), refusedEmpty)
		})
	}
}

func (c copier) refusesRules(t *testing.T) {
	for _, at := range slices.Sorted(maps.Keys(c.shape.Checks)) {
		rule := c.shape.Checks[at]
		name, _, _ := strings.Cut(at, " ")
		if name == "" { // of the journal alone
			for _, half := range []string{"payload", "salt"} {
				each(t, c.table+"."+half+" erased alone", func(t *testing.T) {
					other := c.apart("")
					other[half] = "NULL"
					c.refused(t, c.insert(t, other, refsLater), refusedRule)
				})
			}
			continue
		}
		known := false
		for _, b := range bad {
			if !b.rule.MatchString(rule) {
				continue
			}
			for known = true; len(b.values) > 0; b.values = b.values[1:] {
				each(t, c.table+"."+name+" is not "+b.values[0], func(t *testing.T) {
					other := c.apart("")
					other[name] = b.values[0]
					c.refused(t, c.insert(t, other, refsLater), refusedRule)
				})
			}
		}
		if !known {
			t.Errorf("%s: nothing is known to be refused by %s", c.table, rule)
		}
	}
}

func (c copier) refusesTwice(t *testing.T) {
	for _, key := range slices.Sorted(maps.Keys(c.shape.Unique)) {
		each(t, c.table+" has each "+key+" once", func(t *testing.T) {
			c.refused(t, c.insert(t, c.apart(key), refsLater), refusedTwice)
		})
	}
}

func (c copier) refusesOrphans(t *testing.T) {
	for _, name := range slices.Sorted(maps.Keys(c.shape.Refers)) {
		for when, until := range map[string]moment{"at once": refsAtOnce, "when it commits": toTheCommit} {
			each(t, fmt.Sprintf("%s.%s of no %s, %s", c.table, name, c.shape.Refers[name], when), func(t *testing.T) {
				other := c.apart("")
				other[name] = "randomblob(16)"
				c.refused(t, c.insert(t, other, until), refusedOrphan)
			})
		}
	}
}
