package scale

import (
	"testing"
	"time"

	"antidotary/compliance"
	"antidotary/compliance/scope"
)

func sixty(b testing.TB) *compliance.Rulebook {
	b.Helper()
	rules, err := Sixty()
	if err != nil {
		b.Fatal(err)
	}
	if n := len(rules.Rules); n != 60 {
		b.Fatalf("there are %d rules, not sixty", n)
	}
	return rules
}

// BenchmarkRules is sixty rules: to read them from their files, scopes
// compiled; then to judge a network by them.
func BenchmarkRules(b *testing.B) {
	b.Run("read", func(b *testing.B) {
		for b.Loop() {
			sixty(b)
		}
		b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/60, "µs/rule")
	})
	rules := sixty(b)
	for _, size := range []Size{Large, National} {
		s := Network(size, today)
		b.Run("judge/"+size.Name, func(b *testing.B) { judgeAndBind(b, rules, s) })
	}
}

// judgeAndBind tells what one duty costs, and the parts that binding the rules
// to their subjects and the rules' scopes have in it. All take turns, so that
// what else the machine does falls on each.
//
// What scopes cost cannot be told from a run without them, because the rules
// would bind more. So the rules are bound three times: as they are written;
// under scopes that are true of all, which cost nothing to ask, and hand on a
// duty for every subject under the rule's law; and under scopes that are true
// of nothing, which walk by the same subjects and hand on none. The last two
// tell what a duty handed on costs and what the walk does. The rest of the
// first is the scopes: asking them, and remembering answers by what they read.
// Scopes within the parameters of limits and prohibitions are asked while
// judging and are not in that part.
func judgeAndBind(b *testing.B, rules *compliance.Rulebook, s *compliance.Snapshot) {
	all, none := under(b, rules, ""), under(b, rules, "false")
	var whole, bind, open, closed time.Duration
	var duties, some, most int
	for b.Loop() {
		whole += timed(func() { duties = dutiesOf(compliance.Evaluate(rules, s, compliance.Ask{Now: now})) })
		some = bound(rules, s, &bind)
		most = bound(all, s, &open)
		bound(none, s, &closed)
	}
	handed := float64(open-closed) * float64(some) / float64(most)
	scopes := float64(bind-closed) - handed
	each := float64(b.N) * float64(duties)
	b.ReportMetric(float64(whole)/each, "ns/duty")
	b.ReportMetric(float64(duties), "duties")
	b.ReportMetric(100*float64(bind)/float64(whole), "%bind")
	b.ReportMetric(100*scopes/float64(whole), "%scopes")
}

// dutiesOf counts rules bound to subjects.
func dutiesOf(r *compliance.Report) (n int) {
	for _, j := range r.Judgements {
		n += len(j.Rules)
	}
	return n
}

// bound binds every rule, judges nothing, and adds the time that it took;
// indexing the records is not in it.
func bound(rules *compliance.Rulebook, s *compliance.Snapshot, took *time.Duration) (duties int) {
	v := compliance.NewView(rules, s, compliance.Ask{Now: now})
	*took += timed(func() {
		for _, r := range rules.Rules {
			for range r.Kind.Bind(v, r) {
				duties++
			}
		}
	})
	return duties
}

// under gives the rules with another scope in place of each of theirs.
func under(b *testing.B, rules *compliance.Rulebook, expr string) *compliance.Rulebook {
	env, err := scope.NewEnv()
	if err != nil {
		b.Fatal(err)
	}
	s, err := env.Compile(expr)
	if err != nil {
		b.Fatal(err)
	}
	out := *rules
	out.Rules = nil
	for _, r := range rules.Rules {
		other := *r
		other.Scope = s
		out.Rules = append(out.Rules, &other)
	}
	return &out
}
