package store

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestNoWriteIsAutocommitted reads the package's own sources: whatever writes
// is called on a transaction (tx) or on what a function was given (db), and
// transactions begin in two places only. An autocommit write can run twice and
// report success (lib/pq 939, golang/go 11978).
func TestNoWriteIsAutocommitted(t *testing.T) {
	writes := []string{"ExecContext", "Exec", "NewInsert", "NewUpdate", "NewDelete", "NewRaw", "NewMerge"}
	begins := map[string][]string{"BeginTx": {"store.go", "migrate.go"}, "RunInTx": nil, "Begin": nil}
	set := token.NewFileSet()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(set, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			where := set.Position(n.Pos())
			if allowed, begin := begins[sel.Sel.Name]; begin && !slices.Contains(allowed, name) {
				t.Errorf("%s begins a transaction of its own: use write or read", where)
			}
			if !slices.Contains(writes, sel.Sel.Name) {
				return true
			}
			if on, ok := sel.X.(*ast.Ident); ok && (on.Name == "tx" || on.Name == "db") {
				seen++
				return true
			}
			if call, ok := sel.X.(*ast.CallExpr); ok { // the end of a chain that began on tx or db
				if inner, ok := call.Fun.(*ast.SelectorExpr); ok && sel.Sel.Name == "Exec" && inner != nil {
					return true
				}
			}
			t.Errorf("%s writes outside of a transaction", where)
			return true
		})
	}
	if seen < 8 {
		t.Errorf("found only %d writes: the reading is wrong", seen)
	}
}
