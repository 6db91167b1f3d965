package store

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// writing are the calls that can write; begins are those that open a
// transaction, with the functions that may. QueryContext can write too
// (RETURNING, or a query that is a statement), so its text is looked at.
var (
	writing   = []string{"Exec", "ExecContext", "NewInsert", "NewUpdate", "NewDelete", "NewMerge", "NewRaw", "NewTruncateTable", "NewCreateTable", "NewDropTable", "Prepare", "PrepareContext"}
	asking    = []string{"Query", "QueryContext", "QueryRow", "QueryRowContext"}
	lent      = []string{"check", "migrate", "s.dialect.scrub"} // what takes a database itself
	tending   = []string{"rewriteJournal", "insertAll"}         // writes no rows; or prepares on the transaction that it is given
	begins    = map[string][]string{"Begin": nil, "BeginTx": {"write", "read", "migrateOne"}, "RunInTx": nil, "Conn": nil}
	statement = regexp.MustCompile(`(?i)\b(INSERT|UPDATE|DELETE|REPLACE|CREATE|DROP|ALTER)\s`)
)

// TestNoWriteIsAutocommitted reads the package's own sources: whatever writes
// is called on a parameter that is a transaction, and transactions begin in
// three functions only. An autocommit write can run twice and report success
// (lib/pq 939, golang/go 11978).
func TestNoWriteIsAutocommitted(t *testing.T) {
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	names = slices.DeleteFunc(names, func(name string) bool { return strings.HasSuffix(name, "_test.go") })
	seen := 0
	for _, name := range names {
		writes, wrong := autocommits(t, name, nil)
		seen += writes
		for _, w := range wrong {
			t.Error(w)
		}
	}
	if seen < 15 {
		t.Errorf("found only %d writes in %d files: the reading is wrong", seen, len(names))
	}
}

// TestTheReadingOfSourcesFinds what it is for.
func TestTheReadingOfSourcesFinds(t *testing.T) {
	for body, want := range map[string]int{
		`func (s *Store) f() { s.writer.ExecContext(ctx, "DELETE FROM permit") }`:                                      1,
		`func (s *Store) f() { s.reader.NewInsert().Model(&row).Exec(ctx) }`:                                           1,
		`func f(db *bun.DB) { db.ExecContext(ctx, "DELETE FROM permit") }`:                                             1,
		`func f(db *sql.DB) { db.ExecContext(ctx, "DELETE FROM permit") }`:                                             1,
		`func (s *Store) f() { tx := s.writer; tx.NewUpdate().Exec(ctx) }`:                                             1,
		`func (s *Store) f() { s.writer.QueryRowContext(ctx, "UPDATE permit SET number = 1 RETURNING id").Scan(&id) }`: 1,
		`func (s *Store) f() { tx, _ := s.writer.BeginTx(ctx, nil); g(tx) }`:                                           1,
		`func (s *Store) f() { s.writer.RunInTx(ctx, nil, g) }`:                                                        1,
		`func (s *Store) f() { saveMails(ctx, s.writer, mails, now) }`:                                                 1,
		`func f(tx bun.IDB) { tx.NewInsert().Model(&row).On("CONFLICT (id) DO UPDATE").Exec(ctx) }`:                    0,
		`func f(tx bun.Tx) { tx.ExecContext(ctx, "DELETE FROM permit") }`:                                              0,
		`func (s *Store) f() { s.write(ctx, func(ctx context.Context, tx bun.Tx) { tx.ExecContext(ctx, "x") }) }`:      0,
		`func (s *Store) f() { s.reader.QueryRowContext(ctx, "SELECT 1").Scan(&n) }`:                                   0,
	} {
		if _, wrong := autocommits(t, "example.go", "package p\n"+body); len(wrong) != want {
			t.Errorf("%s\ngives %q, want %d", body, wrong, want)
		}
	}
}

// autocommits counts the writes of a file, and says which are outside of a
// transaction.
func autocommits(t *testing.T, name string, source any) (writes int, wrong []string) {
	t.Helper()
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, source, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, decl := range file.Decls {
		f, ok := decl.(*ast.FuncDecl)
		if !ok {
			continue
		}
		transactions := handedOver(f)
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			if f := types.ExprString(call.Fun); lends(call) && !slices.Contains(lent, f) {
				wrong = append(wrong, set.Position(call.Pos()).String()+": "+f+" is given a database instead of a transaction")
			}
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			where := set.Position(sel.Sel.Pos()).String() + " in " + f.Name.Name + ": " + sel.Sel.Name
			on, named := sel.X.(*ast.Ident)
			inside := named && transactions[on.Name]
			_, chained := sel.X.(*ast.CallExpr) // what it began on is looked at by itself
			allowed, begin := begins[sel.Sel.Name]
			switch {
			case begin && !slices.Contains(allowed, f.Name.Name):
				wrong = append(wrong, where+" begins a transaction of its own: use write or read")
			case slices.Contains(writing, sel.Sel.Name) && inside:
				writes++
			case slices.Contains(writing, sel.Sel.Name) && !chained && !slices.Contains(tending, f.Name.Name):
				wrong = append(wrong, where+" writes outside of a transaction")
			case slices.Contains(asking, sel.Sel.Name) && !inside && writesByText(call):
				wrong = append(wrong, where+" asks with a statement that writes")
			}
			return true
		})
	}
	return writes, wrong
}

// handedOver gives the names of a function's own and inner parameters that
// are transactions by their type, and the tx of those that may begin one.
func handedOver(f *ast.FuncDecl) map[string]bool {
	out := make(map[string]bool)
	ast.Inspect(f, func(n ast.Node) bool {
		if ft, ok := n.(*ast.FuncType); ok {
			for _, p := range ft.Params.List {
				kind := types.ExprString(p.Type)
				for _, name := range p.Names {
					out[name.Name] = kind == "bun.Tx" || kind == "bun.IDB"
				}
			}
		}
		return true
	})
	if slices.Contains(begins["BeginTx"], f.Name.Name) {
		out["tx"] = true
	}
	return out
}

// lends says whether a call hands on one of the store's databases.
func lends(call *ast.CallExpr) bool {
	return slices.ContainsFunc(call.Args, func(arg ast.Expr) bool {
		sel, ok := arg.(*ast.SelectorExpr)
		return ok && (sel.Sel.Name == "writer" || sel.Sel.Name == "reader")
	})
}

func writesByText(call *ast.CallExpr) bool {
	for _, arg := range call.Args {
		if text, ok := arg.(*ast.BasicLit); ok && statement.MatchString(text.Value) {
			return true
		}
	}
	return false
}
