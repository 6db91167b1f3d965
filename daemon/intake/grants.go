package intake

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"antidotary/compliance"
)

var grantLine = regexp.MustCompile(`^(?:(?i:(genus|family)) )?([^:]+?)(?: (?i:except) ([^:]+?))?(?: ?: ?([0-9]{1,6}))?$`)

const grantAllowed = "allowed: a species, genus NAME, family NAME or any, each with: except NAME, NAME; and with : and a number where the paper sets one"

// parseGrant reads one line of a paper's list of animals.
func parseGrant(text string) (g compliance.Grant, wrong string) {
	m := grantLine.FindStringSubmatch(tidy(text))
	if m == nil {
		return g, fmt.Sprintf("%q is not allowed; %s", text, grantAllowed)
	}
	g = compliance.Grant{Rank: compliance.RankSpecies, Taxon: m[2]}
	switch {
	case m[1] != "":
		g.Rank = compliance.Rank(strings.ToLower(m[1]))
		if !taxon.MatchString(g.Taxon) {
			return g, fmt.Sprintf("%q is no name of a %s; one word with a capital is required", g.Taxon, g.Rank)
		}
	case strings.EqualFold(g.Taxon, "any"):
		g.Rank, g.Taxon = compliance.RankAny, ""
	}
	for name := range strings.SplitSeq(m[3], ",") {
		if name = tidy(name); name != "" {
			g.Except = append(g.Except, name)
		}
	}
	if len(g.Except) > 0 && g.Rank == compliance.RankSpecies {
		return g, fmt.Sprintf("%q takes something away from a single species; except is allowed after genus NAME, family NAME and any", text)
	}
	if m[4] != "" {
		g.Max, _ = strconv.Atoi(m[4]) // at most six digits
		if g.Max == 0 {
			return g, fmt.Sprintf("%q allows none; a number from 1 on is allowed, or none where the paper sets none", text)
		}
	}
	return g, ""
}

var taxon = regexp.MustCompile(`^[A-Z][a-z]+$`)

// showGrant writes a line as parseGrant reads it.
func showGrant(g compliance.Grant) string {
	s := string(g.Rank)
	switch g.Rank {
	case compliance.RankSpecies:
		s = g.Taxon
	case compliance.RankGenus, compliance.RankFamily:
		s += " " + g.Taxon
	}
	if len(g.Except) > 0 {
		s += " except " + strings.Join(g.Except, ", ")
	}
	if g.Max > 0 {
		s += fmt.Sprintf(": %d", g.Max)
	}
	return s
}

func sameGrant(a, b compliance.Grant) bool {
	return a.Rank == b.Rank && a.Taxon == b.Taxon && a.Max == b.Max && slices.Equal(a.Except, b.Except)
}

// grantCodec writes a line as people do where it comes back so, else part by
// part.
func grantCodec(parts codec) codec {
	return codec{
		show: func(v reflect.Value, n *nameBook) string {
			g := v.Interface().(compliance.Grant)
			text := showGrant(g)
			if back, wrong := parseGrant(text); wrong == "" && sameGrant(back, g) {
				return celled(text, string(betweenItems)+string(betweenParts))
			}
			return parts.show(v, n)
		},
		read: func(cell string, in *cellReader) (reflect.Value, error) {
			if len(partedAt(cell, betweenParts)) > 1 {
				return parts.read(cell, in)
			}
			text, err := uncelled(cell)
			if err != nil {
				return reflect.Value{}, err
			}
			g, err := wrongly(parseGrant(text))
			return reflect.ValueOf(g), err
		},
		help: "Naja kaouthia, or genus Naja, family Elapidae, any; genus Naja except Naja naja; with a number: Naja kaouthia: 5; or else " + parts.help,
	}
}
