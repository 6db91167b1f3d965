package strict

import (
	"encoding"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"antidotary/inventory/day"

	"go.yaml.in/yaml/v3"
)

const (
	wantText     = "a text is required"
	wantBool     = "true or false is required, without quotes"
	wantDay      = "a date is required as YYYY-MM-DD"
	wantDuration = `a duration is required such as "90s", "15m", "36h" or "1h30m"`
)

// String gives a text that is not blank. A plain number, date, true or false
// is not a text; in quotes it is.
func (m *Map) String(key string) string { return m.text(key, m.want(key, wantText)) }

// OptString gives a text, or "" where the key is left out.
func (m *Map) OptString(key string) string { return m.text(key, m.may(key, wantText)) }

func (m *Map) text(key string, v *yaml.Node) string {
	if v == nil {
		return ""
	}
	s, why := textOf(v)
	if v.Kind == yaml.MappingNode && slices.ContainsFunc(v.Content, func(n *yaml.Node) bool { return n.Value == "text" }) {
		why += ": write here what stands under text, and nothing below it"
	}
	if why != "" {
		m.wrong(key, "%s", why)
	}
	return s
}

// textOf reads a text, or says why the value is none. Blanks at the ends of a
// quoted text are refused, because a name with one never matches anything;
// the line feeds that end a block of text are dropped.
func textOf(v *yaml.Node) (text, why string) {
	if v.Kind != yaml.ScalarNode {
		return "", "is " + looks(v) + "; " + wantText
	}
	if v.Tag != "!!str" {
		return "", "is " + looks(v) + "; " + wantText + ": write it in quotes"
	}
	s := v.Value
	if v.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
		s = strings.TrimRight(s, "\n")
	}
	switch trimmed := strings.TrimSpace(s); {
	case trimmed == "":
		return "", "is blank; " + wantText
	case trimmed != s:
		return "", "begins or ends with a blank; take it away"
	}
	return s, ""
}

// Int gives a whole number from least to most, written in decimal digits
// without leading zeros, sign + or underscores.
func (m *Map) Int(key string, least, most int) int {
	return m.number(key, m.want(key, wantInt(least, most)), least, most)
}

// OptInt gives a whole number, or otherwise where the key is left out.
func (m *Map) OptInt(key string, otherwise, least, most int) int {
	if !m.Has(key) {
		return otherwise
	}
	return m.Int(key, least, most)
}

func wantInt(least, most int) string {
	return fmt.Sprintf("a whole number from %d to %d is required", least, most)
}

var decimal = regexp.MustCompile(`^(0|-?[1-9][0-9]*)$`)

func (m *Map) number(key string, v *yaml.Node, least, most int) int {
	if v == nil {
		return 0
	}
	if v.Kind != yaml.ScalarNode || v.Tag != "!!int" {
		m.wrong(key, "is %s; %s", looks(v), wantInt(least, most))
		return 0
	}
	if !decimal.MatchString(v.Value) {
		m.wrong(key, "is written %s; %s, in plain decimal digits", quoted(v.Value), wantInt(least, most))
		return 0
	}
	n, err := strconv.Atoi(v.Value)
	if err != nil || n < least || n > most {
		m.wrong(key, "is %s; %s", looks(v), wantInt(least, most))
		return 0
	}
	return n
}

// Bool gives true or false, written so and in no other way.
func (m *Map) Bool(key string) bool { return m.truth(key, m.want(key, wantBool)) }

// OptBool gives true or false, or otherwise where the key is left out.
func (m *Map) OptBool(key string, otherwise bool) bool {
	if !m.Has(key) {
		return otherwise
	}
	return m.Bool(key)
}

func (m *Map) truth(key string, v *yaml.Node) bool {
	if v == nil {
		return false
	}
	if v.Kind != yaml.ScalarNode || v.Tag != "!!bool" || v.Value != "true" && v.Value != "false" {
		m.wrong(key, "is %s; %s", looks(v), wantBool)
	}
	return v.Value == "true" && v.Tag == "!!bool"
}

// Day gives a date, written YYYY-MM-DD with or without quotes.
func (m *Map) Day(key string) day.Day { return m.date(key, m.want(key, wantDay)) }

// OptDay gives a date, or an unset Day where the key is left out.
func (m *Map) OptDay(key string) day.Day { return m.date(key, m.may(key, wantDay)) }

func (m *Map) date(key string, v *yaml.Node) day.Day {
	if v == nil {
		return 0
	}
	if v.Kind != yaml.ScalarNode || v.Tag != "!!str" && v.Tag != "!!timestamp" {
		m.wrong(key, "is %s; %s", looks(v), wantDay)
		return 0
	}
	d, err := day.Parse(v.Value)
	if err != nil {
		m.wrong(key, "is %s; %s, and one that exists, from %s to %s", looks(v), wantDay, day.First, day.Last)
		return 0
	}
	return d
}

// Duration gives a length of time from least to most, written with units from
// h down to ms ("36h", "1h30m"). Days and longer are calendar periods and
// have no fixed length, so they are not durations.
func (m *Map) Duration(key string, least, most time.Duration) time.Duration {
	return m.length(key, m.want(key, wantDuration), least, most)
}

// OptDuration gives a length of time, or otherwise where the key is left out.
func (m *Map) OptDuration(key string, otherwise, least, most time.Duration) time.Duration {
	if !m.Has(key) {
		return otherwise
	}
	return m.Duration(key, least, most)
}

func (m *Map) length(key string, v *yaml.Node, least, most time.Duration) time.Duration {
	if v == nil {
		return 0
	}
	if v.Kind != yaml.ScalarNode || v.Tag != "!!str" {
		m.wrong(key, "is %s; %s", looks(v), wantDuration)
		return 0
	}
	n, err := time.ParseDuration(v.Value)
	if err != nil {
		m.wrong(key, "is %s; %s", looks(v), wantDuration)
		return 0
	}
	if n < least || n > most {
		m.wrong(key, "is %s; a duration from %v to %v is required", looks(v), least, most)
		return 0
	}
	return n
}

// Enum gives one of the allowed words.
func (m *Map) Enum(key string, allowed ...string) string {
	return m.word(key, m.want(key, oneOf(allowed)), allowed)
}

// OptEnum gives one of the allowed words, or otherwise where the key is left
// out.
func (m *Map) OptEnum(key, otherwise string, allowed ...string) string {
	if !m.Has(key) {
		return otherwise
	}
	return m.Enum(key, allowed...)
}

func oneOf(allowed []string) string { return "allowed: " + choices(allowed) }

func (m *Map) word(key string, v *yaml.Node, allowed []string) string {
	if v == nil {
		return ""
	}
	if v.Kind == yaml.ScalarNode && v.Tag == "!!str" {
		if slices.Contains(allowed, v.Value) {
			return v.Value
		}
		if near := Closest(v.Value, allowed); near != "" {
			m.wrong(key, "is %s; did you mean %q? %s", looks(v), near, oneOf(allowed))
			return ""
		}
	}
	m.wrong(key, "is %s; %s", looks(v), oneOf(allowed))
	return ""
}

// Text hands the written form of a text, number or date to a type that reads
// itself; its error is told with the place.
func (m *Map) Text(key string, into encoding.TextUnmarshaler) {
	m.unmarshal(key, m.want(key, "a value is required"), into)
}

// OptText is Text for a key that may be left out; it says whether into was
// set.
func (m *Map) OptText(key string, into encoding.TextUnmarshaler) bool {
	return m.unmarshal(key, m.may(key, "a value is required"), into)
}

func (m *Map) unmarshal(key string, v *yaml.Node, into encoding.TextUnmarshaler) bool {
	if v == nil {
		return false
	}
	if v.Kind != yaml.ScalarNode {
		m.wrong(key, "is %s; a single value is required", looks(v))
		return false
	}
	if err := into.UnmarshalText([]byte(v.Value)); err != nil {
		m.wrong(key, "%v", err)
		return false
	}
	return true
}
