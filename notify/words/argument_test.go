package words

import (
	"go/ast"
	"regexp"
	"slices"
	"strings"
	"testing"

	"antidotary/compliance"
	"antidotary/inventory"
)

var hole = regexp.MustCompile(`\{([a-z]+)\}`)

func holes(sentence string) (names []string) {
	for _, m := range hole.FindAllStringSubmatch(sentence, -1) {
		names = append(names, m[1])
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// TestSentencesUseTheirArguments reads every call of Because, and fails where
// a sentence leaves out an argument or asks for one that is not given.
func TestSentencesUseTheirArguments(t *testing.T) {
	seen := 0
	for _, call := range becauseCalls(t) {
		codes := []string{literal(call.Args[0])}
		if sum, ok := call.Args[0].(*ast.BinaryExpr); ok {
			codes = nil
			for code := range reasons {
				if strings.HasPrefix(string(code), literal(sum.X)) {
					codes = append(codes, string(code))
				}
			}
		}
		var given []string
		for i := 1; i < len(call.Args); i += 2 {
			given = append(given, literal(call.Args[i]))
		}
		slices.Sort(given)
		for _, code := range codes {
			seen++
			want := holes(reasons[compliance.Code(code)])
			if code == "activity-last" { // its last argument is added only where there is an end
				want = slices.DeleteFunc(want, func(s string) bool { return s == "until" })
			}
			if !slices.Equal(given, want) {
				t.Errorf("%s is given %v and says %v", code, given, want)
			}
		}
	}
	if seen < 25 {
		t.Errorf("found only %d reasons in the sources: the reading is wrong", seen)
	}
}

func becauseCalls(t *testing.T) (calls []*ast.CallExpr) {
	t.Helper()
	for _, f := range sources(t) {
		ast.Inspect(f, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				if name, ok := call.Fun.(*ast.Ident); ok && name.Name == "Because" && len(call.Args) > 0 {
					calls = append(calls, call)
				}
			}
			return true
		})
	}
	return calls
}

func TestReasonsSpeakNoCode(t *testing.T) {
	for _, c := range []struct {
		name string
		in   compliance.Reason
		want string
	}{
		{"a list never confirmed", compliance.Because("list-stale-since", "topic", "stock", "day", "", "keeper", "curator"),
			"The list of stock is out of date; last good day: not recorded. The curator has yet to confirm it."},
		{"a lot numbered like a day stays a number", compliance.Because("lot", "lot", "2026-01-02", "vials", "4", "usable", "4", "end", "2027-06-30"),
			"Lot 2026-01-02: 4 vials here, 4 of them usable; last good day: Wed 30 Jun 2027."},
		{"a paper that never ends", compliance.Because("paper-days", "paper", "SR-1", "start", "not recorded", "end", "never"),
			"Paper SR-1: first day not recorded; last day none, it does not end."},
		{"a paper whose end is unknown", compliance.Because("paper-days", "paper", "SR-1", "start", "2026-01-01", "end", "unknown"),
			"Paper SR-1: first day Thu 1 Jan 2026; last day not recorded."},
		{"a decision", compliance.Because("decided", "ruling", "will-not-renew", "by", "person Ada Quill", "day", "2026-02-03", "why", "It leaves in May.", "consequence", "None held after."),
			"Decided by Ada Quill on Tue 3 Feb 2026: the paper is not renewed. Reason given: It leaves in May. Consequence: None held after."},
		{"a duration in hours", compliance.Because("sweep-at", "instant", "2026-12-14 03:30 UTC", "limit", "26h0m0s"),
			"Last sweep: Mon 14 Dec 2026, 03:30 UTC; longest allowed: 26 hours."},
		{"never swept, a limit of days", compliance.Because("sweep-at", "instant", "never", "limit", "48h0m0s"),
			"Last sweep: never; longest allowed: 2 days."},
		{"an attribute in the words of the rules", compliance.Because("attribute-missing", "attribute", "captive_bred"),
			"Not recorded: whether the animal was bred in captivity. Whether the rule applies hangs on it."},
		{"a number of animals of any kind", compliance.Because("paper-number", "taxon", "", "max", "5", "held", "7"),
			"The paper allows 5 of animals of whatever kind; 7 are held."},
		{"a course that nobody recorded", compliance.Because("course", "product", "Equine F(ab')2", "basis", "indicated", "full", "unknown", "initial", "1",
			"sure", "4", "maybe", "6", "source", "the label", "certainty", "read in the source"),
			"Equine F(ab')2, taken to work because it is named on the label: 4 vials usable here, at most 6; a full course is planned with " +
				"a number of vials that is not recorded, an initial dose with 1 vial, says the label (read in the source). The clinician decides."},
		{"a code from a newer version", compliance.Because("paper-eaten", "by_whom", "a goat"), "Fact without words: paper eaten; by whom: a goat."},
	} {
		if got := Reason(c.in); got != c.want {
			t.Errorf("%s:\n got %q\nwant %q", c.name, got, c.want)
		}
	}
}

func TestNamesOfCodes(t *testing.T) {
	for got, want := range map[string]string{
		Ruling(compliance.RunDown):          "the antivenom is not reordered",
		Count(1, "duty") + Count(2, "duty"): "1 duty2 duties",
		Count(1, "day") + Count(0, "day"):   "1 day0 days",
		Ruling("let-it-be"):                 "let it be",
		Basis(inventory.Excluded):           "it is stated not to work",
		Basis(""):                           "its ground is not recorded",
		Activity("count.antivenom"):         "antivenom count",
		Activity("count"):                   "count",
		Activity("drill.bite-and-run"):      "bite and run drill",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
