package drafting

import (
	"fmt"
	"strconv"
	"strings"

	"antidotary/compliance/form"
)

// Answers are what was answered: of the pack, and of each rule.
type Answers struct {
	Pack  []Given
	Rules []Rule
}

// Given is the answer to one key, by its path such as params.renewal.lead.
type Given struct {
	Path string
	Text string
	Key  form.Key
}

// Rule is what was answered of one rule.
type Rule struct{ Given []Given }

func (r *Rule) value(path string) string { return value(r.Given, path) }

func value(given []Given, path string) string {
	for _, g := range given {
		if g.Path == path {
			return g.Text
		}
	}
	return ""
}

// File is the name of the pack's file.
func (a *Answers) File() string { return strings.ReplaceAll(value(a.Pack, "pack"), ".", "-") + ".yaml" }

// Text gives the pack as it is written, with the place of its schema.
func (a *Answers) Text(schema string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# yaml-language-server: $schema=%s\n", schema)
	b.WriteString("# Written from answers; check it against the law in force. Not legal advice.\n#\n")
	b.WriteString("# Covers: say here what. Does not cover: say here what you left out, so that\n# nobody takes it for watched.\nformat: 1\n")
	mapping(&b, a.Pack, "", "")
	b.WriteString("rules:\n")
	for i, r := range a.Rules {
		if i > 0 {
			b.WriteString("\n")
		}
		var one strings.Builder
		mapping(&one, r.Given, "", "    ")
		b.WriteString("  - " + strings.TrimPrefix(one.String(), "    "))
	}
	return b.String()
}

// mapping writes the answers below a path, those of one mapping together.
func mapping(b *strings.Builder, given []Given, path, indent string) {
	done := make(map[string]bool)
	for _, g := range given {
		rest, below := strings.CutPrefix(g.Path, path)
		if !below {
			continue
		}
		name, _, deeper := strings.Cut(rest, ".")
		if done[name] {
			continue
		}
		done[name] = true
		if deeper {
			fmt.Fprintf(b, "%s%s:\n", indent, name)
			mapping(b, given, path+name+".", indent+"  ")
			continue
		}
		fmt.Fprintf(b, "%s%s: %s\n", indent, name, scalar(g))
	}
}

// scalar writes one value. Free text always stands in quotes: those of JSON
// are YAML's too.
func scalar(g Given) string {
	switch g.Key.Type {
	case form.Text:
		return strconv.Quote(g.Text)
	case form.Texts:
		var items []string
		for _, item := range strings.Split(g.Text, ",") {
			items = append(items, strconv.Quote(strings.TrimSpace(item)))
		}
		return "[" + strings.Join(items, ", ") + "]"
	case form.Word, form.Path:
		return quotedIfNumber(g.Text)
	}
	return g.Text
}

// quotedIfNumber keeps a word that looks like a number or a truth a text.
func quotedIfNumber(s string) string {
	if strings.Trim(s, "0123456789.-e") == "" || s == "true" || s == "false" || s == "null" {
		return strconv.Quote(s)
	}
	return s
}
