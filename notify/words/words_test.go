package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory/day"
)

// codes reads the sources of package compliance: the constants of type Code
// in codes.go, and every code that Because is called with.
func codes(t *testing.T) (states, steps, reasons map[string]bool) {
	t.Helper()
	states, steps, reasons = map[string]bool{}, map[string]bool{}, map[string]bool{}
	for name, f := range sources(t) {
		ast.Inspect(f, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				collectReason(call, reasons)
			}
			return true
		})
		if name != "codes.go" {
			continue
		}
		into := states
		for _, decl := range f.Decls {
			for _, spec := range decl.(*ast.GenDecl).Specs {
				into[literal(spec.(*ast.ValueSpec).Values[0])] = true
			}
			into = steps
		}
	}
	return states, steps, reasons
}

// sources reads package compliance, without its tests, by file name.
func sources(t *testing.T) map[string]*ast.File {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "compliance", "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	out := make(map[string]*ast.File)
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		if out[filepath.Base(path)], err = parser.ParseFile(token.NewFileSet(), path, nil, 0); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func collectReason(call *ast.CallExpr, reasons map[string]bool) {
	if name, ok := call.Fun.(*ast.Ident); !ok || name.Name != "Because" || len(call.Args) == 0 {
		return
	}
	if sum, ok := call.Args[0].(*ast.BinaryExpr); ok { // "pending-" + Code(k.pending)
		prefix := literal(sum.X)
		for _, means := range []string{"continues", "not-covered", "void"} {
			reasons[prefix+means] = true
		}
		return
	}
	if code := literal(call.Args[0]); code != "" {
		reasons[code] = true
	}
}

func literal(e ast.Expr) string {
	if lit, ok := e.(*ast.BasicLit); ok {
		s, _ := strconv.Unquote(lit.Value)
		return s
	}
	return ""
}

func TestEveryCodeHasWordsAndEveryWordACode(t *testing.T) {
	wantStates, wantSteps, wantReasons := codes(t)
	for _, c := range []struct {
		what string
		want map[string]bool
		have map[compliance.Code]string
	}{{"state", wantStates, states}, {"step", wantSteps, steps}, {"reason", wantReasons, reasons}} {
		if len(c.want) < 15 {
			t.Errorf("found only %d %ss in the sources: the reading is wrong", len(c.want), c.what)
		}
		for code := range c.want {
			if c.have[compliance.Code(code)] == "" {
				t.Errorf("%s %q has no words", c.what, code)
			}
		}
		for code := range maps.Keys(c.have) {
			if !c.want[string(code)] {
				t.Errorf("%s %q has words, and nothing says it", c.what, code)
			}
		}
	}
	for _, r := range compliance.Roles {
		if roles[r] == "" {
			t.Errorf("role %q has no words", r)
		}
	}
}

func TestUnknownNeverReadsAsFine(t *testing.T) {
	for _, code := range []compliance.Code{compliance.ScopeUnknown, compliance.ListMissing, compliance.ExpiryUnknown, compliance.NoLawPack, compliance.StockUnknown} {
		text := State(code)
		for _, fine := range []string{"in order", "is in force", "is good", "still good"} {
			if strings.Contains(text, fine) {
				t.Errorf("%s reads %q", code, text)
			}
		}
	}
}

func TestReason(t *testing.T) {
	for _, c := range []struct {
		name string
		in   compliance.Reason
		want string
	}{
		{"a day is written out", compliance.Because("list-stale-since", "topic", "stock", "day", "2026-12-14", "keeper", "lead-keeper"),
			"The list of stock is out of date; last good day: Mon 14 Dec 2026. The lead keeper has yet to confirm it."},
		{"an activity in words", compliance.Because("activity-never", "activity", "drill.escape"), "There is no record of escape drill."},
		{"a yearly activity has no end", compliance.Because("activity-last", "activity", "report.inventory", "day", "2026-01-05", "passed", "yes"),
			"Last done: inventory report on Mon 5 Jan 2026; passed: yes."},
		{"an unknown end", compliance.Because("lot", "lot", "X1", "vials", "4", "usable", "0", "end", "unknown"),
			"Lot X1: 4 vials here, 0 of them usable; last good day: not recorded."},
	} {
		if got := Reason(c.in); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestNoSentenceLeavesAPlaceholder(t *testing.T) {
	for code, text := range reasons {
		var args []string
		for _, part := range strings.Split(text, "{")[1:] {
			name, _, _ := strings.Cut(part, "}")
			args = append(args, name, "something")
		}
		if got := Reason(compliance.Because(code, args...)); strings.ContainsAny(got, "{}") {
			t.Errorf("%s leaves a placeholder: %q", code, got)
		}
	}
}

func TestDays(t *testing.T) {
	today := day.MustParse("2026-11-25")
	got := []string{Day(today), Day(0), Relative(today, today), Relative(today+1, today), Relative(today-1, today), Relative(today+12, today), Relative(today-3, today)}
	want := []string{"Wed 25 Nov 2026", "no day", "today", "tomorrow", "yesterday", "in 12 days", "3 days ago"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
