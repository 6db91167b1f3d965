package store

import (
	"database/sql"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/lib/pq"
)

// shape is a table as both databases say it, in the same words.
type shape struct {
	Columns map[string]column
	Unique  map[string]bool   // "site, code", "a, b where c is null", and the key itself
	Indexes map[string]string // those that have a name of their own
	Refers  map[string]string // column: table that it refers to
	Checks  map[string]string // column and rule
}

type column struct {
	Type   string // bytes, number or text
	Needed bool
	InKey  int // place in the primary key, from 1
}

// TestBothDatabasesHaveTheSameTables: columns, what may be empty, keys,
// indexes, references and rules agree once their types have one name.
func TestBothDatabasesHaveTheSameTables(t *testing.T) {
	all := make(map[string]map[string]shape)
	for name, place := range fresh {
		database := place(t)
		reopened(t, database)
		all[name] = shapesOf(t, besides(t, database))
	}
	if diff := cmp.Diff(all["sqlite"], all["postgres"]); diff != "" {
		t.Errorf("(-sqlite +postgres):\n%s", diff)
	}
	have := make(map[string]int)
	for _, s := range all["sqlite"] {
		have["CREATE TABLE"]++
		have["REFERENCES"] += len(s.Refers)
		have["CHECK ("] += len(s.Checks)
	}
	list, err := known(postgresDialect)
	if err != nil {
		t.Fatal(err)
	}
	for word, n := range have { // nothing was overlooked
		for _, m := range list {
			n -= strings.Count(m.sql, word)
		}
		if n != 0 {
			t.Errorf("%d more of %q were compared than the migrations have", n, word)
		}
	}
}

// shapesOf reads the tables of whichever database it is, but for the one of
// migrations.
func shapesOf(t testing.TB, db *sql.DB) map[string]shape {
	t.Helper()
	asks := sqliteShape
	if _, server := db.Driver().(*pq.Driver); server {
		asks = postgresShape
	}
	out := make(map[string]shape)
	of := func(table string) shape {
		if _, ok := out[table]; !ok {
			out[table] = shape{map[string]column{}, map[string]bool{}, map[string]string{}, map[string]string{}, map[string]string{}}
		}
		return out[table]
	}
	for _, r := range asked(t, db, asks.columns) {
		of(r[0]).Columns[r[1]] = column{typeNames[r[2]], r[3] == "1" || r[4] != "0", int(r[4][0] - '0')}
	}
	for table, s := range out {
		var key []string
		for _, name := range slices.Sorted(maps.Keys(s.Columns)) {
			if s.Columns[name].InKey > 0 {
				key = append(key, name)
			}
		}
		slices.SortFunc(key, func(a, b string) int { return s.Columns[a].InKey - s.Columns[b].InKey })
		of(table).Unique[strings.Join(key, ", ")] = true
	}
	for _, r := range asked(t, db, asks.unique) {
		of(r[0]).Unique[r[1]] = true
	}
	for _, r := range asked(t, db, asks.indexes) {
		of(r[0]).Indexes[r[1]] = alike(r[2])
		if strings.Contains(r[2], "UNIQUE") {
			_, on, _ := strings.Cut(r[2], "(")
			of(r[0]).Unique[alike("("+on)] = true
		}
	}
	for _, r := range asked(t, db, asks.refers) {
		of(r[0]).Refers[r[1]] = r[2]
	}
	checksOf(t, asks.dialect, of)
	delete(out, "schema_version")
	return out
}

var typeNames = map[string]string{"BLOB": "bytes", "bytea": "bytes", "INTEGER": "number", "bigint": "number", "integer": "number", "boolean": "number", "TEXT": "text", "text": "text"}

// shapeQuestions ask for rows of text.
type shapeQuestions struct {
	dialect dialect
	columns string // table, column, type, not null, place in the primary key
	unique  string // table, columns: of the rules within a table
	indexes string // table, name, statement: of those with a statement of their own
	refers  string // table, column, table
}

var sqliteShape = shapeQuestions{
	sqliteDialect,
	`SELECT m.name, c.name, c.type, c."notnull", c.pk FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.type = 'table'`,
	`SELECT m.name, (SELECT group_concat(name, ', ') FROM (SELECT name FROM pragma_index_info(i.name) ORDER BY seqno))
		FROM sqlite_schema m, pragma_index_list(m.name) i WHERE m.type = 'table' AND i.origin = 'u'`,
	`SELECT tbl_name, name, sql FROM sqlite_schema WHERE type = 'index' AND sql IS NOT NULL`,
	`SELECT m.name, f."from", f."table" FROM sqlite_schema m, pragma_foreign_key_list(m.name) f WHERE m.type = 'table'`,
}

var postgresShape = shapeQuestions{
	postgresDialect,
	`SELECT c.relname, a.attname, format_type(a.atttypid, a.atttypmod), a.attnotnull::int,
			coalesce(array_position((SELECT indkey::int[] FROM pg_index i WHERE i.indrelid = c.oid AND i.indisprimary), a.attnum::int) + 1, 0)
		FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid
		WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace AND a.attnum > 0 AND NOT a.attisdropped`,
	`SELECT c.relname, (SELECT string_agg(a.attname, ', ' ORDER BY k.place) FROM unnest(r.conkey) WITH ORDINALITY k(num, place)
			JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = k.num)
		FROM pg_constraint r JOIN pg_class c ON c.oid = r.conrelid WHERE r.contype = 'u' AND r.connamespace = 'public'::regnamespace`,
	`SELECT tablename, indexname, indexdef FROM pg_indexes
		WHERE schemaname = 'public' AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conname = indexname)`,
	`SELECT c.relname, a.attname, r.confrelid::regclass::text FROM pg_constraint r JOIN pg_class c ON c.oid = r.conrelid
		JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = r.conkey[1] WHERE r.contype = 'f' AND r.connamespace = 'public'::regnamespace`,
}

func asked(t testing.TB, db *sql.DB, question string) (out [][]string) {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), question)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		row, into := make([]string, len(columns)), make([]any, len(columns))
		for i := range row {
			into[i] = &row[i]
		}
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		out = append(out, row)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// alike gives an index's statement in words that both databases would use.
func alike(index string) string {
	for _, w := range []struct{ in, out string }{
		{`::\w+|"|USING btree|public\.`, ""}, {`(?i)ifnull`, "coalesce"}, {`\bx'00'|'\\000'`, `'\x00'`}, {`[()\s]+`, " "}, {` ,`, ","}, {`^ | $`, ""},
	} {
		index = regexp.MustCompile(w.in).ReplaceAllString(index, w.out)
	}
	return strings.ToLower(index)
}

var (
	creates = regexp.MustCompile(`(?:CREATE|ALTER) TABLE (\w+)`)
	checked = regexp.MustCompile(`CHECK \((.*)\)[,;]?$`)
	defines = regexp.MustCompile(`^\s*(?:ALTER TABLE \w+ ADD COLUMN )?([a-z_]+) [A-Z]+`)
)

// checksOf reads the rules of columns and tables from the migrations: both
// databases say them otherwise once they have them.
func checksOf(t testing.TB, d dialect, of func(table string) shape) {
	t.Helper()
	list, err := known(d)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range list {
		table := ""
		for line := range strings.Lines(m.sql) {
			line = strings.TrimRight(line, "\n")
			if c := creates.FindStringSubmatch(line); c != nil {
				table = c[1]
				if strings.HasPrefix(line, "CREATE") {
					clear(of(table).Checks) // a table that is made again has its rules anew
				}
			}
			if c := checked.FindStringSubmatch(line); c != nil && !strings.HasPrefix(line, "--") {
				name := ""
				if d := defines.FindStringSubmatch(line); d != nil {
					name = d[1]
				}
				of(table).Checks[fmt.Sprint(name, " ", len(of(table).Checks))] = c[1]
			}
		}
	}
}
