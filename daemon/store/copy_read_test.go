package store

import (
	"database/sql"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// columnsIn gives the columns of every table that a database has, by what it
// says itself.
func columnsIn(t testing.TB, database string) map[string][]string {
	t.Helper()
	query := `SELECT m.name, c.name FROM sqlite_master m, pragma_table_info(m.name) c WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%'`
	if IsServer(database) {
		query = `SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = current_schema()`
	}
	rows, err := besides(t, database).QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	out := make(map[string][]string)
	for rows.Next() {
		var table, column string
		if err := rows.Scan(&table, &column); err != nil {
			t.Fatal(err)
		}
		out[table] = append(out[table], column)
	}
	delete(out, "schema_version")
	for _, columns := range out {
		slices.Sort(columns)
	}
	return out
}

// everything gives every row of every table as text that is the same on both
// databases.
func everything(t testing.TB, database string) map[string][]string {
	t.Helper()
	out, db := make(map[string][]string), besides(t, database)
	for table, columns := range columnsIn(t, database) {
		out[table] = rowsAsText(t, db, `SELECT "`+strings.Join(columns, `", "`)+`" FROM `+table, columns)
	}
	db.Close()
	return out
}

func rowsAsText(t testing.TB, db *sql.DB, query string, columns []string) (out []string) {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		cells, into := make([]any, len(columns)), make([]any, len(columns))
		for i := range cells {
			into[i] = &cells[i]
		}
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		var row strings.Builder
		for i, cell := range cells {
			fmt.Fprintf(&row, "%s=%s ", columns[i], cellAsText(cell, columns[i]))
		}
		out = append(out, row.String())
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	slices.Sort(out)
	return out
}

// cellAsText: SQLite keeps a truth as 0 or 1, and its driver reads no bytes
// and NULL alike. (bytes is never NULL: the schema says so.)
func cellAsText(cell any, column string) string {
	switch v := cell.(type) {
	case nil:
		if column == "bytes" {
			return "x"
		}
		return "NULL"
	case bool:
		return map[bool]string{false: "0", true: "1"}[v]
	case []byte:
		return "x" + hex.EncodeToString(v)
	case string:
		return fmt.Sprintf("%q", v)
	}
	return fmt.Sprint(cell)
}
