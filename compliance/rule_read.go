package compliance

import (
	"maps"
	"slices"

	"antidotary/compliance/scope"
	"antidotary/compliance/strict"
	"antidotary/inventory"
)

// kinds reads the parameters of each kind of rule. Adding a kind is one file
// and one line here.
var kinds = map[string]func(m *strict.Map, r *Rule) Kind{
	"permit":       readPermitKind,
	"recurring":    readRecurringKind,
	"order":        readOrderKind,
	"prohibit":     readProhibitKind,
	"limit":        readLimitKind,
	"cover":        readCoverKind,
	"watch":        readWatchKind,
	"wording":      readWordingKind,
	"keep":         readKeepKind,
	"notice":       readNoticeKind,
	"clean-record": readCleanKind,
	"experience":   readExperienceKind,
	"authorised":   readAuthorisedKind,
	"current":      readCurrentKind,
	"signature":    readSignatureKind,
}

// KindNames lists the kinds of rule.
func KindNames() []string { return slices.Sorted(maps.Keys(kinds)) }

func readRule(m *strict.Map, p *Pack) *Rule {
	r := &Rule{
		ID:          readWord(m, "id"),
		Requirement: readWord(m, "requirement"),
		Title:       m.String("title"),
		Consequence: m.String("consequence"),
		Pack:        p,
		Layer:       p.Layer,
		Area:        p.Area,
		Severity:    Severity(m.Enum("severity", string(Critical), string(Serious), string(Notice))),
		Owner:       readRole(m, "owner"),
		Window:      m.OptInt("window_days", 90, 0, 1500),
		From:        m.OptDay("from"),
		Last:        m.OptDay("last"),
		Where:       m.Where(),
	}
	if !r.Last.IsZero() && r.Last < r.From {
		m.Fail("last", "must not be before from")
	}
	r.Citation = readCitation(m)
	r.Subject = readSubject(m)
	r.Scope = readScope(m, r.Subject)
	r.Exemptions, r.Lifts = readExemptions(m), readLifts(m, r)
	name := m.Enum("kind", KindNames()...)
	params := m.Map("params")
	if read, ok := kinds[name]; ok {
		r.Kind = read(params, r)
	} else {
		params.Skip()
	}
	return r
}

func readRole(m *strict.Map, key string) Role {
	names := make([]string, len(Roles))
	for i, r := range Roles {
		names[i] = string(r)
	}
	return Role(m.Enum(key, names...))
}

func readSubject(m *strict.Map) inventory.Kind {
	names := make([]string, 0, len(attributesOf))
	for k := range attributesOf {
		names = append(names, k.String())
	}
	slices.Sort(names)
	kind, _ := inventory.ParseKind(m.Enum("subject", names...))
	return kind
}

func readScope(m *strict.Map, subject inventory.Kind) *scope.Scope {
	text := m.OptString("scope")
	env, ok := scopeEnvs()[subject]
	if !ok {
		return &scope.Scope{}
	}
	s, err := env.Compile(text)
	if err != nil {
		m.Fail("scope", "%v", err)
		return &scope.Scope{}
	}
	return s
}

// wrongSubject tells that a kind of rule cannot be asked of the subject.
func wrongSubject(m *strict.Map, r *Rule, allowed ...inventory.Kind) {
	if r.Subject == inventory.KindNone || slices.Contains(allowed, r.Subject) {
		return
	}
	names := make([]string, len(allowed))
	for i, k := range allowed {
		names[i] = k.String()
	}
	m.Fail("", "this kind of rule has no subject %q; allowed: %v", r.Subject, names)
}
