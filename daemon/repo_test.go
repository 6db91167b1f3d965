package daemon

import (
	"bufio"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The repository checks itself: what DEVELOPERS.md promises about structure
// holds because these tests hold it.

const root = ".."

// layers lists the packages from the top down. A package imports only what
// stands below it; package paths match by prefix, the longest one counts.
var layers = []string{"cmd", "daemon", "notify", "compliance", "inventory", "inventory/day"}

// beside says who may import a package that stands beside the layers.
var beside = map[string][]string{
	"migrations": {"daemon"},
	"deploy":     {"daemon", "cmd"},
}

// pure packages know no SQL, no network, no clock.
var pure = []string{"notify", "compliance", "inventory"}

// impure are the exceptions within them.
var impure = []string{"notify/smtp", "notify/mailbox"}

var forbiddenInPure = []string{"database/sql", "net/http", "net", "os", "os/exec", "github.com/uptrace/bun", "modernc.org/sqlite", "github.com/emersion/go-smtp"}

type goFile struct {
	path string // from the root, with slashes
	dir  string
	test bool
	ast  *ast.File
}

func goFiles(t *testing.T) (files []goFile, set *token.FileSet) {
	t.Helper()
	set = token.NewFileSet()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && d.Name() != ".." {
			return fs.SkipDir
		}
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		parsed, err := parser.ParseFile(set, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(root, path)
		rel = filepath.ToSlash(rel)
		files = append(files, goFile{rel, filepath.ToSlash(filepath.Dir(rel)), strings.HasSuffix(rel, "_test.go"), parsed})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 50 {
		t.Fatalf("found only %d Go files: the walk is wrong", len(files))
	}
	return files, set
}

func within(dir, folder string) bool { return dir == folder || strings.HasPrefix(dir, folder+"/") }

// layer gives the place of a folder in layers; -1 beside them.
func layer(dir string) int {
	best := -1
	for i, l := range layers {
		if within(dir, l) && (best < 0 || len(l) > len(layers[best])) {
			best = i
		}
	}
	return best
}

func TestImportsRunOneWay(t *testing.T) {
	files, _ := goFiles(t)
	for _, f := range files {
		if f.test {
			continue // tests may look further; the program may not
		}
		for _, spec := range f.ast.Imports {
			path, ours := strings.CutPrefix(strings.Trim(spec.Path.Value, `"`), "antidotary/")
			if !ours {
				continue
			}
			if allowed, ok := beside[strings.Split(path, "/")[0]]; ok {
				if !slices.Contains(allowed, strings.Split(f.dir, "/")[0]) {
					t.Errorf("%s imports %s, which only %v may", f.path, path, allowed)
				}
				continue
			}
			if from, to := layer(f.dir), layer(path); to < from || from < 0 && to >= 0 && f.dir != "deploy" {
				t.Errorf("%s imports %s, which stands above it: imports run %s", f.path, path, strings.Join(layers, " -> "))
			}
		}
	}
}

func TestPurePackagesKnowNoClockNetworkOrDatabase(t *testing.T) {
	files, set := goFiles(t)
	for _, f := range files {
		in := func(list []string) bool {
			return slices.ContainsFunc(list, func(folder string) bool { return within(f.dir, folder) })
		}
		if f.test || !in(pure) || in(impure) {
			continue
		}
		for _, spec := range f.ast.Imports {
			path := strings.Trim(spec.Path.Value, `"`)
			codec := path == "database/sql/driver" // an interface that Day and End implement
			if !codec && slices.ContainsFunc(forbiddenInPure, func(p string) bool { return path == p || strings.HasPrefix(path, p+"/") }) && path != "net/mail" && path != "net/textproto" {
				t.Errorf("%s imports %s: %s is pure", f.path, path, f.dir)
			}
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && isClock(sel) {
				t.Errorf("%s reads the clock by time.%s: take a day or an instant as an argument", set.Position(n.Pos()), sel.Sel.Name)
			}
			return true
		})
	}
}

func isClock(sel *ast.SelectorExpr) bool {
	x, ok := sel.X.(*ast.Ident)
	return ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "Local", "After", "Tick", "NewTimer", "NewTicker", "Sleep"}, sel.Sel.Name)
}

// TestClockIsReadInFewPlaces: everything else is given the clock.
func TestClockIsReadInFewPlaces(t *testing.T) {
	allowed := []string{"cmd/antidotary/main.go", "daemon/options.go"}
	files, set := goFiles(t)
	for _, f := range files {
		if f.test || slices.Contains(allowed, f.path) || within(f.dir, "notify/smtp") || within(f.dir, "notify/mailbox") {
			continue
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && isClock(sel) && (sel.Sel.Name == "Now" || sel.Sel.Name == "Since" || sel.Sel.Name == "Local") {
				t.Errorf("%s reads the clock: take it from daemon.Options.Clock", set.Position(n.Pos()))
			}
			return true
		})
	}
}

func TestNoTestSleeps(t *testing.T) {
	files, set := goFiles(t)
	for _, f := range files {
		if !f.test || f.path == "daemon/repo_test.go" {
			continue
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && isClock(sel) && sel.Sel.Name == "Sleep" && !importsSynctest(f.ast) {
				t.Errorf("%s sleeps: wait for a condition, or use a fake clock", set.Position(n.Pos()))
			}
			return true
		})
	}
}

func importsSynctest(f *ast.File) bool {
	return slices.ContainsFunc(f.Imports, func(s *ast.ImportSpec) bool { return s.Path.Value == `"testing/synctest"` })
}

func TestEveryPackageExplainsItself(t *testing.T) {
	files, _ := goFiles(t)
	longest := make(map[string]int)
	for _, f := range files {
		if f.test {
			continue
		}
		longest[f.dir] = max(longest[f.dir], len(f.ast.Doc.Text()))
	}
	for dir, n := range longest {
		if n < 120 {
			t.Errorf("package %s has a doc comment of %d characters: explain its idea and the order in which its rules apply", dir, n)
		}
	}
}

func TestFilesStayShort(t *testing.T) {
	const most = 500
	files, set := goFiles(t)
	for _, f := range files {
		if n := set.File(f.ast.Pos()).LineCount(); n > most {
			t.Errorf("%s has %d lines, more than %d: split it", f.path, n, most)
		}
	}
}

func TestNamesSayWhatIsInside(t *testing.T) {
	files, _ := goFiles(t)
	bad := regexp.MustCompile(`(^|/)(utils?|common|helpers?|models?|misc)(/|\.go$|_test\.go$)`)
	for _, f := range files {
		if bad.MatchString(f.path) {
			t.Errorf("%s: name it for what a reader looks for", f.path)
		}
	}
}

func TestTopLevelIsFixed(t *testing.T) {
	allowed := []string{"cmd", "daemon", "compliance", "inventory", "notify", "migrations", "deploy", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE"}
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	ignored := ignoredNames(t)
	for _, e := range entries {
		name := e.Name()
		if strings.HasPrefix(name, ".") || slices.Contains(allowed, name) || slices.ContainsFunc(ignored, func(p string) bool { ok, _ := filepath.Match(p, name); return ok }) {
			continue
		}
		t.Errorf("%s is not one of the fixed entries of the top level", name)
	}
}

func ignoredNames(t *testing.T) (patterns []string) {
	t.Helper()
	f, err := os.Open(filepath.Join(root, ".gitignore"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		patterns = append(patterns, strings.TrimPrefix(s.Text(), "/"))
	}
	return patterns
}

// TestDevelopersGuideNamesEveryPackage keeps the folder map from drifting.
func TestDevelopersGuideNamesEveryPackage(t *testing.T) {
	guide, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	files, _ := goFiles(t)
	dirs := make(map[string]bool)
	for _, f := range files {
		if !f.test {
			dirs[f.dir] = strings.Contains(string(guide), "`"+f.dir+"`")
		}
	}
	for dir, named := range dirs {
		if !named {
			t.Errorf("DEVELOPERS.md does not name `%s` in its folder map", dir)
		}
	}
	named := regexp.MustCompile("(?m)^\\| `([a-z/]+)` \\|")
	for _, m := range named.FindAllStringSubmatch(string(guide), -1) {
		if _, err := os.Stat(filepath.Join(root, m[1])); err != nil {
			t.Errorf("DEVELOPERS.md names %s, which is not there", m[1])
		}
	}
}
