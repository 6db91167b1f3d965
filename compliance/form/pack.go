package form

import (
	"slices"

	"antidotary/compliance"
	"antidotary/inventory"
)

// Pack lists the keys of a pack.
var Pack = []Key{
	{Name: "format", Type: Whole, Need: true, Least: 1, Most: 1, Says: "The version of this form: 1."},
	{Name: "pack", Type: Word, Need: true, Says: "The pack's own name, which no other pack has."},
	{Name: "title", Type: Text, Need: true, Says: "What it is, for people."},
	{Name: "layer", Type: Choice, Need: true, Words: []string{"law", "house", "guidance"},
		Says: "law: what an enacted text asks; house: what your house asks of itself; guidance: what is common practice, which counts only where neither law nor house speaks."},
	{Name: "jurisdiction", Type: Path, Otherwise: "everywhere; a law pack needs one", Says: "Where it applies, from the country down, such as us/fl."},
	{Name: "edition", Type: Text, Otherwise: "not known, which is a finding", Says: "Which edition of the text was read, so that a newer one is noticed."},
	{Name: "read_on", Type: Day, Otherwise: "not known, which is a finding", Says: "The day on which somebody last read the text."},
	{Name: "review_by", Type: Day, Otherwise: "not known, which is a finding", Says: "The day by which somebody must read it again."},
	{Name: "ladder", Type: Mapping, Otherwise: "the pack says nothing of how people are brought on", Keys: Ladder,
		Says: "How keepers are brought on, stage by stage. Of several that apply the house's counts, then the one for the smallest place. Law has none: a rule of kind experience says what it asks for."},
	{Name: "rules", Type: Mappings, Keys: Rule, Says: "What it asks, one duty a rule. A pack without a ladder needs some."},
	{Name: "tests", Type: Mappings, Keys: Case, Says: "The pack's own tests: on these facts, these answers."},
}

// Rule lists the keys of a rule. Those of params depend on the kind.
var Rule = []Key{
	{Name: "id", Type: Word, Need: true, Says: "The rule's own name, which no other rule of any pack has. Renaming it changes no answer."},
	{Name: "requirement", Type: Word, Need: true, Says: "What is asked for, as a word. Rules of one requirement meet, whatever pack they are in; all rules of one requirement are of one kind."},
	{Name: "title", Type: Text, Need: true, Says: "What is asked, for people."},
	{Name: "consequence", Type: Text, Need: true, Says: "What follows if it is not met, and what to do then."},
	{Name: "severity", Type: Choice, Need: true, Words: []string{"critical", "serious", "notice"}, Says: "How bad it is: critical ones are mailed alone and at once."},
	{Name: "owner", Type: Choice, Need: true, Words: roles(), Says: "Whose duty it is."},
	{Name: "window_days", Type: Whole, Least: 0, Most: 1500, Otherwise: "90", Says: "How many days before the last day to act the owner is told."},
	{Name: "from", Type: Day, Otherwise: "since ever", Says: "The first day on which the rule is in effect."},
	{Name: "last", Type: Day, Otherwise: "still", Says: "The last day on which the rule is in effect."},
	{Name: "subject", Type: Choice, Need: true, Words: subjects(), Says: "Of what it is asked: each one of these has the duty. A holding is one species at one site; a place is where antivenom is kept, and not an enclosure, which is no subject."},
	{Name: "scope", Type: Text, Otherwise: "each of them", Says: "To which of them it applies, such as: venomous && site_use != \"zoo\"."},
	{Name: "citation", Type: Mapping, Need: true, Says: "Where it comes from.", Keys: Citation},
	{Name: "exemptions", Type: Mappings, Says: "The ways out that this law itself names. Other laws can lift it by these and no others.", Keys: []Key{
		{Name: "name", Type: Word, Need: true, Says: "What it is called here, such as licensed-zoo."},
		{Name: "citation", Type: Mapping, Need: true, Says: "The place in this law that names it.", Keys: Citation},
	}},
	{Name: "exempts", Type: Mappings, Keys: lifts(Key{Name: "exemption", Type: Word, Need: true, Says: "The exemption, as that law itself names it."}),
		Says: "Which other laws this law lifts, each by an exemption that the other itself names. Where this rule applies, the other then asks nothing."},
	{Name: "preempts", Type: Mappings, Keys: lifts(), Says: "Which laws of places below this one it cancels. It is shown everywhere as needing legal review."},
	{Name: "kind", Type: Choice, Need: true, Words: nil, Says: "What kind of duty it is."},
	{Name: "params", Type: Mapping, Need: true, Says: "What the kind needs to know."},
}

// Citation lists the keys of a citation.
var Citation = []Key{
	{Name: "text", Type: Text, Need: true, Says: "The text and its place, such as the section. Without a source, say so: common practice, no source."},
	{Name: "read_on", Type: Day, Otherwise: "not said", Says: "The day on which it was read."},
	{Name: "certainty", Type: Choice, Need: true, Words: []string{"R", "R2", "D", "M"},
		Says: "R: read in the text itself. R2: read in another text that quotes it. D: worked out from what was read. M: from memory, which is never law."},
}

// lifts lists the keys of what says that one rule lifts another.
func lifts(more ...Key) []Key {
	return slices.Concat([]Key{{Name: "rule", Type: Word, Need: true, Says: "The id of the rule that is lifted."}}, more, []Key{
		{Name: "when", Type: Text, Otherwise: "wherever this rule applies", Says: "Where it is lifted, such as: site_use == \"zoo\". It asks the same as a scope does."},
		{Name: "while_in_order", Type: Flag, Otherwise: "false", Says: "Lifts only while what this rule asks is in order, such as a licence in force."},
		{Name: "citation", Type: Mapping, Need: true, Says: "The text that says that the other is lifted.", Keys: Citation},
	})
}

func roles() (all []string) {
	for _, r := range compliance.Roles {
		all = append(all, string(r))
	}
	return all
}

// subjects are those of which a scope can be asked.
func subjects() (all []string) {
	for _, k := range append(inventory.Kinds(), inventory.KindHolding) {
		if len(compliance.ScopeVars(k)) > 0 {
			all = append(all, k.String())
		}
	}
	slices.Sort(all)
	return all
}

var standings = []string{"not applicable", "in order", "cannot tell", "out of order"}
