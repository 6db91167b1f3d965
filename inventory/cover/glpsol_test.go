package cover_test

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"antidotary/inventory/cover"
)

// program writes the best treatment of one set of victims as a mixed integer
// program in CPLEX LP format.
//
// For each victim v: y(v,p) gives it product p, u(v) leaves it without a full
// course. For each product and site reached, f moves vials from a pool to a
// victim, m buys what is missing. A victim that is not left out gets its
// course out of f alone.
type program struct {
	s    *cover.Scenario
	goal strings.Builder
	rows strings.Builder
	bins strings.Builder
}

// weight puts one person above all vials that can be missing.
const weight = 100000

func (p *program) add(set cover.Set) {
	pool := make([]strings.Builder, len(p.s.Pools))
	for v, b := range set {
		bite := p.s.Bites[b]
		var one strings.Builder
		for _, c := range bite.Courses {
			y, e, m := name("y", v, c.Product), name("e", v, c.Product), name("m", v, c.Product)
			fmt.Fprintf(&one, " + %s", y)
			// e: given this product and treated in full; g: what it is given.
			given := ""
			for i, pl := range p.s.Pools {
				if pl.Product == c.Product && pl.Reached>>bite.Site&1 == 1 {
					f := name("f", v, i)
					given += " + " + f
					fmt.Fprintf(&pool[i], " + %s", f)
				}
			}
			fmt.Fprintf(&p.rows, " %s + %s - %d %s >= 0\n", strings.TrimPrefix(given, " + "), m, c.Vials, y)
			if given == "" {
				fmt.Fprintf(&p.rows, " %s <= 0\n", e)
			}
			fmt.Fprintf(&p.rows, " %s - %s <= 0\n", e, y)
			fmt.Fprintf(&p.rows, " %s + %d %s <= %d\n", m, c.Vials, e, c.Vials) // in full: nothing of it is bought
			fmt.Fprintf(&p.bins, " %s %s", y, e)
			fmt.Fprintf(&p.goal, " + %s - %d %s", m, weight, e)
		}
		fmt.Fprintf(&p.rows, " %s = 1\n", strings.TrimPrefix(one.String(), " + "))
	}
	for i := range pool {
		if used := pool[i].String(); used != "" {
			fmt.Fprintf(&p.rows, " %s <= %d\n", strings.TrimPrefix(used, " + "), p.s.Pools[i].Vials)
		}
	}
}

func name(of string, parts ...int) string {
	for _, n := range parts {
		of += fmt.Sprintf("_%d", n)
	}
	return of
}

// solve has glpsol solve the program and gives the value of each variable.
func (p *program) solve(t testing.TB, dir string) map[string]float64 {
	t.Helper()
	in, names, out := filepath.Join(dir, "in.lp"), filepath.Join(dir, "names.glp"), filepath.Join(dir, "out.sol")
	text := "Minimize\n goal:" + p.goal.String() + "\nSubject To\n" + strings.ReplaceAll(p.rows.String(), "  +", " ") + "Binary\n" + p.bins.String() + "\nEnd\n"
	if err := os.WriteFile(in, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if said, err := exec.Command("glpsol", "--tmlim", "60", "--lp", in, "--wglp", names, "-w", out).CombinedOutput(); err != nil || !strings.Contains(string(said), "INTEGER OPTIMAL") {
		t.Fatalf("glpsol: %v\n%s\n%s", err, said, text)
	}
	named := columns(t, names)
	values := make(map[string]float64)
	for _, line := range lines(t, out) {
		var j int
		var value float64
		if _, err := fmt.Sscanf(line, "j %d %g", &j, &value); err == nil {
			values[named[j]] = value
		}
	}
	return values
}

// columns reads the names of the columns from GLPK's own file of the problem.
func columns(t testing.TB, path string) map[int]string {
	out := make(map[int]string)
	for _, line := range lines(t, path) {
		var j int
		var name string
		if _, err := fmt.Sscanf(line, "n j %d %s", &j, &name); err == nil {
			out[j] = name
		}
	}
	return out
}

func lines(t testing.TB, path string) (out []string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		out = append(out, s.Text())
	}
	return out
}

// shortage reads from the solution what a set is short of.
func shortage(values map[string]float64, s *cover.Scenario, set cover.Set) (out cover.Shortage) {
	for v, b := range set {
		treated := 0.0
		for _, c := range s.Bites[b].Courses {
			treated += values[name("e", v, c.Product)]
			out.Vials += int(values[name("m", v, c.Product)] + 0.5)
		}
		if treated < 0.5 {
			out.People++
		}
	}
	return out
}

// randomScenario is a scenario by seed, of the size that glpsol solves in a
// blink.
func randomScenario(r *rand.Rand) *cover.Scenario {
	products, sites := 1+r.IntN(4), 1+r.IntN(3)
	s := &cover.Scenario{Victims: []int{1, 2, 2, 2, 3}[r.IntN(5)]}
	for range 2 + r.IntN(3) {
		b := cover.Bite{Site: r.IntN(sites), Most: 1 + r.IntN(2)}
		for p := range products {
			if r.IntN(2) == 0 {
				b.Courses = append(b.Courses, cover.Course{Product: p, Vials: 1 + r.IntN(12)})
			}
		}
		if len(b.Courses) > 0 {
			s.Bites = append(s.Bites, b)
		}
	}
	for range 1 + r.IntN(6) {
		s.Pools = append(s.Pools, cover.Pool{Product: r.IntN(products), Vials: r.IntN(20), Reached: cover.Sites(r.IntN(1 << sites))})
	}
	return s
}

// TestWorstIsGlpsolsOptimum compares with GLPK 5.0 (glpsol), an independent
// solver, on 300 random scenarios: the shortage of every single set, and the
// worst of all.
func TestWorstIsGlpsolsOptimum(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		t.Skip("glpsol is not installed: install glpk-utils")
	}
	dir := t.TempDir()
	compared, short := 0, 0
	for seed := range uint64(300) {
		s := randomScenario(rand.New(rand.NewPCG(seed, 7)))
		all := sets(s, s.Victims)
		if len(all) == 0 {
			continue
		}
		var worst cover.Shortage
		for _, set := range all {
			p := program{s: s}
			p.add(set)
			want := shortage(p.solve(t, dir), s, set)
			got, _ := s.Short(set)
			if got != want {
				t.Fatalf("seed %d, %v: short of %+v, glpsol says %+v\n%+v", seed, set, got, want, s)
			}
			if want.Above(worst) {
				worst = want
			}
			compared++
		}
		if got := s.Worst(); got.Shortage != worst {
			t.Fatalf("seed %d: the worst is %+v, glpsol says %+v\n%+v", seed, got, worst, s)
		}
		if !worst.None() {
			short++
		}
	}
	t.Logf("%d sets compared; %d of 300 scenarios short", compared, short)
	if short < 100 || short > 290 {
		t.Errorf("%d of 300 scenarios are short: too few of one sort to compare", short)
	}
}
